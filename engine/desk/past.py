"""How it went before: what is asked of the lines of jobs, stages, shifts, products and films.

Everything answers of what is read already; `Library.left` says what is not.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import combinations

from cartclock.engine.facts.job import JobState
from cartclock.engine.films.flashing import MOST_OWN, WatchedFlash
from cartclock.engine.history.answers import (
    HeatWeek,
    PastJob,
    PastStage,
    ProductMonth,
    Sought,
    past_stages,
)
from cartclock.engine.history.proposals import (
    UNASKED_JOBS,
    MinutesProposal,
    PanelWeight,
    proposed_minutes,
    proposed_weights,
)
from cartclock.engine.plan.plan import Plan
from cartclock.engine.store.library import Library
from cartclock.engine.store.views.films import FILMS
from cartclock.engine.store.views.jobs import JOBS
from cartclock.engine.store.views.lessons import LESSONS
from cartclock.engine.store.views.packs import PACKS
from cartclock.engine.store.views.said import SAID
from cartclock.engine.store.views.shifts import SHIFTS, ServedTimes
from cartclock.engine.store.views.stocked import STOCKED
from cartclock.engine.times import Length

# So many of the newest jobs say how something goes. Our own judgement.
MOST_PAST_JOBS = 40

# Words that are taken for lots; each is looked for as a lot and as what else it may be. Our own
# judgement.
_MOST_LOTS = 4

ANY = Sought()


class Past:
    """The lines of one log."""

    def __init__(self, library: Library) -> None:
        self._library = library

    def jobs(self, sought: Sought = ANY, most: int | None = None) -> tuple[PastJob, ...]:
        """The jobs that are wanted, the newest first; so many at most, None: all of them."""
        among = self.saying(sought.words) if sought.words.strip() else None
        found = JOBS.newest(self._library, sought, most, among)
        ids = [job for job, _line in found]
        served = SHIFTS.served(self._library, ids) | JOBS.served_elsewhere(self._library, ids)
        stood, other = _by_job(served, "standing by"), _by_job(served, "other")
        return tuple(
            PastJob(job, line, Length(stood.get(job, 0)), Length(other.get(job, 0)))
            for job, line in found
        )

    def count(self) -> int:
        """How many jobs there are."""
        return JOBS.count(self._library)

    def plans(self, state: JobState | None = None) -> tuple[tuple[str, str], ...]:
        """(plan, body) of the jobs in a state (None: in any), each once, by their names."""
        told = JOBS.plans(self._library)
        pairs = ((plan, shape) for plan, shape, was in told if state in (None, was))
        return tuple(dict.fromkeys(pairs))

    def saying(self, words: str) -> frozenset[str]:
        """The ids of the jobs of which all of these words, or words that begin so, are said: of the
        vehicle, its plate, plan and body, of panels with damage or what went wrong, of products and
        their lots, in names and notes.

        A lot is said of the jobs that drew from its product while it was in force, by any part of
        it that stands behind a separator.
        """
        every = words.split()
        drawn: dict[str, set[str]] = {}
        for word in dict.fromkeys(every):
            told = PACKS.lot_times(self._library, word) if len(drawn) < _MOST_LOTS else []
            if told:
                drawn[word] = set()
            for product, lot in told:
                drawn[word] |= STOCKED.drawing(self._library, product, lot.from_us, lot.until_us)
        found: set[str] = set()
        # What a lot begins with may as well be a piece of a plate or a number.
        for many in range(len(drawn) + 1):
            for lots in combinations(drawn, many):
                rest = [word for word in every if word not in lots]
                sets = [drawn[word] for word in lots]
                sets += [SAID.saying(self._library, rest)] if rest else []
                found |= set.intersection(*sets) if sets else set()
        return frozenset(found)

    def forget(self, refs: Collection[str]) -> None:
        """Deletes sealed texts from the log and from what is known of it.

        Raises StoreFault if the files could not be cleaned; doing it again cleans them.
        """
        self._library.forget(refs, lambda: SAID.referring(self._library, refs))

    def money(self, most: int = MOST_PAST_JOBS) -> tuple[PastJob, ...]:
        """The newest closed jobs that have a price and work on them, the oldest first."""
        found = self.jobs(Sought(state="closed", priced=True, own=True), most)
        return tuple(job for job in reversed(found) if job.money_an_hour is not None)

    def stages(
        self, plan: str, shape: str = "", most: int = MOST_PAST_JOBS
    ) -> tuple[PastStage, ...]:
        """Each stage over the newest closed jobs of a plan, on one body or ("") on any."""
        sought = Sought(plan=plan, shape=shape, state="closed", own=True)
        jobs = [job for job, _line in JOBS.newest(self._library, sought, most)]
        return self._stages(jobs)

    def _stages(self, jobs: Collection[str]) -> tuple[PastStage, ...]:
        served = SHIFTS.served(self._library, jobs)
        stood = {
            (job, stage): us for (job, stage, kind), us in served.items() if kind == "standing by"
        }
        return past_stages(JOBS.stages(self._library, jobs), stood)

    def films(self, worker: str, product: str, most: int = MOST_OWN) -> tuple[WatchedFlash, ...]:
        """The films of a product that a worker laid and watched until ready, the oldest first."""
        return FILMS.of_product(self._library, worker, product, most)

    def proposed_minutes(self, worker: str, plan: Plan) -> tuple[MinutesProposal, ...]:
        """The minutes of a plan that should be others, by what the newest jobs of that plan taught
        a worker."""
        jobs = LESSONS.of_worker(self._library, worker, plan.name)
        return proposed_minutes(plan, (job for job in jobs if job.plan == plan.name))

    def minutes_unasked(
        self, worker: str, plan: Plan, besides: str = ""
    ) -> tuple[MinutesProposal, ...]:
        """Those that may be spoken of though nobody asked: by closed jobs, more than one.

        besides: id of a job that is left out.
        """
        sought = Sought(plan=plan.name, shape=plan.shape, state="closed")
        closed = {job for job, _line in JOBS.newest(self._library, sought, MOST_PAST_JOBS)}
        jobs = LESSONS.of_worker(self._library, worker, plan.name, besides)
        found = proposed_minutes(plan, (job for job in jobs if job.job in closed))
        return tuple(one for one in found if one.jobs >= UNASKED_JOBS)

    def minutes_taught(
        self, worker: str, plan: Plan, job: str, found: Sequence[MinutesProposal]
    ) -> bool:
        """True if a closed job brought one of them up that was not there without it.

        found: those that `minutes_unasked` has of the same plan.
        """
        before = {one.step for one in self.minutes_unasked(worker, plan, job)} if found else set()
        return any(one.step not in before for one in found)

    def proposed_weights(self, worker: str, plan: Plan) -> tuple[PanelWeight, ...]:
        """What sections of a plan should weigh, by what the newest jobs of that plan on such a body
        taught a worker."""
        jobs = LESSONS.of_worker(self._library, worker, plan.name)
        alike = [job.job for job in jobs if (job.plan, job.shape) == (plan.name, plan.shape)]
        return proposed_weights(plan, LESSONS.of_panels(self._library, worker, alike))

    def heat(self, worker: str, from_day: str, to_day: str) -> tuple[HeatWeek, ...]:
        """The heat of a worker's weeks between two days, ISO 8601 text, ends included."""
        return SHIFTS.by_week(self._library, worker, from_day, to_day)

    def products(self, from_month: str, to_month: str) -> tuple[ProductMonth, ...]:
        """What was used in these months ("2026-07") and between, by month and product."""
        return JOBS.by_month(self._library, from_month, to_month)


def _by_job(served: ServedTimes, wanted: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for (job, _stage, kind), length_us in served.items():
        if kind == wanted:
            found[job] = found.get(job, 0) + length_us
    return found
