"""Two pairs of hands at one vehicle: what they share, and what the second is offered.

Each worker has a shift of their own. The climate at the car is the same for both, whoever
wrote the reading down.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Shift


def with_readings(shift: Shift, others: Iterable[Shift]) -> Shift:
    """The shift with the readings and forecasts that others took while it was on, or before it
    in shifts that reach into it; the shift itself stays as it is."""
    on_us = shift.on_us or 0
    facts = [
        row
        for other in others
        if other.worker != shift.worker and (other.off_us is None or other.off_us >= on_us)
        for row in other.facts
        if isinstance(row.event, ev.ReadingTaken | ev.DayExpected)
        and (shift.off_us is None or row.at_us <= shift.off_us)
    ]
    if not facts:
        return shift
    return replace(shift, facts=sorted([*shift.facts, *facts], key=lambda row: row.happened))


def helper_move(moves: Sequence[Move], first: Move | None) -> Move | None:
    """What the second worker takes up next; None if there is nothing.

    Args:
        moves: theirs, best first.
        first: what the first worker's key would take up. A film that waits is offered to both,
            because it waits for nobody; a plain section only to the first, as long as there is
            another one.

    Handing the vehicle over is left to the first worker.
    """
    mine = [move for move in moves if move.act != "close"]

    def same(move: Move) -> bool:
        return (
            first is not None
            and move.act == first.act == "take up"
            and (move.job, move.stage) == (first.job, first.stage)
            and not set(move.sections).isdisjoint(first.sections)
        )

    free = (move for move in mine if move.why in ("late", "window") or not same(move))
    return next(free, None) or next(iter(mine), None)
