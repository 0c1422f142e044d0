"""What is told before a shift ends, and of it off the clock on the next day: by when to be here
again, and what must not wait till then.

Times of windows are the label's as the plan copies them; the pack in hand comes first. A time to be
here by is reckoned with what is expected of this worker's hands, breaks and other work with it;
what should be on in the night is asked for when the next day begins, or as late as it must.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import time

from cartclock.engine.ahead.foreseen import Foresight, by_the_plan, hours_of
from cartclock.engine.ahead.handover import handover_notice
from cartclock.engine.ahead.next_layers import next_layers
from cartclock.engine.ahead.telling import TOLD_US
from cartclock.engine.dates import (
    hours_text,
    spoken,
    up_to_minute,
)
from cartclock.engine.facts.call_backs import waiting_calls
from cartclock.engine.facts.in_play import in_play
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.films.cure import curings, looks
from cartclock.engine.films.undone import listed
from cartclock.engine.films.waves import Factors
from cartclock.engine.hours.account import readings
from cartclock.engine.plan.plan import Work
from cartclock.engine.products.mixing import ratio_of
from cartclock.engine.products.stock import Stock
from cartclock.engine.products.supply import stock_notices
from cartclock.engine.products.worn import to_wash
from cartclock.engine.times import Instant


def be_here_by(
    jobs: Mapping[str, Job],
    shift: Shift,
    stock: Stock | None,
    now_us: Instant,
    stays: bool = False,
    ahead: Foresight | None = None,
    behind_night: bool = False,
) -> tuple[str, ...]:
    """What is to be known before the shift ends, a sentence each; none where nothing waits.

    Args:
        jobs: by id; of closed ones only what was mixed for them and is to wash is told.
        shift: the one that ends.
        stock: what is on the cart; None: no pack was ever opened.
        stays: True if another worker stays on the clock: what is of the vehicles is told to the
            one who leaves last.
        ahead: what is ahead of the worker; None: by the plan only.
        behind_night: True on the day after it: nothing is to stand overnight any more, and what
            is to wash comes last.
    """
    washed = to_wash(jobs.values(), shift)
    wash = [f"To wash: {washed}."] if washed else []
    if stays:
        return tuple(wash)
    still = open_jobs(jobs.values())
    ahead = ahead or by_the_plan(jobs, shift)
    told = [] if behind_night else [*_not_overnight(jobs, shift, now_us), *wash]
    for job in still:
        hours = hours_of(ahead.of.learned, ahead.of.began, job.opened.zone)
        told += [*_layers(job, hours, now_us, ahead.factors(job.id)), *_cures(job, shift, now_us)]
        told += [*_looks(job), *_promise(job, ahead, now_us)]
    for call in waiting_calls(jobs.values()).values():
        opened = jobs[call.job].opened
        told.append(f"Call back {_when(call.at_us, opened.zone)}: {opened.vehicle}.")
    if stock is not None:
        told += [f"Bring: {said}" for said in stock_notices(stock, jobs, now_us)]
    return (*told, *(wash if behind_night else ()))


def _when(at_us: Instant, zone: str) -> str:
    """With its day, because it is read again on the next one; without the year. Seconds are cut
    off, so what begins or ends a wait is given in whole minutes.
    """
    weekday, day, month, _year, clock = spoken(at_us, zone).split(" ", 4)
    return f"{weekday} {day} {month} {clock}"


def _not_overnight(jobs: Mapping[str, Job], shift: Shift, now_us: Instant) -> Iterator[str]:
    """Films that are in play, and what was mixed while the shift went on, by whomever."""
    wet = [section.name for job in jobs.values() for section in in_play(job, now_us)]
    if wet:
        yield f"Not to stand overnight: the film on {listed(wet)}."
    mixed: dict[str, None] = {}
    for job in jobs.values():
        plan = job.opened.plan
        for stint in job.stints:
            if stint.last_us < shift.on_us:
                continue
            work = job.stage(stint.stage).steps[stint.turn.step]
            for use in work.uses if isinstance(work, Work) else ():
                product = plan.product(use.product)
                if product is not None and ratio_of(product) is not None:
                    mixed[product.name] = None
    if mixed:
        yield (
            f"Not to stand overnight: wet towels, buckets, and what is mixed of "
            f"{listed([*mixed])}; the label says how long a mix keeps."
        )


def _layers(job: Job, hours: tuple[time, time], now_us: Instant, factors: Factors) -> Iterator[str]:
    """When the next layer can, should and must be on, for each whose gap runs.

    hours: when the worker's days begin and end.
    """
    zone = job.opened.zone
    for one in next_layers(job, factors):
        what = f"{job.opened.vehicle}: {one.stage}, layer {one.layer}"
        if one.closes_us <= now_us:
            closed = _when(one.closes_us, zone)
            yield f"{what} closed {closed}: the label says what is done then."
            continue
        by_us = one.be_here_us(hours, now_us, zone)
        be_here = f"Be here by {_when(by_us, zone)}."
        if by_us <= now_us:
            be_here = "No time to go and come again."
        opens = f"opens {_when(up_to_minute(one.opens_us), zone)}"
        if one.opens_us <= now_us:
            opens = "is open"
        yield (
            f"{be_here} {what} {opens}, should be on by {_when(one.due_us, zone)}, must by "
            f"{_when(one.closes_us, zone)}; about {one.takes_us / MINUTE_US:.0f} min."
        )


def _cures(job: Job, shift: Shift, now_us: Instant) -> Iterator[str]:
    """Until when a stage cures that is laid."""
    taken = readings([shift])
    for stage in job.stages:
        ends = [one.cured_us for one in curings(job, stage.name, taken)]
        if ends and max(ends) > now_us:
            until = _when(up_to_minute(max(ends)), job.opened.zone)
            yield f"{job.opened.vehicle}: {stage.name} cures until {until}."


def _looks(job: Job) -> Iterator[str]:
    """What nobody has looked at again yet."""
    panels = {
        job.sections[one.stage, name].panel: None for one in looks(job) for name in one.sections
    }
    if panels:
        yield f"{job.opened.vehicle}: not looked at again yet: {listed([*panels])}."


def _promise(job: Job, ahead: Foresight, now_us: Instant) -> Iterator[str]:
    """What was promised, when it must be gone on with for that, and what stands against it."""
    promised_us, zone = job.opened.promised_us, job.opened.zone
    if promised_us is not None:
        said = f"{job.opened.vehicle}: promised {_when(promised_us, zone)}"
        needs_us = -(-ahead.at(now_us).needs_us(job.id) // TOLD_US) * TOLD_US
        by_us = Instant(promised_us - needs_us)
        if promised_us <= now_us:
            said += ", which is past"
        elif needs_us:
            left = f"about {hours_text(needs_us / SECOND_US)} left"
            late = by_us <= now_us
            said += (
                f"; {left}, more than there is time for"
                if late
                else (f"; {left}: be here by {_when(by_us, zone)}")
            )
        yield f"{said}."
    against = handover_notice(job, ahead, now_us)
    if against:
        yield f"{job.opened.vehicle}: {against[:1].lower()}{against[1:]}"
