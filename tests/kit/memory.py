"""A cart without a disk: every press is folded in memory, and each worker's moment is at hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, job_after
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.shift import Shift, shift_after
from cartclock.engine.films.flashing import Own
from cartclock.engine.now.moment import Facts, Hand, Moment, moment
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.trouble import Asks
from tests.kit.book import row_at, us


class InMemory:
    """Jobs and shifts of two workers, at seconds since the book's beginning."""

    def __init__(self, workers: tuple[str, str]) -> None:
        self.workers, self.at_s, self.seq = workers, 0, 0
        self.jobs: dict[str, Job] = {}
        self.shifts: dict[str, Shift] = {}
        self._made = (-1, -1)
        self._moment: Moment
        self._numbers = dict.fromkeys(workers, 0)

    @property
    def now_us(self) -> int:
        """Job time."""
        return us(self.at_s)

    def moment(self) -> Moment:
        """What is so now, made once."""
        if self._made != (self.seq, self.at_s):
            own: dict[str, Own] = {name: {} for name in self.workers}
            facts = Facts(self.seq, 0, dict(self.jobs), dict(self.shifts), own, None, None)
            self._moment = moment(facts, *self.workers, self.now_us, True)
            self._made = (self.seq, self.at_s)
        return self._moment

    def hand(self, worker: str) -> Hand:
        """This worker now."""
        now = self.moment()
        found = now.me if worker == now.me.worker else now.helper
        assert found is not None
        return found

    def scene(self, worker: str) -> Scene:
        """What a rule looks at when this worker presses."""
        return Scene(worker, self.shifts.get(worker), self.jobs, self.now_us)

    def asks(self, worker: str, rule: Callable[..., Drafts], *facts: Any, **more: Any) -> Drafts:
        """What a rule would write if every question of it were answered with yes."""
        over: dict[str, str] = {}
        while True:
            try:
                return rule(self.scene(worker), *facts, over=over, **more)
            except Asks as asks:
                assert asks.rule_id not in over
                over[asks.rule_id] = "said again"

    def write(self, worker: str, drafts: Drafts) -> None:
        """One press; every fold takes every row of it."""
        first = self.seq
        for draft in drafts:
            self._take(draft, worker, first)

    def _take(self, draft: Draft, worker: str, press: int) -> None:
        if isinstance(draft.event, ev.ClockedOn):
            self._numbers[worker] += 1
            self.shifts.pop(worker, None)
        row = row_at(
            draft.event,
            self.at_s,
            self.seq,
            press=press,
            job=draft.job,
            worker=worker,
            shift=f"{worker} {self._numbers[worker]}" if self._numbers[worker] else "",
        )
        self.seq += 1
        odd: list[object] = []
        if draft.job:
            job, of_job = job_after(self.jobs.get(draft.job), row)
            assert job is not None
            self.jobs[draft.job] = job
            odd.append(of_job)
        if row.shift:
            shift, of_shift = shift_after(self.shifts.get(worker), row)
            assert shift is not None
            self.shifts[worker] = shift
            odd.append(of_shift)
        assert odd == [None] * len(odd), draft
