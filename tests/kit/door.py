"""A shop in memory that takes rows and hands jobs on, as the functions of a shop's server do: what
plans are played with that are too many for a server. `tests/joined/test_shop_plans.py` plays some
of the same with one.
"""

from __future__ import annotations

import random
from collections import defaultdict
from typing import Any

from cartclock.engine.desk.bench import Bench
from cartclock.engine.joined.holding import HandingShop
from cartclock.engine.store.codec import COLUMNS, Stored, digested

_SEQ, _JOB, _SHIFT, _KIND = (COLUMNS.index(name) for name in ("seq", "job", "shift", "kind"))
_PREV, _DIGEST, _OPENED_US = (COLUMNS.index(name) for name in ("prev", "digest", "entered_us"))
_FIXES = ("PressStruck", "PressRestored", "PressMoved", "TimeCorrected")
# Rows of a statement, at most, and how many in a hundred are lost before or after they are taken.
_MOST, _LOST = 4, 30


class Hole(Exception):
    """Rows were sent that do not follow on those that are there."""


class Door:
    """What is there of each log, and who took which job.

    Fields:
        rows: of each log, those that are there, without a hole.
        taken: of each job (who took it, from whom, that one's newest row then), turn after turn.
        lost, twice: statements that came to nothing, or came once more.
    """

    def __init__(self, drawn: random.Random) -> None:
        self.rows: dict[str, list[Stored]] = defaultdict(list)
        self.taken: dict[str, list[tuple[str, str, int]]] = defaultdict(list)
        self.lost = self.twice = 0
        self._drawn = drawn

    def take(self, origin: str, lines: list[Stored]) -> None:
        """Rows of a log, all or none; those that are there already change nothing."""
        here = self.rows[origin]
        first = lines[0][_SEQ]
        if first > len(here):
            raise Hole
        before = here[first - 1][_DIGEST] if first else ""
        for due, line in enumerate(lines, first):
            assert (line[_SEQ], line[_PREV]) == (due, before)
            assert due >= len(here) or here[due] == line
            before = line[_DIGEST]
        here += lines[len(here) - first :]

    def sent(self, bench: Bench) -> None:
        """A log is sent: statements are lost on the way, or taken and the cart is not told so, or
        come twice; the cart goes on behind what is there until all is."""
        origin, newest = bench.log.origin, bench.log.head.seq
        while len(self.rows[origin]) <= newest:
            at = len(self.rows[origin]) - 1
            behind = bench.log.stored_after(at, newest - at)
            while behind:
                many = self._drawn.randint(1, _MOST)
                lines, behind = behind[:many], behind[many:]
                came = self._drawn.randrange(100)
                if came < _LOST:
                    self.lost += 1
                    if came % 2:
                        self.take(origin, lines)
                    # The line broke: it begins anew behind what is there.
                    break
                self.take(origin, lines)
                if came > 100 - _LOST:
                    self.twice += 1
                    self.take(origin, lines)

    def shop(self) -> HandingShop:
        """The shop that hands jobs on, whose line ends here."""
        return HandingShop(self)  # type: ignore[arg-type]  # what it asks of a line

    # What is asked over the line, as sql/holders.sql answers it.

    def execute(self, asked: str, words: tuple[Any, ...] = ()) -> _Found:
        """Answers what HandingShop asks."""
        for name, answer in _ANSWERS.items():
            if name in asked:
                return _Found(answer(self, *words))
        raise AssertionError(asked)

    def _holder(self, job: str) -> tuple[str, int]:
        """Who has a job, and in which turn."""
        taken = self.taken[job]
        if taken:
            return taken[-1][0], len(taken) + 1
        opened = [
            (line[_OPENED_US], origin)
            for origin, lines in self.rows.items()
            for line in lines
            if line[_JOB] == job and line[_KIND] == "JobOpened"
        ]
        return min(opened)[1], 1

    def _jobs_there(self, handle: str) -> list[tuple[Any, ...]]:
        origin, tenure = self._holder(handle)
        newest = [
            line[_KIND]
            for line in self.rows[origin]
            if line[_JOB] == handle and line[_KIND] in ("JobOpened", "JobTaken", "JobGiven")
        ][-1]
        return [(handle, 1, "bottle green estate", origin, newest == "JobGiven", tenure, origin)]

    def _take(self, job: str, origin: str, tenure: int, _silent: bool) -> list[tuple[Any, ...]]:
        holder, turn = self._holder(job)
        if turn + 1 == tenure:
            self.taken[job].append((origin, holder, len(self.rows[holder]) - 1))
        who, of, seq = self.taken[job][tenure - 2]
        assert who == origin
        return [(of, seq, self.rows[of][seq][_DIGEST])]

    def _logs_of(self, job: str) -> list[str]:
        return [
            origin
            for origin, lines in self.rows.items()
            if any(line[_JOB] == job for line in lines)
        ]

    def _heads(self, job: str) -> list[tuple[Any, ...]]:
        found = ((origin, self.rows[origin][-1]) for origin in self._logs_of(job))
        return [(origin, newest[_SEQ], newest[_DIGEST]) for origin, newest in found]

    def _rows_of(self, job: str) -> list[tuple[Any, ...]]:
        found = []
        for origin in sorted(self._logs_of(job)):
            lines = self.rows[origin]
            shifts = {line[_SHIFT] for line in lines if line[_JOB] == job} - {None}
            found += [
                (digested(line[:-1]).decode(), line[_DIGEST])
                for line in lines
                if line[_JOB] == job or line[_SHIFT] in shifts or line[_KIND] in _FIXES
            ]
        return found


class _Found:
    def __init__(self, lines: list[tuple[Any, ...]]) -> None:
        self._lines = lines

    def fetchone(self) -> tuple[Any, ...] | None:
        """The first line."""
        return self._lines[0] if self._lines else None

    def fetchall(self) -> list[tuple[Any, ...]]:
        """Every line."""
        return self._lines


def _now(_door: Door) -> list[tuple[Any, ...]]:
    from time import time

    return [(time(),)]


_ANSWERS: dict[str, Any] = {
    # Tables without packs and private text: these plans have none.
    "to_regprocedure": lambda _door, *_function: [(False,)],
    "clock_timestamp()": _now,
    "jobs_there_1": Door._jobs_there,
    "take_1": Door._take,
    "job_heads_1": Door._heads,
    "pull_job_1": Door._rows_of,
}
