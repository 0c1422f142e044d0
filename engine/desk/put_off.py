"""Questions that were put off with the shift they are about, once the worker is on a later one."""

from __future__ import annotations

from collections.abc import Collection

from msgspec import Struct

from cartclock.engine.desk.in_sight import InSight
from cartclock.engine.facts.refold import folded
from cartclock.engine.facts.rows import HOUR_US, believed_rows
from cartclock.engine.hours.questions import Question, questions
from cartclock.engine.times import Instant

LOOK_BACK_US = 7 * 24 * HOUR_US
"""So long after it began nobody says any more what a stretch of a shift was. Our own judgement."""


class PutOff(Struct, frozen=True):
    """A question about an earlier shift.

    Fields:
        shift: its id.
        question: what is asked.
    """

    shift: str
    question: Question


class Earlier(Struct, frozen=True):
    """The questions about the shifts of the last days before the newest one.

    Fields:
        newest: id of the worker's newest shift, which is none of them.
        times_read: how often the log was read into sight by then.
        seq: number of the newest row by then.
        shifts: ids of the shifts that are asked about.
        until_us: when the last of them ended; 0 without one.
        asked: the open questions, the newest shift first.
    """

    newest: str
    times_read: int
    seq: int
    shifts: frozenset[str] = frozenset()
    until_us: Instant = Instant(0)
    asked: tuple[PutOff, ...] = ()


def earlier(sight: InSight, newest: str, times_read: int, now_us: Instant) -> Earlier:
    """What is open about the earlier shifts now; as in `Earlier`."""
    seq = sight.log.head.seq
    begun = sight.log.summaries.shifts_begun(now_us - LOOK_BACK_US, None, sight.worker)
    ids = {one.shift for one in begun} - {newest}
    if not ids:
        return Earlier(newest, times_read, seq)
    jobs = _jobs(sight, ids)
    found = folded(believed_rows(sight.log.rows_of(jobs, ids)), jobs, ids)
    over = {s.id: s.off_us for s in found.shifts.values() if s.off_us is not None}
    asked = tuple(
        PutOff(shift.id, question)
        for shift in sorted(found.shifts.values(), key=lambda one: -one.on_us)
        if shift.id in over
        for question in questions(shift, found.jobs, now_us)
    )
    until_us = max(over.values(), default=Instant(0))
    return Earlier(newest, times_read, seq, frozenset(ids), until_us, asked)


def _jobs(sight: InSight, shifts: Collection[str]) -> set[str]:
    return {job for shift in shifts for job in sight.log.jobs_in(shift)}
