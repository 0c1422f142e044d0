"""A job and a shift in one line each, for lists over years."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from cartclock.engine.facts.job import Job, JobState
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.partition import PieceKind, partition
from cartclock.engine.hours.remaining import planned_us
from cartclock.engine.times import Instant, Length


class JobLine(Struct, frozen=True):
    """A job in one line; lengths in microseconds, of the shifts it was worked in.

    Fields:
        number, vehicle, plan, zone: as said when it was opened; `plan` is its name.
        state: open or closed.
        opened_us, closed_us: job time; `closed_us` None while open.
        hands_us: hands on it.
        planned_us: what its plan gives the hands, without what is left out.
        other_us: other work for it.
        sections: how many it has, split ones not counted.
        done, left_out: how many of them are.
    """

    number: int
    vehicle: str
    plan: str
    zone: str
    state: JobState
    opened_us: Instant
    closed_us: Instant | None
    hands_us: Length
    planned_us: Length
    other_us: Length
    sections: int
    done: int
    left_out: int


def job_line(job: Job, shifts: Iterable[Shift]) -> JobLine:
    """The line of a job. shifts: those it was worked in, whole."""
    hands_us = other_us = 0
    for shift in shifts:
        # Without jobs nothing is stood by, and hands and other work are what they are.
        for piece in partition(shift, {}, _end_us(shift)):
            if piece.job == job.id:
                hands_us += piece.length_us if piece.kind == "hands" else 0
                other_us += piece.length_us if piece.kind == "other" else 0
    states = [section.state for section in job.sections.values() if section.state != "cut in two"]
    return JobLine(
        number=job.opened.number,
        vehicle=job.opened.vehicle,
        plan=job.opened.plan.name,
        zone=job.opened.zone,
        state=job.state,
        opened_us=job.opened_us,
        closed_us=job.closed_us,
        hands_us=Length(hands_us),
        planned_us=Length(sum(planned_us(job, stage) for stage in job.stages)),
        other_us=Length(other_us),
        sections=len(states),
        done=states.count("done"),
        left_out=states.count("left out"),
    )


class ShiftLine(Struct, frozen=True):
    """A shift in one line; lengths in microseconds, up to its end or the last turn in it.

    Fields:
        worker, zone, place: as said at clocking on.
        on_us, off_us: job time; `off_us` None while on the clock.
        lengths: how long each kind of time was, of those that were; they add up to the time on
            the clock.
    """

    worker: str
    zone: str
    place: str
    on_us: Instant
    off_us: Instant | None
    lengths: Mapping[PieceKind, int]


def shift_line(shift: Shift, jobs: Mapping[str, Job]) -> ShiftLine:
    """The line of a shift. jobs: at least those worked in it."""
    lengths: dict[PieceKind, int] = {}
    for piece in partition(shift, jobs, _end_us(shift)):
        lengths[piece.kind] = lengths.get(piece.kind, 0) + piece.length_us
    return ShiftLine(
        worker=shift.worker,
        zone=shift.on.zone,
        place=shift.on.place,
        on_us=shift.on_us,
        off_us=shift.off_us,
        lengths=lengths,
    )


def _end_us(shift: Shift) -> Instant:
    return shift.since_us if shift.off_us is None else shift.off_us
