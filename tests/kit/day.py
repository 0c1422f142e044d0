"""A day on a new log, for examples, with the plans it is worked by.

All figures of the plans are invented round numbers for tests, no source, and no advice.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from cartclock.engine.desk.bench import Bench, Pressed
from cartclock.engine.facts import events as ev
from cartclock.engine.facts import job as jobs_
from cartclock.engine.facts import shift as shifts_
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Odd, Row, believed_rows
from cartclock.engine.facts.section import Window
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.partition import sums
from cartclock.engine.plan.plan import (
    Check,
    Cure,
    Gap,
    HighSpot,
    Plan,
    Product,
    Stage,
    Use,
    Wait,
    Work,
)
from cartclock.engine.press import Press
from cartclock.engine.rules import changes, rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.trouble import Refused
from tests.kit.blank import bench_at

START_US = 1_790_000_000_000_000
WORKERS = ("me", "helper")

SPRAYED = (Work("spray", 1, (Use("fallout", 60),)), Wait("dwell", 120, 180, 300))
FALLOUT = Stage(
    "Fallout", ("left", "right", "front"), (*SPRAYED, Work("rinse", 2, over="all")), order="all"
)
COAT = Stage(
    "Coat",
    ("bonnet left", "bonnet right"),
    (Work("apply", 1, (Use("coat", 10, 15),)), Wait("flash", 60, 100, 240), Work("level", 2)),
    order="wave",
    layers=2,
    gap=Gap(1800, 3600, 43200),
    cure=Cure(14400, 15.0, 28800),
    check=Check(600, 1800, "stage"),
    high_spot=(HighSpot("level", 1200), HighSpot("coat again")),
)
IRON = Stage(
    "Iron",
    ("left wheel", "right wheel"),
    (Work("spray", 1, (Use("fallout", 40),)), Wait("dwell", 60, 90, 150), Work("rinse", 2)),
)
WASH = Stage("Wash", ("roof", "sides"), (Work("wash", 2), Work("dry", 1)), press="stage")
POLISH = Stage(
    "Polish",
    ("door top", "door bottom", "wing"),
    (Work("polish", 3),),
    press="panel",
    panels={"door top": "door", "door bottom": "door"},
)
# The gate stands before this one.
EXTRA = Stage("Glass", ("screen", "rear glass"), (Work("clean", 1), Work("seal", 2)), kind="coat")
PRODUCTS = (
    Product("fallout", "Iron fallout remover"),
    Product("coat", "Coating", unit="drops", dry_s=7200),
)
PLANS = (
    Plan("coat", (FALLOUT, COAT), PRODUCTS),
    Plan("wash and wheels", (WASH, IRON), PRODUCTS),
    Plan("polish", (POLISH,), PRODUCTS),
)


class Told(NamedTuple):
    """What rows tell: every job and every shift by its id, and what is set aside as odd."""

    jobs: dict[str, Job]
    shifts: dict[str, Shift]
    odd: list[Odd]


def told(rows: list[Row]) -> Told:
    """Every job and every shift of the log, folded anew one by one."""
    believed = believed_rows(rows)
    jobs = {row.job for row in rows} - {""}
    shifts = {row.shift for row in rows} - {""}
    folds = [jobs_.fold_job(r for r in believed if r.job == job) for job in sorted(jobs)]
    begun = [shifts_.fold_shift(r for r in believed if r.shift == s) for s in sorted(shifts)]
    return Told(
        {job.id: job for job, _odd in folds if job is not None},
        {shift.id: shift for shift, _odd in begun if shift is not None},
        [odd for _one, aside in (*folds, *begun) for odd in aside],
    )


def from_scratch(rows: list[Row]) -> tuple[dict[str, Job], dict[str, Shift]]:
    """Every job and every shift that rows tell."""
    found = told(rows)
    return found.jobs, found.shifts


class Day:
    """A job opened and a shift begun on a new log, for examples."""

    def __init__(
        self, folder: Path, plan: int = 0, seed: int = 0, start_us: int = START_US
    ) -> None:
        self.path = folder / "log.db"
        self.clock = HandClock(start_us)
        self.entropy = random.Random(seed).randbytes
        self.bench = bench_at(self.path, self.clock, WORKERS[0], self.entropy)
        self.job = self.open_job(plan)
        self.clock_on = self.bench.do(rules.clock_on, ev.ClockedOn("carport")).press

    def open_job(self, plan: int) -> str:
        """One more job; its id."""
        job = self.bench.new_id()
        number = len(self.bench.jobs) + 1
        opened = ev.JobOpened(PLANS[plan], "", number, "bottle green estate")
        self.bench.do(rules.open_job, job, opened)
        return job

    def take(self, seconds: float = 0, worker: str = WORKERS[0], move: int = 0) -> Press:
        """Takes up a move, then lets time pass; the press."""
        found = self.bench.moves(worker)[move]
        press = self.bench.do_as(worker, 0, rules.take_up, found).press
        self.clock.wind(seconds)
        return press

    def again(self) -> Bench:
        """The program ends and is started again on the same log."""
        self.bench.close()
        self.bench = Bench.open(self.path, self.clock, WORKERS[0], self.entropy)
        return self.bench

    def minutes(self, worker: str = WORKERS[0]) -> dict[tuple[str, str], float]:
        """Where the shift's time went: minutes by kind and, of other things than breaks, stage."""
        found: dict[tuple[str, str], float] = {}
        for (kind, what, _job, stage), us in sums(self.bench.partition(worker)).items():
            found[kind, what or stage] = found.get((kind, what or stage), 0) + us / 60e6
        return found

    def whole(self) -> bool:
        """True if the bench believes what the log says, and nothing in it is odd."""
        rows = self.bench.log.all_rows()
        jobs, shifts, odd = told(rows)
        believed = (self.bench.jobs, self.bench.shifts)
        same = believed == (
            {job: jobs[job] for job in self.bench.jobs},
            {shift: shifts[shift] for shift in self.bench.shifts},
        )
        return same and odd == []


def refused(act: Callable[[], Pressed]) -> Refused:
    """The refusal of an act, which is a whole sentence."""
    with pytest.raises(Refused) as no:
        act()
    assert str(no.value).endswith(".")
    return no.value


def believed(day: Day) -> tuple[dict[str, Job], dict[str, Shift]]:
    """What the bench believes."""
    return (day.bench.jobs.copy(), day.bench.shifts.copy())


def flashing(day: Day) -> Window:
    """One section coated and in its flash, the next one in hand for ten seconds."""
    sprayed = ("left", "right", "front")
    day.bench.do(changes.skip, day.job, "Fallout", sprayed, "done yesterday")
    day.take(70)
    day.take(10)
    (window,) = day.bench.jobs[day.job].running
    assert (window.kind, window.section) == ("flash", "bonnet left")
    return window
