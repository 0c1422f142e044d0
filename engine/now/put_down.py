"""Films that were put down unfinished: what lies wet while nobody's hands are on it.

A film of which a step was begun and put down has no window yet, or has none any more; it closes
all the same.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cartclock.engine.facts.in_play import ends_film, film_closes_us, in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import Section
from cartclock.engine.facts.turn import Turn
from cartclock.engine.facts.words import place_text
from cartclock.engine.plan.plan import Wait, Work
from cartclock.engine.times import Instant


class PutDown(Struct, frozen=True):
    """Sections of one stage that were put down together at the same step of a film.

    Fields:
        job, sections: whose and which; of the same stage and turn, at least one.
        since_us: their first touch.
        closes_us: when their film closes.
    """

    job: Job
    sections: tuple[Section, ...]
    since_us: Instant
    closes_us: Instant

    @property
    def first(self) -> Section:
        """The section that stands for all of them."""
        return self.sections[0]

    @property
    def work(self) -> Work:
        """The step that was begun."""
        return self.job.work(self.first.stage, self.first.turn)

    @property
    def wait(self) -> Wait:
        """The wait that the step leads to, or came from."""
        steps, at = self.job.stage(self.first.stage).steps, self.first.turn.step
        wait = steps[at - 1 if ends_film(self.job.stage(self.first.stage), at) else at + 1]
        assert isinstance(wait, Wait)
        return wait

    @property
    def where(self) -> str:
        """The sections in few words."""
        return place_text(self.job, self.first.stage, tuple(one.name for one in self.sections))

    @property
    def begin_us(self) -> Instant:
        """When the step must be begun anew so that it is done by the close, as planned."""
        stage = self.job.stage(self.first.stage)
        minutes = stage.minutes_of(self.work, [one.name for one in self.sections])
        return Instant(self.closes_us - round(minutes * MINUTE_US))


def put_down_films(jobs: Mapping[str, Job], now_us: Instant) -> list[PutDown]:
    """The films of all open jobs that were put down, the one that closes first in front."""
    together: dict[tuple[str, str, Turn, Instant, Instant], list[Section]] = {}
    for job in jobs.values():
        for one in in_play(job, now_us):
            if one.state != "held" or one.first_us is None:
                continue
            stage = job.stage(one.stage)
            closes_us = film_closes_us(job, stage, one.name, one.turn, one.first_us)
            if closes_us is not None:
                key = (job.id, one.stage, one.turn, one.first_us, closes_us)
                together.setdefault(key, []).append(one)
    found = [
        PutDown(jobs[job_id], tuple(sections), since_us, closes_us)
        for (job_id, _stage, _turn, since_us, closes_us), sections in together.items()
    ]
    return sorted(found, key=lambda film: (film.closes_us, film.first.name))
