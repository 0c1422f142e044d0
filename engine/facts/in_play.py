"""Films in play: what is wet on the vehicle and must be ended before anything else.

A film is in play from its first touch until its last work step is finished, late or not.
Rests, questions, breaks and new work wait for it; only the body in danger does not.
"""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.section import SECOND_US, Section
from cartclock.engine.plan.plan import Stage, Wait
from cartclock.engine.times import Instant

# A film that closed so long ago is as dry as it will be, and no rest is held back for it. Our
# own judgement.
SPENT_US = HOUR_US


def in_play(job: Job, now_us: Instant) -> tuple[Section, ...]:
    """The sections of an open job with a film in play, in working order; empty if it is closed."""
    if job.state != "open":
        return ()
    return tuple(
        section
        for stage in job.stages
        for section in job.of(stage.name)
        if _wet(job, stage, section, now_us)
    )


def film_in_play(jobs: Iterable[Job], now_us: Instant) -> bool:
    """True if any of these jobs has a film in play."""
    return any(in_play(job, now_us) for job in jobs)


def lays_film(stage: Stage, step: int) -> bool:
    """True if the work at that step of a stage leaves a film that is waited for."""
    return step + 1 < len(stage.steps) and isinstance(stage.steps[step + 1], Wait)


def ends_film(stage: Stage, step: int) -> bool:
    """True if the work at that step ends a film that was waited for."""
    return step > 0 and isinstance(stage.steps[step - 1], Wait)


def _wet(job: Job, stage: Stage, section: Section, now_us: Instant) -> bool:
    step = section.turn.step
    match section.state:
        case "waiting":
            window = section.window
            return (
                window is not None and window.kind != "gap" and not _spent(window.closes_us, now_us)
            )
        case "in hand":
            return lays_film(stage, step) or ends_film(stage, step)
        case "held":
            closes_us = _closes_us(job, stage, section)
            return closes_us is not None and not _spent(closes_us, now_us)
        case _:
            return False


def _spent(closes_us: int, now_us: Instant) -> bool:
    return now_us >= closes_us + SPENT_US


def _closes_us(job: Job, stage: Stage, section: Section) -> Instant | None:
    """When the film of work that was put down closes; None if it has none."""
    if ends_film(stage, section.turn.step):
        ended = (
            window.closes_us
            for window in reversed(job.windows)
            if (window.stage, window.section) == (section.stage, section.name)
        )
        return next(ended, None)
    if not lays_film(stage, section.turn.step) or section.first_us is None:
        return None
    wait = stage.steps[section.turn.step + 1]
    assert isinstance(wait, Wait)
    return Instant(section.first_us + wait.closes_s * SECOND_US)
