"""Questions that were put off with the shift they are about, once the worker is on a later one."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from msgspec import Struct

from cartclock.engine.desk.in_sight import InSight
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.refold import folded
from cartclock.engine.facts.rows import MINUTE_US, Row, believed_rows
from cartclock.engine.hours.questions import Question, questions
from cartclock.engine.times import Instant

LOOK_BACK_US = 7 * 24 * 60 * MINUTE_US
"""So long after it began nobody says any more what a stretch of a shift was. Our own judgement."""


class PutOff(Struct, frozen=True):
    """A question about an earlier shift.

    Fields:
        shift: its id.
        question: what is asked.
    """

    shift: str
    question: Question


class Earlier:
    """The questions about the shifts of the last days before the newest one.

    They are reckoned anew only where a row can have made them others: most presses speak of the
    newest shift at their own time.
    """

    def __init__(self) -> None:
        self._known_for: tuple[str, int] | None = None
        self._seq = 0
        self._shifts: frozenset[str] = frozenset()
        self._until_us = 0
        self._found: tuple[PutOff, ...] = ()

    def of(
        self, sight: InSight, newest: str, times_read: int, now_us: Callable[[], Instant]
    ) -> tuple[PutOff, ...]:
        """The open questions, the newest shift first.

        Args:
            newest: id of the worker's newest shift, which is none of them.
            times_read: how often the log was read into sight.
            now_us: reads the clock, which is done only where something is reckoned.
        """
        seq, key = sight.log.head.seq, (newest, times_read)
        if key != self._known_for or any(map(self._touches, _since(sight.rows, self._seq))):
            self._found = self._asked(sight, newest, now_us())
        self._known_for, self._seq = key, seq
        return self._found

    def _touches(self, row: Row) -> bool:
        """Whether a row can make a question about one of the shifts another."""
        theirs = row.shift in self._shifts or row.at_us <= self._until_us
        return theirs or type(row.event) in ev.CORRECTIONS

    def _asked(self, sight: InSight, newest: str, now_us: Instant) -> tuple[PutOff, ...]:
        begun = sight.log.summaries.shifts_begun(now_us - LOOK_BACK_US, None, sight.worker)
        ids = {one.shift for one in begun} - {newest}
        self._shifts = frozenset(ids)
        if not ids:
            return ()
        jobs = _jobs(sight, ids)
        found = folded(believed_rows(sight.log.rows_of(jobs, ids)), jobs, ids)
        over = {s.id: s.off_us for s in found.shifts.values() if s.off_us is not None}
        self._until_us = max(over.values(), default=0)
        return tuple(
            PutOff(shift.id, question)
            for shift in sorted(found.shifts.values(), key=lambda one: -one.on_us)
            if shift.id in over
            for question in questions(shift, found.jobs, now_us)
        )


def _since(rows: list[Row], seq: int) -> Iterable[Row]:
    """The own rows that came behind a number; they stand at the end."""
    for row in reversed(rows):
        if row.seq <= seq:
            return
        yield row


def _jobs(sight: InSight, shifts: Collection[str]) -> set[str]:
    return {job for shift in shifts for job in sight.log.jobs_in(shift)}
