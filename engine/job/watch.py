"""What watches over the worker: rest, water, signs of life, vibration and noise, in words.

Every verdict carries its caution. "Screening estimate" stands where a figure stands; without
a reading there is none. Nothing here calls anybody.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct

from engine.job import events as ev
from engine.job.acclimatization import Acclimatization
from engine.job.climate import Climate
from engine.job.dates import clock_text
from engine.job.job import Job
from engine.job.pace import Pace, pace
from engine.job.plan import Rhythm
from engine.job.rows import MINUTE_US
from engine.job.rules import film_runs
from engine.job.shift import Break, Shift
from engine.job.signs import CheckIn, check_in
from engine.job.strain import sentences, strain
from engine.job.water import Water, hot_since, water

# How long an overruled rest is let alone before it is called again. Our own judgement.
AGAIN_US = 15 * MINUTE_US

CAUTION = "Screening estimate, not medical advice: symptoms override every number."

RestState = Literal["none", "due", "called", "after the film", "overruled"]


class Watch(Struct, frozen=True):
    """How the worker fares at one moment.

    Fields:
        pace: minutes left and rest.
        rest: due (nothing told yet), called (REST NOW), after the film (a window still runs),
            overruled (not long ago), or none.
        water: drinks.
        check_in: the lone worker's sign of life.
        acclimatization: which limit holds and why.
        strain: sentences on vibration and noise that are near or over a value.
    """

    pace: Pace
    rest: RestState
    water: Water
    check_in: CheckIn
    acclimatization: Acclimatization
    strain: tuple[str, ...]


def watch(
    shift: Shift,
    jobs: Mapping[str, Job],
    now_us: int,
    acclimatization: Acclimatization,
    rest_place: ev.ReadingTaken | None = None,
) -> Watch:
    """The state of a shift that is on.

    Args:
        rest_place: climate where rests are taken; None: where the work is.
    """
    acclimatized = acclimatization.acclimatized
    found = pace(shift, jobs, now_us, acclimatized, rest_place, _rhythm(shift, jobs))
    hot_us = hot_since(shift, now_us, acclimatized)
    return Watch(
        pace=found,
        rest=_rest(shift, jobs, now_us, found),
        water=water(shift, now_us, hot_us),
        check_in=check_in(shift, now_us),
        acclimatization=acclimatization,
        strain=sentences(strain(shift, jobs, now_us)),
    )


def _rhythm(shift: Shift, jobs: Mapping[str, Job]) -> Rhythm | None:
    """The rhythm of the job worked last in this shift."""
    for job_id in reversed(shift.jobs):
        job = jobs.get(job_id)
        if job is not None and job.opened is not None:
            return job.opened.plan.rhythm
    return None


def _rest(shift: Shift, jobs: Mapping[str, Job], now_us: int, found: Pace) -> RestState:
    if not found.resting_due or isinstance(shift.doing, Break):
        return "none"
    overruled = newest(shift, ev.RestOverruled)
    if overruled is not None and now_us - overruled < AGAIN_US:
        return "overruled"
    if film_runs(jobs, now_us):
        return "after the film"
    return "called" if rest_told(shift) else "due"


def newest(shift: Shift, kind: type[Struct]) -> int | None:
    """Job time of the newest fact of a kind; None if there is none."""
    found = [row.at_us for row in shift.facts if isinstance(row.event, kind)]
    return max(found, default=None)


def rest_told(shift: Shift) -> bool:
    """True if a rest was called since the last break and was not overruled since."""
    called = newest(shift, ev.RestCalled)
    if called is None:
        return False
    overruled = newest(shift, ev.RestOverruled)
    if overruled is not None and overruled >= called:
        return False
    breaks = [span.end_us for span in shift.spans if isinstance(span.doing, Break)]
    return called >= max(breaks, default=0)


def rest_minutes(found: Pace) -> int:
    """The rest in whole minutes, rounded up."""
    return -(-found.rest_s // 60)


def heat_line(found: Pace) -> str:
    """One line on Run: minutes left, the rest then, the rule, the age of the reading."""
    age = "" if found.climate is None else f"   reading {found.age_s // 60} min old"
    if found.no_work_time:
        return f"no work time here: rest somewhere cooler{age}"
    if found.left_s is None:
        said = "no rest due within the hour"
    else:
        said = (
            f"{found.left_s // 60} min of this, then {rest_minutes(found)} min rest ({found.rule})"
        )
    if found.band:
        return said + age
    if found.left_s is None:
        return found.why_none
    return f"{said}; {found.why_none}"


def climate_line(found: Pace) -> str:
    """One line on Run: WBGT and heat index with their classes; "" without a reading."""
    one = found.climate
    if one is None:
        return ""
    parts = []
    if one.wbgt_c is not None:
        band = f", {found.band}" if found.band else ""
        parts.append(f"WBGT {one.wbgt_c:.1f} C by {one.wbgt_from}{band}")
    parts.append(index_text(one))
    if found.here_minutes is not None and found.cool_minutes is not None:
        here, cool = round(found.here_minutes), round(found.cool_minutes)
        if cool > here:
            parts.append(f"resting in the cool {cool} min an hour, here {here}")
    parts.append("screening estimate")
    return "   ".join(part for part in parts if part)


def index_text(one: Climate) -> str:
    """The heat index in words; "" if there is none."""
    if one.off_table:
        return "heat index off the table: extreme danger"
    if one.index_f is None:
        return ""
    least = "at least " if one.at_least else ""
    name = "" if one.index_bin == "none" else f", {one.index_bin}"
    return f"heat index {least}{one.index_f:.0f} F{name}"


def body_notices(found: Watch, films: Sequence[str]) -> tuple[str, ...]:
    """What is to be said about the body, the most urgent first.

    Args:
        films: sections whose windows run, for the rest that waits for them.
    """
    said = []
    if found.check_in.overdue_s > 0:
        said.append(f"Check in (J): {clock_text(found.check_in.overdue_s)} overdue.")
    if found.rest == "after the film":
        said.append(f"Rest is due as soon as the window is done: {', '.join(films[:3])}.")
    if found.rest == "overruled":
        said.append("A rest is due and was put off.")
    if found.water.sentence:
        said.append(found.water.sentence)
    if found.pace.rest_is_hotter:
        said.append("The place to rest is hotter than the work; fewer minutes may be no relief.")
    return (*said, *found.strain)
