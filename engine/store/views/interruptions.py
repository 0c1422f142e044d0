"""How the hands on the jobs were kept from them: of that a forecast learns."""

from __future__ import annotations

from heapq import nlargest
from typing import ClassVar

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.hours.interruptions import (
    Interrupted,
    Interruptions,
    interruptions,
    over_jobs,
)
from cartclock.engine.store.library import KNOWN_JOBS, Library
from cartclock.engine.times import Instant

# So many jobs say how often a worker is called away. Our own judgement.
MOST_INTERRUPTED_JOBS = 40


class _OfJob(Struct, frozen=True):
    """The same of one job: when it was opened, its id, and what it comes to."""

    opened_us: Instant
    job: str
    sums: Interrupted


class InterruptedJob(Struct, frozen=True):
    """The interruptions of a job, and when it was opened."""

    opened_us: Instant
    told: Interruptions


class InterruptionLines(View[InterruptedJob]):
    """Interruptions by worker and kind, with the hands they kept from work."""

    name, version, of = "interruptions", 1, "job"
    kinds = frozenset(tag for tag, kind in ev.KINDS.items() if kind.of != "cart")
    tables: ClassVar = {
        "job_hands": (
            "CREATE TABLE job_hands (id TEXT NOT NULL, worker TEXT NOT NULL,"
            " opened_us INTEGER NOT NULL, hands_us INTEGER NOT NULL, PRIMARY KEY (id, worker))"
            " STRICT, WITHOUT ROWID",
            "CREATE INDEX job_hands_newest ON job_hands"
            " (worker, opened_us DESC, id DESC, hands_us)",
        ),
        "interruption": (
            "CREATE TABLE interruption (id TEXT NOT NULL, worker TEXT NOT NULL,"
            " what TEXT NOT NULL, count INTEGER NOT NULL, length_us INTEGER NOT NULL,"
            " squares_min2 REAL NOT NULL, PRIMARY KEY (id, worker, what)) STRICT, WITHOUT ROWID",
        ),
    }

    def part(self, seen: Subject) -> InterruptedJob:
        return InterruptedJob(seen.job.opened_us, interruptions(seen.job, seen.shifts.values()))

    def lines(self, id_: str, part: InterruptedJob) -> list[TableLine]:
        found: list[TableLine] = [
            ("job_hands", (id_, worker, part.opened_us, hands_us))
            for worker, hands_us in part.told.hands_us.items()
        ]
        found += [
            (
                "interruption",
                (id_, one.worker, one.what, one.count, one.length_us, one.squares_min2),
            )
            for one in part.told.kinds
        ]
        return found

    def of_worker(self, library: Library, worker: str, besides: str = "") -> Interrupted:
        """A worker's interruptions over the newest jobs that worker had in hand.

        besides: id of a job that is left out.
        """
        written = library.as_written(
            (self.name, worker, besides),
            lambda: [
                _OfJob(opened_us, id_, Interrupted(1, *sums))
                for opened_us, id_, *sums in library.rows(_NEWEST, worker, besides, _MOST)
            ],
        )
        over = [
            _OfJob(part.opened_us, id_, sums)
            for id_, part in library.parts(self, besides)
            if (sums := part.told.of(worker)) is not None
        ]
        found = nlargest(_MOST, [*written, *over], key=lambda one: (one.opened_us, one.job))
        return over_jobs(one.sums for one in found)

    def called(self, library: Library, worker: str) -> list[str]:
        """The workers of this name in the file, capitals or not."""
        wanted = worker.casefold()
        return [name for (name,) in library.rows(_NAMES) if name.casefold() == wanted]


_MOST = MOST_INTERRUPTED_JOBS
# From each name to the next one in the index: thousands of jobs have few workers.
_NAMES = (
    "WITH RECURSIVE names (name) AS (SELECT min(worker) FROM job_hands UNION ALL"
    " SELECT (SELECT min(worker) FROM job_hands WHERE worker > name) FROM names"
    " WHERE name IS NOT NULL) SELECT name FROM names WHERE name IS NOT NULL"
)
_NEWEST = (
    "SELECT h.opened_us, h.id, h.hands_us, ifnull(sum(i.length_us), 0), total(i.squares_min2)"
    " FROM (SELECT id, opened_us, hands_us FROM job_hands INDEXED BY job_hands_newest"
    f" WHERE worker = ?1 AND id <> ?2 AND {KNOWN_JOBS}"
    " ORDER BY opened_us DESC, id DESC LIMIT ?3) h"
    " LEFT JOIN interruption i ON i.id = h.id AND i.worker = ?1 GROUP BY h.id"
)

INTERRUPTIONS = InterruptionLines()
