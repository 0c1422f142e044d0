"""Windows as cuts between opening and closing: where in its window each film was taken.

A window is as long as its film and climate ask, so no two are alike in minutes. Measured by
itself each is one: 0 where it opens, 1 where it closes. Then a whole wave can be looked at in
one row, and one film near its close is seen among forty.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from cartclock.engine.facts.section import WindowKind
from cartclock.engine.record.applied import Asked
from cartclock.engine.times import Length

OUTCOMES = ("in the window", "early", "late", "running", "left", "left out")
"""How a window can have ended, in the order in which they are told."""


class CutLine(Struct, frozen=True):
    """The windows of one kind in one layer of a stage.

    Fields:
        stage, kind, layer: which; of a gap the layer that goes on after it.
        windows: in order of their beginning, those of every pass.
        cuts: of those that were taken, in order: 0 at the opening, 1 at the close, less if it
            was early, more if it was late.
        counts: how many ended how, in the order of `OUTCOMES`, each at least 1.
        nearest_us: least time that was left to the close of one taken in its window, as papers
            tell it; None without one.
        worst_us: the most that one was late, as papers tell it; 0 if none was.
    """

    stage: str
    kind: WindowKind
    layer: int
    windows: tuple[Asked, ...]
    cuts: tuple[float, ...]
    counts: Mapping[str, int]
    nearest_us: Length | None
    worst_us: Length


def cut_lines(windows: Iterable[Asked]) -> tuple[CutLine, ...]:
    """One line for each stage, kind and layer, by the first of its windows.

    windows: of one job, as `engine.record.applied.asked` gives them.
    """
    groups: dict[tuple[str, WindowKind, int], list[Asked]] = {}
    for one in windows:
        groups.setdefault((one.stage, one.kind, one.layer), []).append(one)
    return tuple(
        CutLine(
            stage,
            kind,
            layer,
            tuple(found),
            tuple(sorted(place for one in found if (place := _place(one)) is not None)),
            outcome_counts(found),
            nearest_us(found),
            worst_us(found),
        )
        for (stage, kind, layer), found in groups.items()
    )


def outcome_counts(windows: Iterable[Asked]) -> dict[str, int]:
    """How many of these ended how; what none did is left out."""
    said = [one.outcome for one in windows]
    return {outcome: said.count(outcome) for outcome in OUTCOMES if outcome in said}


def nearest_us(windows: Iterable[Asked]) -> Length | None:
    """Least time that was left to the close of one taken in its window; None without one."""
    left = [one.told_left_us for one in windows]
    return min((us for us in left if us is not None), default=None)


def worst_us(windows: Iterable[Asked]) -> Length:
    """The most that one was taken late; 0 if none was."""
    late = (one.told_off_us for one in windows if one.outcome == "late")
    return max(late, default=Length(0))


def _place(one: Asked) -> float | None:
    if one.ended_us is None or one.outcome not in ("in the window", "early", "late"):
        return None
    # A label of one single minute opens and closes at once, and a film that was worked for too
    # long closes before it opens: what was late lies behind the close all the same.
    length_us = max(1, one.closes_us - one.opens_us)
    if one.outcome == "late":
        return 1 + (one.ended_us - one.closes_us) / length_us
    return (one.ended_us - one.opens_us) / length_us
