"""What to tell somebody who asks how far it is: plain words, one time, one price.

The time is the plan's minutes added to now. It is no promise: the rests that the heat asks for
are not in it, and the answer says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from msgspec import Struct

from cartclock.engine.after.handover import earliest
from cartclock.engine.dates import hours_text, local, spoken_near, up_to_minute
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.layers import progress_text
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Hands, Other, Shift
from cartclock.engine.facts.words import place_text
from cartclock.engine.hours.remaining import Remaining, remaining
from cartclock.engine.hours.usual import in_stage
from cartclock.engine.now.faces import Face
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.vehicle import Extra

NOT_COUNTED = "the rests that the heat asks for"


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
    now_us: Instant,
    *,
    currency: str = "",
    extras: tuple[Extra, ...] = (),
    customer: str = "",
    rest: str = "",
    walk_in: bool = False,
) -> Answer:
    """What to tell about a job.

    Args:
        job: the one asked about; None if none is open.
        jobs: all that the worker may have in hand.
        currency: ISO 4217 code; "" if none is said.
        extras: what was agreed besides, from `engine.vehicle.vehicle`.
        customer: their name; "" if not known.
        rest: when the next rest is due, in few words; "" if nothing is known.
        walk_in: True leaves out names, prices and what belongs to other jobs.
    """
    if job is None:
        return Answer("", Face("NO JOB OPEN", "", "", "", "off", "caller"), "no job open", ())
    opened = job.opened
    named = f"{customer}, {opened.vehicle}" if customer else opened.vehicle
    left = remaining(job, now_us)
    face, ready = _ready(left, now_us, opened.zone)
    lines = [("promised", _promised(job, left, now_us)), ("hand over", _handover(job, now_us))]
    if not walk_in:
        lines.append(("price", _price(opened.price, extras, currency)))
    done = [s.name for s in job.stages if all(x.over for x in job.of(s.name))]
    ahead = [s.name for s in job.stages if s.name not in done]
    lines += [
        ("done", ", ".join(done) or "nothing yet"),
        ("in hand", _in_hand(job, jobs, shift, walk_in)),
        ("now", _stage(job, ahead[0]) if ahead else ""),
        ("then", ", ".join(ahead[1:])),
        ("not counted", f"{NOT_COUNTED}{f'; {rest}' if rest else ''}" if ahead else ""),
    ]
    return Answer(
        "this car" if walk_in else named,
        face,
        ready,
        tuple((name, said) for name, said in lines if said),
    )


def _ready(left: Remaining, now_us: Instant, zone: str) -> tuple[Face, str]:
    if left.over:
        said = "all the planned work is done"
        return Face("ALL DONE", "", "", said, "plain", "caller"), said
    if not left.total_us:
        said = "the plan has no minutes for what is left"
        if left.whole:
            said = "the plan's minutes for what is in hand are over"
            return Face("NOT KNOWN", "", "", said, "plain", "caller"), said
        return Face("NO MINUTES", "", "", said, "plain", "caller"), said
    under = "by the plan's minutes" if left.whole else "by the plan, some steps have no minutes"
    at_us = now_us + left.total_us
    if local(Instant(at_us), zone).date() == local(now_us, zone).date():
        clock = f"{local(Instant(at_us), zone):%H:%M}"
        face = Face("READY ABOUT", clock, "", under, "plain", "caller")
        return face, f"about {clock} {under}"
    length = hours_text(left.total_us / SECOND_US)
    under = f"not today: {length} left {under}"
    minutes = left.total_us // (60 * SECOND_US)
    clock = f"{minutes // 60}:{minutes % 60:02}"
    return Face("HOURS LEFT", clock, "", under, "plain", "caller"), under


def _promised(job: Job, left: Remaining, now_us: Instant) -> str:
    opened = job.opened
    if opened.promised_us is None:
        return ""
    said = spoken_near(opened.promised_us, now_us, opened.zone)
    over_us = now_us + left.total_us - opened.promised_us
    if left.over or over_us < 60 * SECOND_US:
        return said
    return f"{said}, {hours_text(over_us / SECOND_US)} before that"


def _handover(job: Job, now_us: Instant) -> str:
    """When it may be handed over at the earliest, if that is still ahead."""
    found = earliest(job, now_us)
    if found is None or found.at_us <= now_us:
        return ""
    when = spoken_near(up_to_minute(found.at_us), now_us, job.opened.zone)
    reckoned = "" if found.laid else ", by the plan's minutes"
    return f"not before {when}{reckoned}"


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
