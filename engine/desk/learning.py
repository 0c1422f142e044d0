"""What is known of a worker from the whole log, for what is ahead."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from math import log
from pathlib import Path

from cartclock.engine.ahead.durations import Belief, Measured
from cartclock.engine.ahead.foreseen import Learned
from cartclock.engine.ahead.job_ahead import steps_of
from cartclock.engine.ahead.played import Weights
from cartclock.engine.facts.job import Job
from cartclock.engine.history.proposals import panel_weights, planned_weights
from cartclock.engine.hours.lessons import JobLessons
from cartclock.engine.hours.usual import LEAST_MEASURED, StepKey, work_steps
from cartclock.engine.joined.known import NOTHING_KNOWN, FromShop
from cartclock.engine.store.library import Library
from cartclock.engine.store.views.interruptions import INTERRUPTIONS
from cartclock.engine.store.views.lessons import LESSONS
from cartclock.engine.store.views.shifts import SHIFTS


class Learning:
    """What the library knows of a worker, and of steps of which that is too little what other carts
    of the shop taught. What was believed of a plan is kept until something else was taught.

    Args:
        library: of a log.
        log: where that log is.
    """

    def __init__(self, library: Library, log: Path) -> None:
        self._library = library
        self._from_shop = FromShop(log)
        # (worker, job) -> the plan's shape and minutes, what taught it, and what came of it.
        self._kept: dict[tuple[str, str], tuple[object, Belief, Weights]] = {}

    def of(self, worker: str, jobs: Sequence[Job]) -> Learned:
        """What is known of a worker for the open ones of these jobs."""
        library = self._library
        beliefs: dict[str, Belief] = {}
        done: dict[str, Measured] = {}
        weights: dict[str, Weights] = {}
        for job in jobs:
            if job.state != "open":
                continue
            plan, minutes = job.opened.plan, _planned(job)
            found = LESSONS.of_worker(library, worker, plan.name)
            others = tuple(one for one in found if one.job != job.id)
            kept = self._kept.get((worker, job.id))
            planned = planned_weights(plan)
            shop = self._of_shop(worker, minutes, others)
            of = plan.shape, minutes, planned, steps_of(job), others, shop
            if kept is None or kept[0] != of:
                belief = Belief(steps_of(job))
                for one in others:
                    belief.add(_against(one, minutes), one.shape == plan.shape)
                if shop:
                    belief.add_of_shop(shop)
                # A mirror is to the bonnet what it was on such a body.
                alike = [one.job for one in others if one.shape == plan.shape]
                weighed = panel_weights(LESSONS.of_panels(library, worker, alike), planned)
                by_panel = {(one.stage, one.panel): one.beside for one in weighed}
                kept = self._kept[worker, job.id] = of, belief, by_panel
            beliefs[job.id], weights[job.id] = kept[1:]
            own = next((one for one in found if one.job == job.id), None)
            done[job.id] = {} if own is None else _against(own, minutes)
        begins, ends = SHIFTS.usual_hours(library, worker)
        interrupted = INTERRUPTIONS.of_worker(library, worker)
        return Learned(beliefs, done, weights, interrupted, begins, ends)

    def _of_shop(
        self, worker: str, planned_s: Mapping[StepKey, float], own: Sequence[JobLessons]
    ) -> Measured:
        """What other carts measured of the steps of which the worker's own are too few here."""
        known, pieces = self._from_shop.known, Counter[StepKey]()
        if known is NOTHING_KNOWN:
            return {}
        for job in own:
            pieces.update({one.step: one.n for one in job.lessons})
        return {
            step: (usual.of, log(usual.seconds / seconds))
            for step, seconds in planned_s.items()
            if pieces[step] < LEAST_MEASURED and (usual := known.usual(worker, step)) is not None
        }


def _planned(job: Job) -> dict[StepKey, float]:
    """Seconds that the plan gives one piece of each step, of those that it has some for."""
    return {
        key: stage.usual_minutes(work) * 60
        for stage in job.stages
        for _index, work, key in work_steps(stage)
        if work.minutes > 0
    }


def _against(taught: JobLessons, planned_s: Mapping[StepKey, float]) -> Measured:
    """What was measured against the minutes of this plan: those of an earlier one may be others."""
    return {
        one.step: (one.n, one.ln_seconds - log(planned_s[one.step]))
        for one in taught.lessons
        if one.step in planned_s
    }
