"""A month of jobs on one log, worked on a real bench while all goes wrong that can.

Synthetic: who works, how long it takes and what happens to the laptop is invented, by chance of a
seed. Everything is on whole seconds, so that it can be reckoned second by second.
"""

from __future__ import annotations

import math
import random
import sqlite3
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.plan.plan import Plan, Stage
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.history import path_beside
from cartclock.engine.store.laptop.places import second_logs
from cartclock.engine.store.log import Head, Log
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from cartclock.engine.store.restore import restore
from cartclock.engine.store.whole.backups import back_up
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused, StoreFault
from tests.kit.flaky import spoil
from tests.kit.reckoner import SECOND_US
from tests.kit.stage import seeded
from tests.kit.worked import BEGINS_US, WORKERS, Worked

PLANS = (
    ("maintenance_wash", "hatchback"),
    ("decontamination_and_sealant", "van"),
    ("one_step_correction_and_coat", "hatchback"),
)
DAY_S = 24 * 3600
ZONES = ("America/St_Johns", "Europe/Berlin", "Pacific/Kiritimati")


def finer(plan: Plan, parts: int) -> Plan:
    """The plan with each of its sections in so many parts, worked one after the other."""
    return replace(plan, stages=tuple(_finer(stage, parts) for stage in plan.stages))


def _finer(stage: Stage, parts: int) -> Stage:
    if parts == 1:
        return stage
    of = {f"{name} {n}": name for name in stage.sections for n in range(1, parts + 1)}
    panels = {part: stage.panel(name) for part, name in of.items()}
    return replace(stage, sections=tuple(of), panels=panels)


