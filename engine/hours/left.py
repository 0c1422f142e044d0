"""Films that were in play when a shift ended: nobody of that shift was left to end them."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cartclock.engine.facts.in_play import SPENT_US, ends_film, film_closes_us, lays_film
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.facts.turn import Turn
from cartclock.engine.times import Instant


class LeftFilm(Struct, frozen=True):
    """A film that was in play at the end of a shift.

    Fields:
        job, number, stage, section: whose film it is; `number` is the job's handle.
        closes_us: when it closes.
    """

    job: str
    number: int
    stage: str
    section: str
    closes_us: Instant


def left_films(shift: Shift, jobs: Mapping[str, Job], end_us: Instant) -> tuple[LeftFilm, ...]:
    """The films in play when the shift ended at `end_us`, by job and closing.

    Told from what the jobs have become since: a film that lay then may be long off. Work put
    down with a film on it that was skipped later is not among them.
    """
    found = [
        LeftFilm(id_, jobs[id_].opened.number, stage, section, closes_us)
        for id_ in shift.jobs
        if id_ in jobs and not _closed(jobs[id_], end_us)
        for (stage, section), closes_us in (
            _waiting(jobs[id_], end_us) | _put_down(jobs[id_], shift, end_us)
        ).items()
        if end_us < closes_us + SPENT_US
    ]
    return tuple(sorted(found, key=lambda film: (film.number, film.closes_us, film.section)))


def _closed(job: Job, at_us: Instant) -> bool:
    ends_us = (job.closed_us, job.given_us)
    return any(end_us is not None and end_us <= at_us for end_us in ends_us)


def _waiting(job: Job, at_us: Instant) -> dict[tuple[str, str], Instant]:
    """Films that were waited for at that time, and when they close."""
    return {
        (window.stage, window.section): window.closes_us
        for window in job.every_window
        if window.kind != "gap"
        and window.last_us <= at_us
        and (window.ended_us is None or window.ended_us > at_us)
    }


def _put_down(job: Job, shift: Shift, at_us: Instant) -> dict[tuple[str, str], Instant]:
    """Films this worker had in hand and put down unfinished, and when they close."""
    begun: dict[tuple[str, str, Turn], Instant] = {}
    for span in shift.spans_to(at_us):
        if isinstance(span.doing, Hands) and span.doing.job == job.id:
            for name in span.doing.sections:
                begun.setdefault((span.doing.stage, name, span.doing.turn), span.start_us)
    found: dict[tuple[str, str], Instant] = {}
    for (stage_name, name, turn), first_us in begun.items():
        stage = job.stage(stage_name)
        if not (lays_film(stage, turn.step) or ends_film(stage, turn.step)):
            continue
        section = job.sections[stage_name, name]
        open_still = section.state in ("in hand", "held") and section.turn == turn
        later = any(
            (s.stage, s.section, s.turn) == (stage_name, name, turn) and s.last_us > at_us
            for s in job.stints
        )
        closes_us = film_closes_us(job, stage, name, turn, first_us)
        if (open_still or later) and closes_us is not None:
            found[stage_name, name] = closes_us
    return found
