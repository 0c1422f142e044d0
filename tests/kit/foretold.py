"""What was foretold of simulated days against what came of them."""

from __future__ import annotations

import datetime
import random
from collections.abc import Callable, Iterator
from statistics import median

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.ahead.day_ahead import NEVER_INTERRUPTED
from cartclock.engine.ahead.durations import Belief, Measured
from cartclock.engine.ahead.finish import Finish
from cartclock.engine.ahead.foreseen import Foreseen, Learned, prospect
from cartclock.engine.ahead.job_ahead import steps_of
from cartclock.engine.ahead.played import Weights
from cartclock.engine.dates import local
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Shift
from cartclock.engine.history.proposals import panel_weights
from cartclock.engine.hours.interruptions import Interrupted, interruptions
from cartclock.engine.hours.lessons import PanelLesson, by_panel, lessons
from cartclock.engine.hours.usual import timed
from cartclock.engine.plan.plan import Plan
from cartclock.engine.store.views.shifts import LEAST_DAYS, MOST_DAYS
from tests.kit.simulated_day import Day, Worker

SHARES = (0.0, 0.25, 0.5, 0.75)
BEGINS = datetime.time(7, 30)
# The days of the simulation go on until the job is done, however late.
NEVER_ENDS = datetime.time(7, 29)


class Told(Struct, frozen=True):
    """What was told at one moment of a day, and what came of it, in minutes from then on."""

    share: float
    left: float
    expected: float
    by: float
    hardly: float


def measured(job: Job, shifts: list[Shift]) -> Measured:
    """What of a job was measured."""
    found = lessons(job, shifts)
    return {one.step: (one.n, one.ln_ratio) for one in found if one.ln_ratio is not None}


def weights(found: list[PanelLesson]) -> Weights:
    """What panels weigh by what they taught."""
    return {(one.stage, one.panel): one.beside for one in panel_weights(found)}


class Seer:
    """Who has seen some days of a worker and tells of the next one."""

    def __init__(self, ends: datetime.time = NEVER_ENDS) -> None:
        # By the name of the plan.
        self.beliefs: dict[str, Belief] = {}
        self.panels: dict[str, list[PanelLesson]] = {}
        self.interrupted, self.ends = NEVER_INTERRUPTED, ends
        self.begun: list[datetime.time] = []

    def learn(self, day: Day) -> None:
        """A day that is over."""
        self.begun += [local(shift.on_us, shift.on.zone).time() for shift in day.shifts]
        for job in day.jobs.values():
            plan = job.opened.plan.name
            self.beliefs.setdefault(plan, Belief(steps_of(job))).add(measured(job, day.shifts))
            self.interrupted = _and(self.interrupted, job, day.shifts)
            self.panels.setdefault(plan, []).extend(by_panel(timed(job, day.shifts)))

    @property
    def begins(self) -> datetime.time:
        """When days begin, by the middle one of the newest shifts, as the program learns it; where
        they never end that says nothing.
        """
        if self.ends == NEVER_ENDS:
            return BEGINS
        newest = sorted(self.begun[-MOST_DAYS:])
        if len(newest) < LEAST_DAYS:
            return BEGINS
        return newest[len(newest) // 2].replace(second=0, microsecond=0)

    def learned(self, day: Day) -> Learned:
        """What is known of the worker at this moment of a day."""
        shifts = [*day.shifts, day.shift]
        plans = {id_: job.opened.plan.name for id_, job in day.jobs.items()}
        interrupted = self.interrupted
        for job in day.jobs.values():
            interrupted = _and(interrupted, job, shifts)
        return Learned(
            beliefs={
                id_: self.beliefs[plan] for id_, plan in plans.items() if plan in self.beliefs
            },
            measured={id_: measured(job, shifts) for id_, job in day.jobs.items()},
            weights={id_: weights(self.panels.get(plan, [])) for id_, plan in plans.items()},
            interrupted=interrupted,
            begins=self.begins,
            ends=self.ends,
        )

    def tell(self, day: Day) -> dict[str, Finish]:
        """When the jobs of a day are done, as of this moment of it."""
        found = prospect(Foreseen(day.jobs, day.shift, self.learned(day)), day.now_us)
        return {id_: told for id_ in day.jobs if (told := found.finish(id_)) is not None}


def _and(before: Interrupted, job: Job, shifts: list[Shift]) -> Interrupted:
    found = interruptions(job, shifts)
    return replace(
        before,
        jobs=before.jobs + 1,
        hands_us=before.hands_us + sum(found.hands_us.values()),
        length_us=before.length_us + sum(one.length_us for one in found.kinds),
        squares_min2=before.squares_min2 + sum(one.squares_min2 for one in found.kinds),
    )


def foretold(
    plan: Plan,
    seed: int,
    earlier: int,
    days: int,
    wanders: float = 0.0,
    sleeps_from: float | None = None,
    ends: datetime.time = NEVER_ENDS,
    stays_for: float = 0.0,
    beside: Plan | None = None,
) -> Iterator[Told]:
    """What was told of the days of one worker, after so many earlier ones: of each job that was not
    over yet.
    """
    worker = Worker(random.Random(seed), plan, wanders, beside)
    seer = Seer(ends)
    for number in range(earlier + days):
        told: dict[float, tuple[int, dict[str, Finish]]] = {}

        def look(day: Day, told: dict[float, tuple[int, dict[str, Finish]]] = told) -> None:
            for share in SHARES:
                if share not in told and day.planned_done >= share * day.planned - 1e-9:
                    told[share] = day.now_us, seer.tell(day)

        asked: Callable[[Day], None] | None = look if number >= earlier else None
        day = Day(worker, number, asked, sleeps_from, stays_for).run()
        done_us = {id_: max(stint.last_us for stint in job.stints) for id_, job in day.jobs.items()}
        for share, (at_us, finishes) in told.items():
            for id_, found in finishes.items():
                if done_us[id_] > at_us:
                    ends_us = (done_us[id_], found.done_us, found.by_us, found.hardly_us)
                    yield Told(share, *((end_us - at_us) / 60_000_000 for end_us in ends_us))
        seer.learn(day)


class Cell(Struct, frozen=True):
    """Shares of days that ended by what was told, and how far the middle was off.

    Fields:
        many: how many days.
        by, hardly: share that ended by the end of four days in five; after that of one in five.
        error, bias: median of what was told against what came, without and with its sign.
    """

    many: int
    by: float
    hardly: float
    error: float
    bias: float


def cell(found: list[Told]) -> Cell:
    """What came of these."""
    off = [(one.expected - one.left) / one.left for one in found]
    return Cell(
        len(found),
        sum(one.left <= one.by for one in found) / len(found),
        sum(one.left >= one.hardly for one in found) / len(found),
        median(map(abs, off)),
        median(off),
    )
