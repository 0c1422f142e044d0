"""The dates that every paper tells alike: hand over, touch, get wet.

A label speaks of one film from several sides: its cure, its dry time, the aftercare's own line,
the hand-over. Each paper would name another end if it looked at one of them alone. Here each is
told under what may begin then, once for the whole vehicle: nobody at its door knows one section
from another.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.after.aftercare import Care
from cartclock.engine.after.dues import due_end_us
from cartclock.engine.after.handover import because, earliest
from cartclock.engine.facts.job import Job
from cartclock.engine.films.fresh import film_stages, fresh, going_on
from cartclock.engine.films.wet import dryings, water_care
from cartclock.engine.hours.account import TakenReading
from cartclock.engine.plan.plan import EXAMPLE
from cartclock.engine.times import Instant

About = Literal["leave", "touch", "wet"]
MAY: dict[About, str] = {
    "leave": "May be handed over",
    "touch": "May be touched",
    "wet": "May get wet",
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


def told_dates(
    job: Job, taken: Sequence[TakenReading], found: Sequence[Care], now_us: Instant
) -> tuple[ToldDate, ...]:
    """The dates of a job, one at most of each kind, in the order of `MAY`.

    taken: the readings in order of time, for cures in the cold. found: its aftercare. What the
    plan does not speak of is not among them.
    """
    every = (_leave(job, now_us), _touch(job, taken, now_us), _wet(job, found))
    return tuple(one for one in every if one is not None)


def date_of(dates: Iterable[ToldDate], about: About) -> ToldDate | None:
    """The one of a kind; None if there is none."""
    return next((one for one in dates if one.about == about), None)


def _leave(job: Job, now_us: Instant) -> ToldDate | None:
    handover, found = job.opened.plan.handover, earliest(job, now_us)
    if handover is None or found is None:
        return None
    at_us = found.at_us if found.laid else None
    example = handover.source == EXAMPLE
    return ToldDate("leave", at_us, "", handover.after, "", because(handover), example)


def _touch(job: Job, taken: Sequence[TakenReading], now_us: Instant) -> ToldDate | None:
    one = fresh(job, taken, now_us)
    if one is None:
        return None
    cold = ", longer because it was cold" if one.stretched else ""
    why = f"{one.stage}, {one.section}{cold}" if one.section else one.stage
    return ToldDate(
        "touch", one.until_us, one.what, one.stage, one.section, why, one.example, one.stretched
    )


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
    # Of two with one end the aftercare's is taken, because it says more.
    return max(ends, key=lambda end: (end.at_us or 0, bool(end.line)), default=None)
