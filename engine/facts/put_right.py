"""Job time that was put right: which rows a correction of the time reaches, and what it makes of
their times.

A row keeps what was written. It is read with the times that all later corrections of the time
give it, one after the other, so folds, papers and views know of none of them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts.cart_events import PressMoved, TimeCorrected
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift_events import BreakJudged, GapFound, GapJudged
from cartclock.engine.times import Instant


def reached(fix: Row) -> range:
    """The numbers of the rows that a correction of the time reaches, in its own log; none of any
    other row."""
    event = fix.event
    if not isinstance(event, TimeCorrected):
        return range(0)
    return range(event.press, fix.seq if event.until is None else min(event.until, fix.seq))


def reaches(fix: Row, row: Row) -> bool:
    """True if a correction of the time says that this row's times are others."""
    return fix.origin == row.origin and row.seq in reached(fix)


def put_right(rows: Sequence[Row], fixes: Collection[Row]) -> list[Row]:
    """The rows, as written, with the times that these corrections of the time give them."""
    found = list(rows)
    for fix in sorted(fixes, key=lambda fix: fix.seq):
        event = fix.event
        if isinstance(event, TimeCorrected):
            begun_us, by_us = event.from_us, event.by_us
            found = _each(found, fix, begun_us, by_us)
    return found


def as_known(rows: Sequence[Row], newest: Row) -> list[Row]:
    """Those of the rows that were written up to this one, with the times they had by then."""
    found = [row for row in rows if row.written <= newest.written]
    later = [row for row in rows if row.written > newest.written and reached(row)]
    for fix in sorted(later, key=lambda fix: fix.seq, reverse=True):
        event = fix.event
        assert isinstance(event, TimeCorrected), "nothing else reaches rows"
        found = _each(found, fix, Instant(event.from_us + event.by_us), -event.by_us)
    return found


def _each(rows: Sequence[Row], fix: Row, begun_us: Instant, by_us: int) -> list[Row]:
    def right(at_us: Instant) -> Instant:
        # What was before the time went wrong, or is told to have been, was told of a right clock.
        before = at_us < begun_us and at_us <= begun_us + by_us
        return at_us if before else Instant(at_us + by_us)

    return [_moved(row, by_us, right) if reaches(fix, row) else row for row in rows]


def _moved(row: Row, by_us: int, right: Callable[[Instant], Instant]) -> Row:
    return replace(
        row,
        at_us=right(row.at_us),
        entered_us=Instant(row.entered_us + by_us),
        event=_spoken_of(row.event, right),
    )


def _spoken_of(event: Struct, right: Callable[[Instant], Instant]) -> Struct:
    """An event with the instants of job time in it put right."""
    match event:
        case GapFound() | GapJudged():
            return replace(event, from_us=right(event.from_us), to_us=right(event.to_us))
        case BreakJudged():
            return replace(event, within_us=right(event.within_us))
        case PressMoved():
            return replace(event, to_us=right(event.to_us))
        case _:
            return event
