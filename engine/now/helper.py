"""Two pairs of hands at one vehicle: whose the second are, and what they are offered."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Shift
from cartclock.engine.times import Instant


def second_hands(settled: str, shifts: Iterable[Shift], worker: str) -> str:
    """Name of the second worker; "" without one.

    Args:
        settled: whom the settings name.
        shifts: all that are known.
        worker: the first one.

    Where the settings name nobody it is whoever clocked on last to help in the first worker's
    newest shift, until they are off, which may be after the first worker.
    """
    if settled:
        # A second worker needs a name of their own in the log.
        return settled if settled != worker else ""
    known = list(shifts)
    begun_us = max((shift.on_us for shift in known if shift.worker == worker), default=None)
    if begun_us is None:
        return ""
    guests = [
        shift
        for shift in known
        if shift.worker != worker and shift.on_clock and shift.on_us >= begun_us
    ]
    return max(guests, key=lambda shift: shift.on_us).worker if guests else ""


def stay_over(shift: Shift, now_us: Instant) -> bool:
    """Whether somebody who only helps is still there after the time they meant to stay."""
    planned_s = shift.on.planned_s
    return planned_s is not None and now_us >= shift.on_us + planned_s * 1_000_000


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
            and move.act == "take up"
            and first.act in ("take up", "change")
            and (move.job, move.stage) == (first.job, first.stage)
            and not set(move.sections).isdisjoint(first.sections)
        )

    free = (move for move in mine if move.why in ("late", "window") or not same(move))
    return next(free, None) or next(iter(mine), None)
