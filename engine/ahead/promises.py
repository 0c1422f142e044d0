"""Promises that were moved or can be kept no longer: whether somebody must be told of it.

The question is derived from the log: an answer in the log, or another promise, makes it go away.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

from cartclock.engine.after.handover import known_handover
from cartclock.engine.ahead.foreseen import Foresight
from cartclock.engine.dates import spoken_near
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.times import Instant

# The quantile of one day in ten, on the early side. How rare "no longer" is: our own judgement.
Z_HARDLY_EVER = -1.2815515655446004


class PromiseAsked(Struct, frozen=True):
    """One question about a promise.

    Fields:
        job: its id.
        cause: it was moved, or it can be kept no longer: in fewer than one such day in ten.
        promised_us: what is promised; None if that was taken back.
    """

    job: str
    cause: Literal["moved", "not kept"]
    promised_us: Instant | None


def promise_question(asked: PromiseAsked, now_us: Instant, zone: str) -> str:
    """The question in one sentence, to go on behind the vehicle's name."""
    if asked.promised_us is None:
        return "nothing is promised any more: who was told?"
    when = spoken_near(asked.promised_us, now_us, zone)
    if asked.cause == "moved":
        return f"the promise is moved to {when}: who was told?"
    if asked.promised_us <= now_us:
        return f"the promised time of {when} is past: who was told?"
    return f"the promise of {when} can hardly be kept: who was told?"


def promise_questions(
    jobs: Iterable[Job], ahead: Foresight, now_us: Instant
) -> tuple[PromiseAsked, ...]:
    """Of whose promise nobody was told, at most one question a job; closed jobs ask nothing."""
    found = (_asked(job, ahead, now_us) for job in open_jobs(jobs))
    return tuple(one for one in found if one is not None)


def _asked(job: Job, ahead: Foresight, now_us: Instant) -> PromiseAsked | None:
    promised_us, moved = job.first_promise_us, False
    told: set[tuple[str, Instant | None]] = set()
    for row in job.facts:
        match row.event:
            case ev.JobAmended(what="promised_us", promised_us=then_us):
                moved = promised_us is not None and then_us != promised_us
                promised_us = then_us
            case ev.PromiseTold(cause, of_us):
                # Somebody may have been told before the new time was typed.
                told.add((cause, of_us))
    if moved and ("moved", promised_us) not in told:
        return PromiseAsked(job.id, "moved", promised_us)
    if promised_us is None or ("not kept", promised_us) in told:
        return None
    if _can_be_kept(job, promised_us, ahead, now_us):
        return None
    return PromiseAsked(job.id, "not kept", promised_us)


def _can_be_kept(job: Job, promised_us: Instant, ahead: Foresight, now_us: Instant) -> bool:
    """False if fewer than one such day in ten is ready by then; a minute over is none."""

    def in_time(ready_us: Instant | None) -> bool:
        return ready_us is None or ready_us < promised_us + MINUTE_US

    if all(section.over for section in job.sections.values()):
        return in_time(_was_ready_us(job))
    # What is expected in time needs no luck, and Run's head has reckoned it already.
    found = ahead.at(now_us)
    return in_time(found.ready_us(job.id)) or in_time(found.ready_us(job.id, Z_HARDLY_EVER))


def _was_ready_us(job: Job) -> Instant | None:
    """When a job of which nothing is left could be handed over; None if nothing was done of it."""
    done_us = max((one.last_us for one in job.stints), default=None)
    earliest = known_handover(job)
    return done_us if done_us is None or earliest is None else max(done_us, earliest.at_us)
