"""The dates that every paper tells alike: hand over, touch, get wet, wash.

A label speaks of one film from several sides: its cure, its dry time, the aftercare's own lines,
the hand-over. Each paper would name another end if it looked at one of them alone. Here each is
told under what may begin then, once for the whole vehicle: nobody at its door knows one section
from another.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.aftercare import Care, cares, last_touch
from cartclock.engine.after.dues import due_end_us
from cartclock.engine.after.handover import because, known_handover
from cartclock.engine.dates import instant, spoken_soon, up_to_minute
from cartclock.engine.facts.job import Job
from cartclock.engine.figures.air import TemperatureUnit, full_degrees
from cartclock.engine.films.cure import curings
from cartclock.engine.films.fresh import film_stages, fresh, going_on
from cartclock.engine.films.wet import dryings, water_care
from cartclock.engine.hours.account import TakenReading
from cartclock.engine.plan.plan import EXAMPLE, CareAbout
from cartclock.engine.times import Instant

About = Literal["leave", "touch", "wet", "wash"]
MAY: dict[About, str] = {
    "leave": "May be handed over",
    "touch": "May be touched",
    "wet": "May get wet",
    "wash": "May be washed",
}
"""What begins at each of these dates."""


class ToldDate(Struct, frozen=True):
    """From when on something may be done to the vehicle.

    Fields:
        about: what may be done.
        at_us: not before this; None while what it hangs on is still worked on.
        what: what was laid, in a word for whoever stands before it ("coating"); "" for leaving.
        stage, section: what ends last; "" where no section is known.
        why: where the date comes from, in words.
        example: True while the time is the starter's and has to be replaced from the pack.
        stretched: True if a cold reading made the cure longer.
        line: the sentence of the aftercare that names this very end; "" if none does.
        day: ISO 8601 text of the calendar day with which it is over; "" if it has an hour.
        then: the sentence of the aftercare that names what begins; "" if none does.
        mild_us, below_c: of a vehicle that leaves before it is cured nobody knows how cold it
            gets, so `at_us` is the end in the cold: from `below_c` C on it would be this
            instant. None where that makes no difference.
        cold_us: of a vehicle that stays until it is cured, while that is not over: the end if air
            or panel are read under `below_c` C before it. None where that makes no difference.
    """

    about: About
    at_us: Instant | None
    what: str
    stage: str
    section: str
    why: str
    example: bool = False
    stretched: bool = False
    line: str = ""
    day: str = ""
    then: str = ""
    mild_us: Instant | None = None
    below_c: float | None = None
    cold_us: Instant | None = None

    def sayings(self) -> tuple[str, ...]:
        """The sentences of the aftercare that this date tells."""
        return tuple(said for said in (self.line, self.then) if said)


def told_dates(
    job: Job, taken: Sequence[TakenReading], found: Sequence[Care], now_us: Instant
) -> tuple[ToldDate, ...]:
    """The dates of a job, one at most of each kind, in the order of `MAY`.

    taken: the readings in order of time, for cures in the cold. found: its aftercare. What the
    plan does not speak of is not among them.
    """
    every = (
        _leave(job, now_us),
        _touch(job, taken, found, now_us),
        _wet(job, found),
        _wash(job, found),
    )
    return tuple(one for one in every if one is not None)


def date_of(dates: Iterable[ToldDate], about: About) -> ToldDate | None:
    """The one of a kind; None if there is none."""
    return next((one for one in dates if one.about == about), None)


def untouched_text(
    job: Job, taken: Sequence[TakenReading], now_us: Instant, unit: TemperatureUnit = "C"
) -> str:
    """What is not to be touched yet of a vehicle that leaves now, as its customer is told, and from
    when on it could be where it stays warm; "" if nothing is known of that.

    taken: the readings in order of time. unit: of temperatures.
    """
    left = replace(job, state="closed", closed_us=now_us)
    told = date_of(told_dates(left, taken, cares(left), now_us), "touch")
    if told is None or told.at_us is None or told.at_us <= now_us:
        return ""
    zone = job.opened.zone
    when = spoken_soon(up_to_minute(told.at_us), now_us, zone)
    said = f"{told.what} not to be touched before {when}"
    if told.mild_us is None or told.below_c is None:
        return said
    mild = spoken_soon(up_to_minute(told.mild_us), now_us, zone)
    return f"{said}; at {full_degrees(told.below_c, unit)} and more already {mild}"


def _leave(job: Job, now_us: Instant) -> ToldDate | None:
    handover, found = job.opened.plan.handover, known_handover(job)
    if handover is None or handover.after not in job.order:
        return None
    if found is None and not last_touch(job, handover.after).left:
        # Nothing was laid at all.
        return None
    at_us = None if found is None else found.at_us
    example = handover.source == EXAMPLE
    return ToldDate("leave", at_us, "", handover.after, "", because(handover), example)


def _touch(
    job: Job, taken: Sequence[TakenReading], found: Sequence[Care], now_us: Instant
) -> ToldDate | None:
    one = fresh(job, taken, now_us)
    if one is None:
        return None
    cold = ", longer because it was cold" if one.stretched else ""
    why = f"{one.stage}, {one.section}{cold}" if one.section else one.stage
    told = ToldDate(
        "touch", one.until_us, one.what, one.stage, one.section, why, one.example, one.stretched
    )
    if one.until_us is None:
        return told
    told = _by_climate(job, taken, told, now_us)
    other = max(_ends(job, found, "touch"), key=lambda end: end.at_us or 0, default=None)
    if other is None or other.at_us is None or told.at_us is None:
        return told
    if other.at_us <= told.at_us:
        mild_us = None if told.mild_us is None else max(told.mild_us, other.at_us)
        return replace(told, mild_us=None if mild_us == told.at_us else mild_us)
    cold_us = told.cold_us
    if cold_us is not None and cold_us <= other.at_us:
        cold_us = None
    return replace(
        other, what=one.what, cold_us=cold_us, below_c=None if cold_us is None else told.below_c
    )


def _by_climate(
    job: Job, taken: Sequence[TakenReading], told: ToldDate, now_us: Instant
) -> ToldDate:
    """The end of a cure with the one that another climate would make of it beside it.

    Of a vehicle that leaves before it is cured the end in the cold is told, because outside nobody
    measures. Of one that stays the end by the readings is told, and until then that in the cold.
    """
    # What was cured while it was here is cured, however cold it gets.
    here_us = now_us if job.closed_us is None else job.closed_us
    cold = [
        one
        for stage in job.stages
        if stage.cure is not None
        for one in curings(job, stage.name, taken)
        if one.cold_until_us is not None and not one.stretched and one.until_us > here_us
    ]
    last = max(cold, key=lambda one: one.cold_until_us or 0, default=None)
    if told.at_us is None or last is None or last.cold_until_us is None:
        return told
    if last.cold_until_us <= told.at_us:
        return told
    if _stays(job, told.at_us, now_us):
        return replace(told, cold_us=last.cold_until_us, below_c=last.below_c)
    return replace(
        told,
        at_us=last.cold_until_us,
        stage=last.stage,
        section=last.section,
        why=f"{last.stage}, {last.section}, as it cures in the cold",
        example=told.example or last.example,
        mild_us=told.at_us,
        below_c=last.below_c,
    )


def _stays(job: Job, until_us: Instant, now_us: Instant) -> bool:
    """Whether a vehicle is here until then, as far as is known."""
    leaves_us = job.closed_us if job.state == "closed" else job.opened.promised_us
    if leaves_us is None or leaves_us >= until_us:
        return True
    return job.state == "open" and leaves_us <= now_us


def _ends(job: Job, found: Sequence[Care], about: CareAbout) -> list[ToldDate]:
    """The ends that the aftercare names of something, as the plan marks its lines."""
    names: dict[CareAbout, About] = {"water": "wet", "touch": "touch", "wash": "wash"}
    return [
        ToldDate(
            names[about],
            due_end_us(due, job.opened.zone),
            "",
            care.after,
            care.anchor_section,
            care.source,
            care.example,
            line=care.say,
            day=due.day,
        )
        for item, care in zip(job.opened.plan.aftercare, found, strict=True)
        if item.about == about
        for due in care.dues
        if due.kind == "until"
    ]


def _wash(job: Job, found: Sequence[Care]) -> ToldDate | None:
    """From when on it may be washed: behind every end and not before any beginning of it."""
    zone = job.opened.zone
    told = max(_ends(job, found, "wash"), key=lambda end: end.at_us or 0, default=None)
    for item, care in zip(job.opened.plan.aftercare, found, strict=True):
        if item.about != "wash" or not item.from_:
            continue
        for due in care.dues:
            if due.kind != "from":
                continue
            begins_us = instant(f"{due.day} 00:00", zone) if due.at_us is None else due.at_us
            day = ""
            if due.day:
                day = (date.fromisoformat(due.day) - timedelta(days=1)).isoformat()
            if told is None or told.at_us is None or begins_us > told.at_us:
                line = "" if told is None else told.line
                told = ToldDate(
                    "wash", begins_us, "", care.after, care.anchor_section, care.source,
                    care.example or (told is not None and told.example), line=line, day=day,
                )  # fmt: skip
            told = replace(told, then=care.say)
    return told


def _wet(job: Job, found: Sequence[Care]) -> ToldDate | None:
    """The later of what the products say and of the first end that the aftercare names.

    Of several lines that speak of water on one stage the first end is taken; the later ones are
    of washing and polishing.
    """
    wet = dryings(job)
    ends: list[ToldDate] = []
    for stage in film_stages(job):
        what = "coating" if stage.kind == "coat" else stage.name
        own = [one for one in wet if one.stage == stage.name]
        speaking = water_care(job, stage.name)
        lines = [
            care
            for item, care in zip(job.opened.plan.aftercare, found, strict=True)
            if item in speaking
        ]
        if going_on(job, stage) and (own or lines):
            return ToldDate("wet", None, what, stage.name, "", stage.name)
        dated = [
            ToldDate(
                "wet",
                due_end_us(due, job.opened.zone),
                what,
                stage.name,
                care.anchor_section,
                care.source,
                care.example,
                line=care.say,
                day=due.day,
            )
            for care in lines
            for due in care.dues
            if due.kind == "until"
        ]
        first = min(dated, key=lambda end: end.at_us or 0, default=None)
        ends += [] if first is None else [first]
        ends += [
            ToldDate(
                "wet",
                one.dry_us(one.touched_us),
                what,
                stage.name,
                one.section,
                f"dry time of what was laid, {one.section}",
            )
            for one in own
            if one.touched_us is not None
        ]
    films = {stage.name for stage in film_stages(job)}
    ends += [end for end in _ends(job, found, "water") if end.stage not in films]
    # Of two with one end the aftercare's is taken, because it says more.
    return max(ends, key=lambda end: (end.at_us or 0, bool(end.line)), default=None)
