"""What a calendar date came to: the shifts that began on it, and their jobs.

A shift that runs past midnight belongs whole to the date on which it began.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from cartclock.engine.body.course import Course, course
from cartclock.engine.dates import local, spoken
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, JobState
from cartclock.engine.facts.put_right import reaches
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.section import ends_layer
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.words import row_text
from cartclock.engine.hours.account import (
    Account,
    Share,
    TakenReading,
    account,
    added,
    readings,
    served,
)
from cartclock.engine.record.applied import Asked, Used, asked, used
from cartclock.engine.record.exposure import ExposureRecord, exposure_record
from cartclock.engine.times import Instant

# Told with the heat and the rests of the shift, or among the readings.
_TOLD_ELSEWHERE = (ev.ReadingTaken, ev.RestCalled, ev.RestOverruled, ev.HotDaysSaid)


class Fact(Struct, frozen=True):
    """Something of a shift that changed nothing done, in words."""

    at_us: Instant
    text: str


class DayShift(Struct, frozen=True):
    """A shift of a day.

    Fields:
        account: its reckoning, whole.
        past_midnight: True if it ends on a later date than it began.
        facts: drinks, signs, "I am well" and what else no other field tells, in order of time.
        exposure: its heat, rests, vibration and noise.
        course: its heat over the clock.
        told: what was said of the next day when it ended, a sentence each.
    """

    account: Account
    past_midnight: bool
    facts: tuple[Fact, ...]
    exposure: ExposureRecord
    course: Course
    told: tuple[str, ...] = ()


class StageDone(Struct, frozen=True):
    """On how many sections a layer of a stage was brought to its end, out of how many there are.

    Fields:
        stage: which one.
        sections, of: how many of how many.
        layer, layers: which layer of how many; a stage without layers has one.
    """

    stage: str
    sections: int
    of: int
    layer: int = 1
    layers: int = 1


class DayJob(Struct, frozen=True):
    """A job of a day.

    Fields:
        job, number, vehicle, plan, state: which it is, as it stands now.
        opened_us, closed_us: None for the close while it is open.
        opened_here, closed_here: True if that was on this date.
        done: stages in which something was brought to its end in the day's shifts.
        windows: those that began in the day's shifts; whether marks were revised is not told.
        used: the products that were booked in the day's shifts.
    """

    job: str
    number: int
    vehicle: str
    plan: str
    state: JobState
    opened_us: Instant
    closed_us: Instant | None
    opened_here: bool
    closed_here: bool
    done: tuple[StageDone, ...]
    windows: tuple[Asked, ...] = ()
    used: tuple[Used, ...] = ()


class Day(Struct, frozen=True):
    """A calendar date in a zone.

    Fields:
        date: ISO 8601 text ("2026-10-24").
        zone: whose calendar.
        now_us: when it was reckoned.
        shifts: those that began on the date, in order.
        jobs: worked on in these shifts, or opened or closed on the date, by number.
        shares: all shifts together.
        readings: in order of time.
    """

    date: str
    zone: str
    now_us: Instant
    shifts: tuple[DayShift, ...]
    jobs: tuple[DayJob, ...]
    shares: tuple[Share, ...]
    readings: tuple[TakenReading, ...]


def day(
    date: str,
    zone: str,
    shifts: Mapping[str, Shift],
    jobs: Mapping[str, Job],
    now_us: Instant,
    rest_place: ev.ReadingTaken | None = None,
    rows: Sequence[Row] = (),
) -> Day:
    """What a calendar date came to.

    date: ISO 8601 text. `shifts` and `jobs` may hold more than the date's; of a shift's
    jobs all must be there. rest_place: climate where breaks are taken; None: where the work
    is. rows: as written; without them nothing is told of a time that was put right. Raises
    ValueError for an unknown zone or a text that is no date.
    """
    wanted = datetime.date.fromisoformat(date)

    def falls_here(at_us: Instant | None) -> bool:
        return at_us is not None and local(at_us, zone).date() == wanted

    here = sorted(
        (shift for shift in shifts.values() if falls_here(shift.on_us)),
        key=lambda shift: (shift.on_us, shift.id),
    )
    worked: dict[str, None] = {}
    parts = []
    for shift in here:
        worked |= dict.fromkeys(served(shift, now_us))
        reckoned = account(shift, jobs, now_us)
        facts = [
            Fact(row.at_us, row_text(row, jobs))
            for row in shift.facts
            if row.shift == shift.id and not isinstance(row.event, _TOLD_ELSEWHERE)
        ]
        facts += _put_right([row for row in rows if row.shift == shift.id], rows, zone)
        exposure = exposure_record(shift, jobs, now_us, rest_place)
        past_midnight = not falls_here(reckoned.end_us)
        over_clock = course(shift, jobs, now_us, rest_place)
        told = tuple(sorted(facts, key=lambda fact: fact.at_us))
        parts.append(DayShift(reckoned, past_midnight, told, exposure, over_clock, shift.told))
    found = [
        _day_job(job, parts, falls_here(job.opened_us), falls_here(job.closed_us), now_us)
        for job in jobs.values()
        if job.id in worked or falls_here(job.opened_us) or falls_here(job.closed_us)
    ]
    return Day(
        date=wanted.isoformat(),
        zone=zone,
        now_us=now_us,
        shifts=tuple(parts),
        jobs=tuple(sorted(found, key=lambda one: (one.number, one.job))),
        shares=added(share for part in parts for share in part.account.shares),
        readings=readings(here),
    )


def _put_right(own: Sequence[Row], rows: Sequence[Row], zone: str) -> Iterator[Fact]:
    """That the time of some of a shift's own rows was put right, told when they begin."""
    for fix in rows:
        event = fix.event
        if isinstance(event, ev.TimeCorrected) and any(reaches(fix, row) for row in own):
            said = f"{row_text(fix, {})}; put right {spoken(fix.entered_us, zone)}"
            yield Fact(Instant(event.from_us + event.by_us), said)


def _day_job(
    job: Job, parts: list[DayShift], opened_here: bool, closed_here: bool, now_us: Instant
) -> DayJob:
    done = []
    for stage in job.stages:
        ended: dict[int, set[str]] = {}
        for stint in job.stints:
            if stint.stage != stage.name or not ends_layer(stage, stint.turn):
                continue
            if any(
                part.account.worker == stint.worker
                and part.account.on_us <= stint.last_us <= part.account.end_us
                for part in parts
            ):
                ended.setdefault(stint.turn.layer, set()).add(stint.section)
        there = len(job.of(stage.name))
        done += [
            StageDone(stage.name, len(names), there, layer, stage.layers)
            for layer, names in sorted(ended.items())
        ]
    return DayJob(
        job=job.id,
        number=job.opened.number,
        vehicle=job.opened.vehicle,
        plan=job.opened.plan.name,
        state=job.state,
        opened_us=job.opened_us,
        closed_us=job.closed_us,
        opened_here=opened_here,
        closed_here=closed_here,
        done=tuple(done),
        windows=tuple(
            window
            for window in asked(job, (), now_us)
            if any(part.account.on_us <= window.last_us <= part.account.end_us for part in parts)
        ),
        used=used(job, {part.account.shift for part in parts}),
    )
