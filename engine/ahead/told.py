"""When a job would be ready, as it was told: reckoned again as of earlier instants, by what was
known then.

A late entry and a correction count from when they were made. What other jobs taught is what is
known of them now: they were done before. Other work is that of then.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.ahead.durations import Measured
from cartclock.engine.ahead.foreseen import Foreseen, prospect
from cartclock.engine.facts.in_force import shift_before
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.refold import Folded, folded
from cartclock.engine.facts.rows import MINUTE_US, Row, believed_rows
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.interruptions import Interrupted, interruptions, over_jobs
from cartclock.engine.hours.lessons import lessons
from cartclock.engine.times import Instant, Length

# Minutes between two instants of a day, whichever first gives no more than so many. Our own
# judgement.
_STEPS_MIN = (5, 10, 15, 30, 60, 120)
_MOST = 25


class ToldFinish(Struct, frozen=True):
    """What was told at an instant.

    Fields:
        told_us: when.
        ready_us: when it may be handed over, as often earlier as later; a cure is over by then.
        by_us: four times in five by then; not before `ready_us`.
        done_us: when its work is done, as often earlier as later; not after `ready_us`.
    """

    told_us: Instant
    ready_us: Instant
    by_us: Instant
    done_us: Instant


def told_at(from_us: Instant, to_us: Instant) -> tuple[Instant, ...]:
    """Instants of a day at which a finish is told again: both ends, round minutes between; of a
    few minutes only the end.
    """
    length_us = to_us - from_us
    if length_us < _STEPS_MIN[0] * MINUTE_US:
        return (to_us,)
    step_us = next(
        (step * MINUTE_US for step in _STEPS_MIN if length_us <= step * MINUTE_US * (_MOST - 2)),
        max(_STEPS_MIN[-1] * MINUTE_US, length_us // (_MOST - 2)),
    )
    first_us = from_us - from_us % step_us + step_us
    return tuple(dict.fromkeys((from_us, *map(Instant, range(first_us, to_us, step_us)), to_us)))


def told_finishes(
    job: str, worker: str, rows: Sequence[Row], of: Foreseen, at_us: Iterable[Instant]
) -> tuple[ToldFinish, ...]:
    """The finish of a job as of each of these instants, those left out at which it was not open.

    Args:
        rows: as written, whole: of the job, of the shifts it was worked in, and of their jobs.
        of: what is ahead now; jobs and shift are those of the instant instead.
    """
    return tuple(_told(job, worker, rows, of, at_us))


def _told(
    job: str, worker: str, rows: Sequence[Row], of: Foreseen, at_us: Iterable[Instant]
) -> Iterator[ToldFinish]:
    whole = _interrupted(_folded(believed_rows(list(rows))), worker)
    for now_us in at_us:
        known = believed_rows([row for row in rows if row.entered_us <= now_us])
        found = _folded(known)
        mine = [shift for shift in found.shifts.values() if shift.worker == worker]
        shift = max(mine, key=lambda one: one.on_us, default=None)
        there = found.jobs.get(job)
        if there is None or there.state != "open":
            continue
        measured = {job: _measured(there, found.shifts.values(), worker)}
        by_then = _interrupted(found, worker)
        interrupted = _put_back(of.learned.interrupted, whole, by_then)
        learned = replace(of.learned, measured=measured, interrupted=interrupted)
        before = None if shift is None else shift_before(shift, mine)
        then = replace(of, jobs=found.jobs, shift=shift, learned=learned, before=before)
        ahead = prospect(then, now_us)
        finish = ahead.finish(job)
        if finish is not None:
            yield ToldFinish(now_us, finish.ready_us, finish.ready_by_us, finish.done_us)


def _folded(known: Sequence[Row]) -> Folded:
    return folded(known, {row.job for row in known} - {""}, {row.shift for row in known} - {""})


def _interrupted(found: Folded, worker: str) -> Interrupted:
    """Other work of a worker on these jobs."""
    told = (interruptions(job, found.shifts.values()).of(worker) for job in found.jobs.values())
    return over_jobs(one for one in told if one is not None)


def _put_back(now: Interrupted, whole: Interrupted, by_then: Interrupted) -> Interrupted:
    """What is known of other work now, without what came later on these jobs."""
    return Interrupted(
        max(0, now.jobs - whole.jobs + by_then.jobs),
        Length(max(0, now.hands_us - whole.hands_us + by_then.hands_us)),
        Length(max(0, now.length_us - whole.length_us + by_then.length_us)),
        max(0.0, now.squares_min2 - whole.squares_min2 + by_then.squares_min2),
    )


def _measured(job: Job, shifts: Iterable[Shift], worker: str) -> Measured:
    return {
        one.step: (one.n, ratio)
        for one in lessons(job, shifts)
        if one.worker == worker and (ratio := one.ln_ratio) is not None
    }
