"""Which rows of a log hang on one reading of the wall clock, or on one answer of what time it
is."""

from __future__ import annotations

from collections.abc import Iterator

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.press import Press
from cartclock.engine.rules.time_right import TimeRun
from cartclock.engine.store.log import Log
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

# So many rows are read at a time.
_CHUNK = 200


def run_of(log: Log, press: Press, later: bool) -> TimeRun:
    """The run in which a press was made.

    later: True if its rows happened later than they say. What is entered after an answer is then
    right, while one that could only be given late (time cannot run back) goes wrong with the rest.
    Raises Refused for what is no press of this log.
    """
    own = log.press_rows(press)
    if not own or own[0].press != press or press.origin != log.origin:
        raise Refused(f"There is no press {press} of this log.")
    first, before_us = own[0], None
    for row in _backward(log, first.seq):
        if isinstance(first.event, ev.ClockJudged) or _booted(row, first):
            before_us = row.entered_us
            break
        first = row
    last, behind = first, None
    for row in _forward(log, first.seq + 1):
        said = later and isinstance(row.event, ev.ClockJudged)
        if said or (row.sure and _booted(last, row)):
            behind = row
            break
        before_us = _alive(before_us, row, first.entered_us)
        last = row
    before_us = _alive(before_us, first, first.entered_us)
    return TimeRun(
        press=first.press.seq,
        from_us=first.entered_us,
        last_us=last.entered_us,
        before_us=before_us,
        until=None if behind is None else behind.seq,
        next_us=None if behind is None else behind.entered_us,
    )


def _alive(before_us: Instant | None, row: Row, begun_us: Instant) -> Instant | None:
    """When the program was last alive before a run, with what a row of it says of that."""
    event = row.event
    if before_us is None or not isinstance(event, ev.GapFound) or event.from_us >= begun_us:
        return before_us
    return max(before_us, event.from_us)


def _booted(before: Row, row: Row) -> bool:
    """Whether the boot clock says nothing of how long it was between two rows."""
    return row.boot != before.boot or row.tick_us < before.tick_us


def _backward(log: Log, seq: int) -> Iterator[Row]:
    while seq > 0:
        some = log.rows_between(max(0, seq - _CHUNK), seq)
        yield from reversed(some)
        seq -= _CHUNK


def _forward(log: Log, seq: int) -> Iterator[Row]:
    while some := log.rows_between(seq, seq + _CHUNK):
        yield from some
        seq += _CHUNK
