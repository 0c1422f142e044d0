"""What a rule looks at: who presses, on which shift, at which jobs, at which instant."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Shift
from cartclock.engine.films.flashing import Own
from cartclock.engine.now.moves import as_if_finished
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused


class Scene(Struct, frozen=True):
    """What a rule looks at.

    Fields:
        worker: who presses.
        shift: the worker's shift; None if off the clock.
        jobs: every job that is open, by id (a closed one too where it is reopened).
        now_us: job time of the press.
        known_products: keys of the products this cart ever used; None: not to be asked about.
        own: the worker's own watched sections, by product.
    """

    worker: str
    shift: Shift | None
    jobs: Mapping[str, Job]
    now_us: Instant
    known_products: frozenset[str] | None = None
    own: Own = {}

    @property
    def on(self) -> Shift:
        """The shift; refuses if the worker is off the clock."""
        if self.shift is None or not self.shift.on_clock:
            raise Refused("You are not on the clock. Clock on first.")
        return self.shift

    def must_be_on(self) -> None:
        """Refuses if the worker is off the clock."""
        _ = self.on

    def job(self, job_id: str) -> Job:
        """The job; refuses if there is none or it is closed."""
        job = self.jobs.get(job_id)
        if job is None or job.state != "open":
            raise Refused("That job is not open.")
        return job

    def film_stays(self, finish: bool) -> bool:
        """True if a film is in play still when what is in hand has ended.

        finish: what is in hand is finished, else put down.
        """
        jobs = self.jobs
        if finish and self.shift is not None:
            jobs = as_if_finished(jobs, self.shift, self.now_us, self.own)
        return film_in_play(jobs.values(), self.now_us)
