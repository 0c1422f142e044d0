"""What a rule looks at: who presses, on which shift, at which jobs, at which instant."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Shift
from cartclock.engine.films.flashing import Own
from cartclock.engine.films.waves import Factors, as_planned
from cartclock.engine.now.moves import as_if_finished, as_if_put_down
from cartclock.engine.products.reminders import KnownProducts, no_log
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused


class Scene(Struct, frozen=True):
    """What a rule looks at.

    Fields:
        worker: who presses.
        shift: the worker's shift; None if off the clock.
        jobs: every job that is open, by id (a closed one too where it is reopened).
        now_us: job time of the press.
        known_products: gives keys of the products this cart ever used; None: not to be asked about.
        own: the worker's own watched sections, by product.
        factors: gives by how much the work of a job, by its id, is expected to take longer than
            planned.
    """

    worker: str
    shift: Shift | None
    jobs: Mapping[str, Job]
    now_us: Instant
    known_products: KnownProducts = no_log
    own: Own = {}
    factors: Callable[[str], Factors] = as_planned

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
        if job is not None and job.state == "given":
            raise Refused(given_text(job))
        if job is None or job.state != "open":
            raise Refused("That job is not open.")
        return job

    def ended(self, finish: bool) -> Mapping[str, Job]:
        """The jobs when what is in hand has ended.

        finish: it is finished, else put down.
        """
        if self.shift is None:
            return self.jobs
        if finish:
            return as_if_finished(self.jobs, self.shift, self.now_us, self.own)
        return as_if_put_down(self.jobs, self.shift, self.now_us)


def given_text(job: Job) -> str:
    """Why nothing can be pressed on a job that was given away, a sentence."""
    to = f"cart {job.given_to[:8]}" if job.given_to else "another cart"
    return f"Job {job.opened.number} was given to {to}; work on it there, or have it given back."