class Month(Worked):
    """So many days, two jobs on the first and every second one, one on each other.

    Args:
        days: how many; seed: of every chance.
        every: one fault in so many moves.
        parts: how many parts each section of a plan is worked in, in the time of the whole.

    Fields:
        jobs: how many were done.
        met: how often each of the `faults` was caused.
    """

    def __init__(self, folder: Path, days: int, seed: int, every: int = 12, parts: int = 1) -> None:
        self.chance = random.Random(seed)
        self.clock = HandClock(BEGINS_US)
        self._every, self._parts = every, parts
        self.place, self.entropy = folder / "log.db", seeded(f"month {seed}")
        self.workers = WORKERS[:1]
        self._noted = dict.fromkeys(("drink", "reading", "rest"), BEGINS_US)
        self._mistakes = self._boots = self.jobs = 0
        self.met: Counter[str] = Counter()
        self._answered = Head()
        self.bench = self._opened()
        faults = (
            self.killed, self.booted, self.clock_set, self.moved, self.replaced, self.wal_deleted,
            self.put_back, self.history_spoilt, self.backed_up, self.looked_at, self.full,
            self.held, self.time_wrong, self.deleted, self.overtaken, self.at_fault,
            self.read_only, self.far_ahead, self.carried_off,
        )  # fmt: skip
        self.faults: tuple[Callable[[], None], ...] = faults
        for day in range(days):
            for _ in range(2 if day == 0 or day % 2 else 1):
                plan, body = PLANS[self.jobs % len(PLANS)]
                self.plan = finer(read_plan(with_body(starter(plan), body), plan), parts)
                self._work()
            # To the next morning.
            on_s = (self.bench.now_us - BEGINS_US) // 1_000_000
            self.clock.wind((on_s // DAY_S + 1) * DAY_S - on_s)
        self.put_back()

    def _opened(self) -> Bench:
        path = next(iter(second_logs(self.place)), self.place)
        bench = Bench.open(path, self.clock, WORKERS[0], self.entropy)
        bench.asks_new = False
        return bench

    def _again(self) -> None:
        """The program ends without a word and is started again."""
        self.bench.log.close()
        self.bench = self._opened()
        self.bench.wake()
        assert self.bench.log.lost == ""

    def _work(self) -> None:
        self.jobs += 1
        job = self.bench.new_id()
        customer = self.bench.seal("Ada Quill")
        opened = ev.JobOpened(self.plan, "", self.jobs, "vehicle", customer=customer, price="420")
        self.bench.do(rules.open_job, job, opened)
        self.bench.do(rules.clock_on, ev.ClockedOn("carport"))
        while self.bench.jobs[job].state == "open":
            self._between(job)
            self._take_up(WORKERS[0])
            if self.chance.randrange(self._every) == 0:
                self._go_wrong()
        self.bench.do(rules.clock_off, {"unfinished": "done"})

    def _seconds(self, move: Move) -> float:
        seconds = super()._seconds(move)
        return math.ceil(seconds if move.act == "stand by" else max(1.0, seconds / self._parts))

    def _go_wrong(self) -> None:
        """One fault, and one more press; what was answered before is there."""
        self._answered = self.bench.log.head
        fault = self.chance.choice(self.faults)
        fault()
        self.met[fault.__name__] += 1
        self.bench.do(rules.note_shift, ev.DrinkTaken(100))
        assert self.bench.log.holds(self._answered.seq, self._answered.digest), fault.__name__
        self.clock.wind(self.chance.randrange(1, 30))
        self.bench.tick()
        self.bench.beat()

    # Faults.

    def killed(self) -> None:
        self._again()

    def booted(self) -> None:
        self._boots += 1
        self.clock.reboot(f"boot {self._boots}", self.chance.randrange(20, 900))
        self._again()

    def time_wrong(self) -> None:
        """It starts with its clock ahead, and somebody notices after a press."""
        ahead_s = self.chance.randrange(240, 20 * 3600)
        self._boots += 1
        self.clock.wind(self.chance.randrange(20, 900))
        self.clock.reboot(f"boot {self._boots}", ahead_s)
        self._again()
        told = self.bench.do(rules.note_shift, ev.DrinkTaken(100))
        self.clock.wind(self.chance.randrange(1, 600))
        right_us = Instant(told.rows[0].entered_us - ahead_s * 1_000_000)
        self.bench.correct_time(told.press, right_us, "UTC")
        self.clock.set_wall(-ahead_s)

    def far_ahead(self) -> None:
        """It starts with its clock years ahead: the time is asked for, and answered."""
        ahead_s = self.chance.randrange(40, 3650) * DAY_S
        self._boots += 1
        self.clock.reboot(f"boot {self._boots}", ahead_s)
        self._again()
        assert self.bench.time_unsure
        self.bench.do(rules.note_shift, ev.DrinkTaken(100))
        self.bench.say_time(Instant(self.bench.now_us + self.chance.randrange(900) * SECOND_US))
        assert not self.bench.time_unsure
        self.clock.wall_us = self.bench.now_us

    def carried_off(self) -> None:
        """The job goes on later in a place with another time."""
        over: dict[str, str] = {}
        while True:
            try:
                self.bench.do(rules.clock_off, over)
            except Asks as asked:
                over[asked.rule_id] = "it goes on elsewhere"
            else:
                break
        self.clock.wind(self.chance.randrange(600, 3600))
        self.bench.do(rules.clock_on, ev.ClockedOn("carport", zone=self.chance.choice(ZONES)))

    def clock_set(self) -> None:
        self.clock.set_wall(self.chance.randrange(-7200, 7200))
        # A boot puts both right again, or the time would be asked for.
        self.clock.wall_us = max(self.clock.wall_us, self.bench.now_us)

    def moved(self) -> None:
        self.bench.log.path.rename(self.place.with_name(f"away {sum(self.met.values())}"))

    def replaced(self) -> None:
        other = self.place.with_name("other.db")
        Log.open(other).close()
        other.replace(self.bench.log.path)

    def deleted(self) -> None:
        self.bench.log.path.unlink()

    def wal_deleted(self) -> None:
        self.bench.log.path.with_name(f"{self.bench.log.path.name}-wal").unlink(missing_ok=True)

    def put_back(self) -> None:
        self.bench.log.close()
        for second in second_logs(self.place)[:1]:
            restore(second, self.place, over_newer=True)
        for path in self.place.parent.glob("*-aside-*"):
            path.unlink()
        self.bench = self._opened()

    def history_spoilt(self) -> None:
        self.bench.log.close()
        path_beside(self.bench.log.path).write_bytes(self.chance.randbytes(5000))
        self.bench = self._opened()

    def backed_up(self) -> None:
        back_up(self.bench.log.path, "2026-01-08")

    def looked_at(self) -> None:
        with Log.open(self.bench.log.path) as other:
            other.refresh()

    def overtaken(self) -> None:
        """Another program presses; what was to be pressed here is refused once."""
        with closing(self._opened()) as other:
            other.do(rules.note_shift, ev.DrinkTaken(100))
            self._answered = other.log.head
        self._refused("wrote meanwhile")

    def at_fault(self) -> None:
        """The disk reports a fault, whether or not it wrote."""
        does = self.chance.random() < 0.5
        whole = spoil(self.bench.log, does=does)
        if does:
            self.bench.do(rules.note_shift, ev.DrinkTaken(100))
            self._answered = self.bench.log.head
        else:
            self._refused("Nothing was written")
        self.bench.log._db = whole

    def read_only(self) -> None:
        self.bench.log._db.execute("PRAGMA query_only = ON")
        self._refused("the log is read-only")
        self.bench.log._db.execute("PRAGMA query_only = OFF")

    def _refused(self, says: str) -> None:
        with pytest.raises((Refused, StoreFault), match=says):
            self.bench.do(rules.note_shift, ev.DrinkTaken(100))

    def full(self) -> None:
        db = self.bench.log._db
        (pages,) = db.execute("PRAGMA page_count").fetchone()
        db.execute(f"PRAGMA max_page_count = {pages}")
        for _ in range(20):
            try:
                note = ev.DrinkTaken(100)
                self.bench.do(rules.note_shift, note)
            except StoreFault as why:
                assert "the disk is full" in str(why)
                break
        db.execute("PRAGMA max_page_count = 1000000")
        self._answered = self.bench.log.head

    def held(self) -> None:
        self.bench.log._db.execute("PRAGMA busy_timeout = 1")
        with closing(sqlite3.connect(self.bench.log.path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            self._refused("another program holds the log")
            other.execute("ROLLBACK")
