"""Promises that were moved or can be kept no longer: whether somebody must be told of it.

The question is derived from the log: an answer in the log, or another promise, makes it go away.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

from cartclock.engine.dates import spoken_near
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.hours.remaining import remaining
from cartclock.engine.times import Instant
from cartclock.engine.until import bare, holds


class PromiseAsked(Struct, frozen=True):
    """One question about a promise.

    Fields:
        job: its id.
        cause: it was moved, or by the plan's minutes it can be kept no longer.
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
    return f"the promise of {when} cannot be kept by the plan's minutes: who was told?"


def promise_questions(jobs: Iterable[Job], now_us: Instant) -> tuple[PromiseAsked, ...]:
    """Of whose promise nobody was told, at most one question a job; closed jobs ask nothing."""
    found = (_asked(job, now_us) for job in open_jobs(jobs))
    return tuple(one for one in found if one is not None)


def _asked(job: Job, now_us: Instant) -> PromiseAsked | None:
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
    if _can_be_kept(job, promised_us, now_us):
        return None
    return PromiseAsked(job.id, "not kept", promised_us)


def _can_be_kept(job: Job, promised_us: Instant, now_us: Instant) -> bool:
    """Whether the plan's minutes for what is left end by then; a minute over is none."""
    plain_us = Instant(bare(now_us))
    spare_us = promised_us + MINUTE_US - plain_us - remaining(job, plain_us).total_us
    if spare_us > 0:
        # Without a press the end goes on no faster than the clock, and never comes nearer.
        holds(now_us, spare_us)
    return spare_us > 0
