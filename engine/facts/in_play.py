"""Films in play: what is wet on the vehicle and must be ended before anything else.

A film is in play from its first touch until its last work step is finished, late or not, and
until it is given up an hour past its close. Rests, questions that can wait, notices that can wait
and new work wait for it; only the body in danger does not.
"""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.section import SECOND_US, Section
from cartclock.engine.facts.turn import Turn
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


def film_runs(jobs: Iterable[Job], now_us: Instant) -> bool:
    """True if any of these jobs has a film in play that somebody has in hand or that waits.

    One that was put down keeps nobody's hands: whoever leaves it has time for a question.
    """
    return any(
        section.state in ("in hand", "waiting") for job in jobs for section in in_play(job, now_us)
    )


def handler(job: Job, section: Section) -> str:
    """Who has a section in hand or finished a step on it last; "" if nobody did."""
    if section.state == "in hand":
        return section.worker
    place = (section.stage, section.name)
    return next((s.worker for s in reversed(job.stints) if (s.stage, s.section) == place), "")


def lays_film(stage: Stage, step: int) -> bool:
    """True if the work at that step of a stage leaves a film that is waited for."""
    return step + 1 < len(stage.steps) and isinstance(stage.steps[step + 1], Wait)


def ends_film(stage: Stage, step: int) -> bool:
    """True if the work at that step ends a film that was waited for."""
    return step > 0 and isinstance(stage.steps[step - 1], Wait)


def _wet(job: Job, stage: Stage, section: Section, now_us: Instant) -> bool:
    if section.state == "in hand":
        return lays_film(stage, section.turn.step) or ends_film(stage, section.turn.step)
    spent = spent_us(job, stage, section)
    return spent is not None and now_us < spent


def spent_us(job: Job, stage: Stage, section: Section) -> Instant | None:
    """From when on the film of a section that nobody has in hand is in play no more: an hour past
    its close; None if it has none.
    """
    closes_us: Instant | None = None
    if section.state == "waiting" and section.window is not None and section.window.kind != "gap":
        closes_us = section.window.closes_us
    elif section.state == "held" and section.first_us is not None:
        closes_us = film_closes_us(job, stage, section.name, section.turn, section.first_us)
    return None if closes_us is None else Instant(closes_us + SPENT_US)


def film_closes_us(
    job: Job, stage: Stage, name: str, turn: Turn, first_us: Instant
) -> Instant | None:
    """When the film of work in hand or put down closes, first touched at `first_us`; None if it
    has none.
    """
    if ends_film(stage, turn.step):
        ended = (
            window.closes_us
            for window in reversed(job.windows)
            if (window.stage, window.section, window.turn) == (stage.name, name, turn)
        )
        return next(ended, None)
    if not lays_film(stage, turn.step):
        return None
    wait = stage.steps[turn.step + 1]
    assert isinstance(wait, Wait)
    return Instant(first_us + wait.closes_s * SECOND_US)
