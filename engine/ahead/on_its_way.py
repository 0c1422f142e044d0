"""A section on its way through a stage, and which of them one press takes up together."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Stage
from cartclock.engine.until import NEVER_US


class OnItsWay:
    """One section on its way through a stage."""

    def __init__(
        self, name: str, panel: str, index: int, turn: Turn, state: str, weight: float
    ) -> None:
        self.name, self.panel, self.index, self.weight = name, panel, index, weight
        self.turn, self.state = turn, state
        # Where it stands in the stage's order, and what the sections that one press takes up
        # together with it have in common: they are compared at each piece.
        self.rank: tuple[int, ...] = ()
        self.alike: object = None
        self.clear()

    def clear(self) -> None:
        """No window is in front of it."""
        self.opens: int | None = None
        self.closes = NEVER_US
        self.off_by: int | None = None
        self.after = -1
        self.wait = 0
        self.gap = False
        # First touch of what is in hand or put down: its film closes from there.
        self.first: int | None = None
        # Until then its film is in play; 0: it has none.
        self.wet_until = 0


def taken_with(first: OnItsWay, units: Sequence[OnItsWay]) -> list[OnItsWay]:
    """The sections that are taken up together with one of them, in the stage's order."""
    alike = first.alike
    if type(alike) is int:
        # Its place in the stage: each section is taken up alone.
        return [first]
    return [unit for unit in units if unit.alike == alike]


def groups_of(units: Sequence[OnItsWay]) -> list[list[OnItsWay]]:
    """Sections that one press takes up together, in the stage's order."""
    found: dict[object, list[OnItsWay]] = {}
    for unit in units:
        found.setdefault(unit.alike, []).append(unit)
    return sorted(found.values(), key=lambda group: group[0].rank)


def rank_of(stage: Stage, unit: OnItsWay) -> tuple[int, ...]:
    held = unit.state == "held"
    match stage.order:
        case "each":
            return (not held, unit.turn.layer, unit.index)
        case "all":
            return (not held, unit.turn.layer, unit.turn.step, unit.index)
        case "wave":
            return (not held, unit.turn.layer, unit.turn.step == 0, unit.index)
