"""What to tell somebody who asks how far it is: plain words, one time, one price.

The time is the one by which it is ready in four days of five: that is what a customer should hear.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from msgspec import Struct

from cartclock.engine.after.handover import known_handover
from cartclock.engine.ahead.finish import Finish
from cartclock.engine.ahead.foreseen import Foresight
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.ahead.telling import (
    at_the_latest_us,
    by_text,
    kept_text,
    learned_text,
    morning_text,
    ready_about,
)
from cartclock.engine.dates import local, spoken_near, up_to_minute
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.layers import progress_text
from cartclock.engine.facts.shift import Break, Hands, Other, Shift
from cartclock.engine.facts.words import place_text
from cartclock.engine.hours.usual import in_stage
from cartclock.engine.now.faces import Face
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.vehicle import Extra


class Answer(Struct, frozen=True):
    """The answer of one moment.

    Fields:
        whose: the vehicle, with the customer's name in front where it is known.
        face: when it should be ready, as a clock.
        ready: the same as one line.
        lines: name and words of everything else, most wanted first.
    """

    whose: str
    face: Face
    ready: str
    lines: tuple[tuple[str, str], ...]


def answer(
    job: Job | None,
    jobs: Mapping[str, Job],
    shift: Shift | None,
    ahead: Foresight,
    now_us: Instant,
    *,
    currency: str = "",
    extras: tuple[Extra, ...] = (),
    customer: str = "",
    walk_in: bool = False,
) -> Answer:
    """What to tell about a job.

    Args:
        job: the one asked about; None if none is open.
        jobs: all that the worker may have in hand.
        ahead: what is ahead of the worker.
        currency: ISO 4217 code; "" if none is said.
        extras: what was agreed besides, from `engine.vehicle.vehicle`.
        customer: their name; "" if not known.
        walk_in: True leaves out names, prices and what belongs to other jobs.
    """
    if job is None:
        return Answer("", Face("NO JOB OPEN", "", "", "", "off", "caller"), "no job open", ())
    opened = job.opened
    named = f"{customer}, {opened.vehicle}" if customer else opened.vehicle
    prospect = ahead.at(now_us)
    found = prospect.finish(job.id)
    face, ready = _ready(found, opened.zone)
    lines = [("promised", _promised(job, found, prospect)), ("hand over", _handover(job, now_us))]
    if not walk_in:
        lines.append(("price", _price(opened.price, extras, currency)))
    if found is not None and found.stages:
        lines.append(("expected", _expected(found, opened.zone)))
    done = [s.name for s in job.stages if all(x.over for x in job.of(s.name))]
    left = [s.name for s in job.stages if s.name not in done]
    lines += [
        ("done", ", ".join(done) or "nothing yet"),
        ("in hand", _in_hand(job, jobs, shift, walk_in)),
        ("now", _stage(job, left[0]) if left else ""),
        ("then", ", ".join(left[1:])),
    ]
    return Answer(
        "this car" if walk_in else named,
        face,
        ready,
        tuple((name, said) for name, said in lines if said),
    )


def _ready(found: Finish | None, zone: str) -> tuple[Face, str]:
    if found is None or not found.stages:
        said = "all the planned work is done"
        if found is None or found.ready_us <= found.now_us:
            return Face("ALL DONE", "", "", said, "plain", "caller"), said
    elif not found.hands_us and not found.whole:
        said = "the plan has no minutes for what is left"
        return Face("NO MINUTES", "", "", said, "plain", "caller"), said
    else:
        said = learned_text(found.learned, found.from_shop)
        if not found.whole:
            said = "some steps of the plan have no minutes"
    by_us = at_the_latest_us(found.ready_by_us)
    here, now = local(by_us, zone), local(found.now_us, zone)
    word = "READY BY" if here.date() == now.date() else f"READY {here:%a}".upper()
    face = Face(word, f"{here:%H:%M}", "", said, "plain", "caller")
    return face, f"by {by_text(found.ready_by_us, found.now_us, zone)}, {said}"


def _expected(found: Finish, zone: str) -> str:
    """When it is expected, which is for the worker and no promise, and when the day begins."""
    expected = ready_about(found.ready_us, found.cures, found.now_us, zone)
    morning = morning_text(found, zone)
    by = by_text(found.ready_by_us, found.now_us, zone)
    return f"{expected}, in four days of five by {by}" + (f"; {morning}" if morning else "")


def _promised(job: Job, found: Finish | None, ahead: Prospect) -> str:
    """The promise, and how it stands while something is left of the job."""
    opened = job.opened
    if opened.promised_us is None:
        return ""
    said = spoken_near(opened.promised_us, ahead.now_us, opened.zone)
    if found is None or found.ready_us <= found.now_us:
        return said
    return f"{said}, {kept_text(ahead.kept(job.id, opened.promised_us))}"


def _handover(job: Job, now_us: Instant) -> str:
    """When it may be handed over at the earliest, if that is known and still ahead."""
    found = known_handover(job)
    if found is None or found.at_us <= now_us:
        return ""
    return f"not before {spoken_near(up_to_minute(found.at_us), now_us, job.opened.zone)}"


def _price(price: str | None, extras: tuple[Extra, ...], currency: str) -> str:
    """What was agreed, extras by name, and all of it together."""
    said = f" {currency}" if currency else ""
    named = ", ".join(
        f"{extra.text or 'extra'}{'' if extra.price is None else f' {extra.price}'}"
        for extra in extras
    )
    if price is None:
        return f"none agreed; extras: {named}{said}" if extras else ""
    if not extras:
        return f"{price}{said}"
    total = Decimal(price) + sum((extra.price or Decimal(0) for extra in extras), Decimal(0))
    return f"{total}{said}: {price} and {named}"


def _in_hand(job: Job, jobs: Mapping[str, Job], shift: Shift | None, walk_in: bool) -> str:
    match None if shift is None else shift.doing:
        case Hands() as hands if hands.job == job.id:
            say = job.work(hands.stage, hands.turn).say
            where = place_text(job, hands.stage, hands.sections)
            place = in_stage(job, hands).place
            return f"{say} {where}{f', {place}' if place else ''}"
        case Hands(other):
            opened = jobs[other].opened if other in jobs else None
            vehicle = "" if opened is None or walk_in else f": {opened.vehicle}"
            return f"other work{vehicle}"
        case Break(what):
            return f"a break ({what})"
        case Other(what):
            return "other work" if walk_in else what
        case _:
            return "nothing at this moment"


def _stage(job: Job, name: str) -> str:
    many = len(job.of(name)) > 1 or job.stage(name).layers > 1
    return f"{name}, {progress_text(job, name, ' of ')}" if many else name
