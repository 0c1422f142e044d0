"""Jobs and shifts of a log in one line each, found by what is known of them.

Every question goes by an index, so that none takes longer the longer the log is. The shifts of
one worker never overlap; so of those that began before an instant only the last can reach it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection
from pathlib import Path
from typing import Any

from cartclock.engine.facts.in_force import LIKE_US, STALE_US
from cartclock.engine.store import schema
from cartclock.engine.store.codec import json_list
from cartclock.engine.store.schema import JobSummary, ShiftSummary
from cartclock.engine.times import Instant

# Of a worker's shifts that lie before an instant the last: it is over last, or goes on.
_LAST = "ORDER BY on_us DESC, off_us IS NULL DESC, off_us DESC LIMIT 1"


class Summaries:
    """The lines of jobs and shifts. Every method raises StoreFault if the log cannot be read."""

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        self._path, self._db = path, db

    # Jobs.

    def jobs_numbered(self, number: int) -> list[JobSummary]:
        """The jobs of that number; of one opened at a time there is one."""
        return self._jobs("number = ? ORDER BY opened_us", number)

    def jobs_beginning(self, prefix: str) -> list[JobSummary]:
        """The jobs whose id begins so, struck ones left out. prefix: of a UUID, in hex and "-"."""
        # "g" sorts behind every sign a UUID has.
        found = self._jobs("job >= ? AND job < ? ORDER BY number, opened_us", prefix, f"{prefix}g")
        return [job for job in found if job.number > 0]

    def is_own(self, job: str) -> bool:
        """Whether the log has rows of its own of this job, also where its opening was struck."""
        return bool(self._lines("SELECT 1 FROM job_summary WHERE job = ?", job))

    def jobs_turned(self, from_us: int, to_us: int) -> list[JobSummary]:
        """The jobs that were opened or last closed from an instant up to before another."""
        found = self._jobs("opened_us >= ? AND opened_us < ?", from_us, to_us)
        found += self._jobs("closed_us >= ? AND closed_us < ?", from_us, to_us)
        return list({job.job: job for job in found if job.number > 0}.values())

    def newest_opened(self) -> JobSummary | None:
        """The job that was opened last, struck ones left out; None if there is none."""
        found = self._jobs("number > 0 ORDER BY opened_us DESC, number DESC LIMIT 1")
        return found[0] if found else None

    def greatest_number(self) -> int:
        """The greatest number a job has; 0 if there is none."""
        (found,) = self._lines("SELECT max(number) FROM job_summary")[0]
        return found or 0

    def struck_jobs(self) -> list[str]:
        """The ids of the jobs whose opening was struck."""
        found = self._lines("SELECT job FROM job_summary WHERE number = 0")
        return [job for (job,) in found]

    # Shifts.

    def shifts_begun(
        self, from_us: int, to_us: int | None = None, worker: str | None = None
    ) -> list[ShiftSummary]:
        """The shifts that began from an instant up to before another; struck ones left out.

        to_us: None: up to the end of the log. worker: None: of everybody.
        """
        inside = "on_us >= ? AND on_us < ifnull(?, on_us + 1) AND on_us <> 0"
        if worker is None:
            return self._shifts(inside, from_us, to_us)
        return self._shifts(f"worker = ? AND {inside}", worker, from_us, to_us)

    def first_on_us(self, worker: str) -> Instant | None:
        """When the worker first clocked on; None if never."""
        found = self._lines(
            "SELECT on_us FROM shift_summary"
            " WHERE worker = ? AND on_us <> 0 ORDER BY on_us LIMIT 1",
            worker,
        )
        return found[0][0] if found else None

    def shifts_within(
        self,
        from_us: int,
        to_us: int | None,
        worker: str | None = None,
        without: Collection[str] = (),
    ) -> list[ShiftSummary]:
        """The shifts that share an instant with this time, ends included; struck ones left out.

        to_us: None: up to the end of the log. worker: None: of everybody. without: ids of shifts
        that are to be passed over.
        """
        passed = json_list(without)
        apart = "on_us <> 0 AND shift NOT IN (SELECT value FROM json_each(?))"
        found: list[ShiftSummary] = []
        for who in self._workers() if worker is None else [worker]:
            inside = f"worker = ? AND on_us >= ? AND on_us <= ifnull(?, on_us) AND {apart}"
            before = f"worker = ? AND on_us < ? AND {apart} {_LAST}"
            found += self._shifts(inside, who, from_us, to_us, passed)
            found += [
                shift
                for shift in self._shifts(before, who, from_us, passed)
                if shift.off_us is None or shift.off_us >= from_us
            ]
        return found

    def beside(self, shifts: Collection[str]) -> set[str]:
        """Ids of the other shifts whose readings these may go by (`engine.facts.in_force`): they
        share an instant with one of them, or with the hour before it."""
        own = self._shifts("shift IN (SELECT value FROM json_each(?))", json_list(shifts))
        found = (
            one.shift
            for shift in own
            if shift.on_us
            for one in self.shifts_within(Instant(shift.on_us - STALE_US), shift.off_us)
        )
        return set(found) - set(shifts)

    def before(self, shifts: Collection[str]) -> set[str]:
        """Ids of the workers' last shifts before each of these of which what was read may tell of
        the air of its day (`engine.facts.in_force`)."""
        found = set()
        for shift in self._shifts("shift IN (SELECT value FROM json_each(?))", json_list(shifts)):
            last = f"worker = ? AND on_us < ? AND on_us <> 0 {_LAST}"
            for one in self._shifts(last, shift.worker, shift.on_us):
                if one.off_us is not None and shift.on_us < one.off_us + LIKE_US:
                    found.add(one.shift)
        return found

    def _workers(self) -> list[str]:
        found = self._lines(
            "WITH RECURSIVE one (w) AS (SELECT min(worker) FROM shift_summary UNION ALL"
            " SELECT (SELECT min(worker) FROM shift_summary WHERE worker > w) FROM one"
            " WHERE w IS NOT NULL) SELECT w FROM one WHERE w IS NOT NULL"
        )
        return [worker for (worker,) in found]

    # Reading.

    def _jobs(self, where: str, *values: object) -> list[JobSummary]:
        found = self._lines(f"SELECT * FROM job_summary WHERE {where}", *values)
        return [JobSummary(*line) for line in found]

    def _shifts(self, where: str, *values: object) -> list[ShiftSummary]:
        found = self._lines(f"SELECT * FROM shift_summary WHERE {where}", *values)
        return [ShiftSummary(*line) for line in found]

    def _lines(self, query: str, *values: object) -> list[tuple[Any, ...]]:
        try:
            return self._db.execute(query, values).fetchall()
        except sqlite3.Error as error:
            raise schema.store_fault(error, f"The log {self._path} cannot be read") from error
