"""One job worked on two carts in turn, and beside it the same work on one cart.

Every length is drawn from a seed; the plans are those of `tests.kit.day`, synthetic.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.holding import give_by_file, take_by_file
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.hours.partition import partition, sums
from cartclock.engine.rules import holding, rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.trouble import Asks, Refused
from tests.kit.blank import bench_at
from tests.kit.day import PLANS, START_US

SECOND_US = 1_000_000
WHO = ("anna", "ben")
OVER = dict.fromkeys(
    ("layer_early", "coat_gate", "reading_ends", "undone_before", "rest_in_wave", "first_use"),
    "said again",
)


class TwoCarts:
    """Two carts with a worker each, and one cart that both of them work at."""

    def __init__(self, folder: Path, seed: int, plan: int = 0) -> None:
        self.carts = [
            bench_at(
                _folder(folder / f"{who} {seed}") / "log.db",
                HandClock(START_US),
                who,
                random.Random(f"{seed} {who}").randbytes,
            )
            for who in WHO
        ]
        one = random.Random(f"{seed} one").randbytes
        self.one = bench_at(folder / f"one {seed}.db", HandClock(START_US), WHO[0], one)
        self._jobs = 0
        self._begun(plan)
        self._clock_on()

    def _clock_on(self) -> None:
        for bench, who in zip(self.carts, WHO, strict=True):
            bench.do(rules.clock_on, ev.ClockedOn("carport"))
            self.one.do_as(who, 0, rules.clock_on, ev.ClockedOn("carport"))

    def _begun(self, plan: int) -> None:
        self.at = 0
        self._jobs += 1
        self.job = self._opened(self.carts[0], plan)
        self.same = self._opened(self.one, plan)

    def _opened(self, bench: Bench, plan: int) -> str:
        job = bench.new_id()
        opening = ev.JobOpened(PLANS[plan], "", self._jobs, "bottle green estate")
        bench.do(rules.open_job, job, opening)
        return job

    def put_down(self) -> None:
        """What is in hand on the cart that has the job is put down, here and on the one cart."""
        who = WHO[self.at]
        shift = self.one.shift(who)
        assert shift is not None
        if shift.state == "hands":
            self.here.do(rules.put_down)
            self.one.do_as(who, 0, rules.put_down)

    def anew(self, plan: int) -> None:
        """Another job in other shifts, on the same carts; one that is still open is given away
        before, and nobody takes it."""
        self.put_down()
        for bench, job in ((self.here, self.job), (self.one, self.same)):
            if bench.jobs[job].state == "open":
                bench.do(holding.give, job, "", bench.log.origin)
        for bench, who in zip(self.carts, WHO, strict=True):
            bench.do(rules.clock_off)
            self.one.do_as(who, 0, rules.clock_off)
        self.wind(30)
        self._begun(plan)
        self._clock_on()

    @property
    def here(self) -> Bench:
        """The cart that has the job."""
        return self.carts[self.at]

    @property
    def there(self) -> Bench:
        """The other one."""
        return self.carts[1 - self.at]

    def wind(self, seconds: float) -> None:
        """Time passes everywhere."""
        for bench in (*self.carts, self.one):
            bench.clock.wind(seconds)

    def work(self, seconds: float) -> bool:
        """Who has the job takes up what comes next, here and on the one cart; False if that has
        to wait, or nothing does."""
        found = self.here.moves()
        if not found:
            return False
        try:
            self.here.do(rules.take_up, found[0], OVER)
        except (Asks, Refused) as no:
            assert "wait until" in str(no) or isinstance(no, Asks), no
            return False
        who = WHO[self.at]
        self.one.do_as(who, 0, rules.take_up, self.one.moves(who)[0], OVER)
        self.wind(seconds)
        return True

    def take_back(self) -> None:
        """The newest press is taken back on both."""
        self.here.undo()
        self.one.undo(WHO[self.at])

    def hand_over(self, **facts: Any) -> None:
        """By a file from the cart that has the job to the other; on the one cart it is put down."""
        who = WHO[self.at]
        shift = self.one.shift(who)
        assert shift is not None
        if shift.state == "hands":
            self.one.do_as(who, 0, rules.put_down)
        content = given(self.here, self.job, self.there.log.origin, **facts)
        assert take_by_file(self.there, content).written
        self.at = 1 - self.at


def _folder(path: Path) -> Path:
    path.mkdir()
    return path


def given(bench: Bench, job: str, to: str, **facts: Any) -> bytes:
    """The file by which a cart gives a job to another."""
    shop = Shop(bench.log, library=bench.library)
    return give_by_file(bench, shop, job, to, **facts).content


def shape(job: Job) -> tuple[Any, ...]:
    """What two carts and one must agree on: where each section is, every window and every step."""
    return (
        {
            key: (s.state, s.turn, s.first_us, s.finished_us, s.hands_us, s.worker)
            for key, s in job.sections.items()
        },
        sorted(
            (w.section, w.turn, w.first_us, w.last_us, w.marks, w.ended_us or 0, w.taken)
            for w in job.every_window
        ),
        [(s.stage, s.section, s.turn, s.worker, s.first_us, s.last_us) for s in job.stints],
    )


def hands_us(bench: Bench, who: str) -> int:
    """Hands of a worker's shift, microseconds; its pieces are the whole of it."""
    shift = bench.shift(who)
    assert shift is not None and shift.odd == []
    pieces = partition(shift, bench.jobs, bench.now_us)
    end_us = bench.now_us if shift.off_us is None else shift.off_us
    assert sum(piece.length_us for piece in pieces) == end_us - shift.on_us
    return sum(us for (kind, *_rest), us in sums(pieces).items() if kind == "hands")


def refuses(act: Any, *args: Any, **facts: Any) -> str:
    """The sentence by which something is refused."""
    try:
        act(*args, **facts)
    except Refused as no:
        return str(no)
    raise AssertionError("it was not refused")
