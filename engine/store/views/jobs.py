"""Every job in lines: itself, its stages, and what it used."""

from __future__ import annotations

from collections.abc import Collection
from heapq import nlargest
from math import fsum
from typing import ClassVar

import msgspec
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import JobState
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.history.answers import ProductMonth, Sought, newest_first
from cartclock.engine.history.job_lines import JobLine, JobLines, StageLine, lines_of_job
from cartclock.engine.history.shift_lines import ServedLine, lines_of_shift
from cartclock.engine.hours.account import served
from cartclock.engine.hours.partition import PieceKind, told_to_us
from cartclock.engine.store.codec import json_list
from cartclock.engine.store.library import KNOWN_JOBS, Library
from cartclock.engine.store.views.interruptions import INTERRUPTIONS
from cartclock.engine.times import Length


class Jobs(View[JobLines]):
    """The jobs as tables; a job whose opening was struck has no line.

    An imported job has its lines too, but nothing of what it used: that came from another stock.
    How its shifts served it is told here, because no shift of another cart has a line.
    """

    name, version, of = "job_line", 6, "job"
    imported = True
    kinds = frozenset(tag for tag, kind in ev.KINDS.items() if kind.of != "cart")
    tables: ClassVar = {
        "job_line": (
            "CREATE TABLE job_line (id TEXT PRIMARY KEY, number INTEGER NOT NULL,"
            " vehicle TEXT NOT NULL, plan TEXT NOT NULL, shape TEXT NOT NULL, zone TEXT NOT NULL,"
            " state TEXT NOT NULL, day TEXT NOT NULL, opened_us INTEGER NOT NULL,"
            " closed_us INTEGER, first_us INTEGER, last_us INTEGER, planned_us INTEGER NOT NULL,"
            " hands_us INTEGER NOT NULL, sections INTEGER NOT NULL, done INTEGER NOT NULL,"
            " left_out INTEGER NOT NULL, again INTEGER NOT NULL, late INTEGER NOT NULL,"
            " early INTEGER NOT NULL, price INTEGER, extras INTEGER NOT NULL,"
            " layers INTEGER NOT NULL, high_spots INTEGER NOT NULL, origin TEXT NOT NULL)"
            " STRICT, WITHOUT ROWID",
            "CREATE INDEX job_line_opened ON job_line (opened_us DESC, number DESC)",
            "CREATE INDEX job_line_plan ON job_line"
            " (plan, shape, opened_us DESC, number DESC, state)",
            "CREATE INDEX job_line_shape ON job_line (shape, opened_us DESC, number DESC)",
            "CREATE INDEX job_line_state ON job_line (state, opened_us DESC, number DESC)",
            "CREATE INDEX job_line_priced ON job_line (opened_us DESC, number DESC)"
            " WHERE price IS NOT NULL",
        ),
        "stage_line": (
            "CREATE TABLE stage_line (id TEXT NOT NULL, nth INTEGER NOT NULL, stage TEXT NOT NULL,"
            " planned_us INTEGER NOT NULL, hands_us INTEGER NOT NULL, sections INTEGER NOT NULL,"
            " done INTEGER NOT NULL, done_us INTEGER, PRIMARY KEY (id, nth)) STRICT, WITHOUT ROWID",
        ),
        "served_elsewhere": (
            "CREATE TABLE served_elsewhere (id TEXT NOT NULL, stage TEXT NOT NULL,"
            " kind TEXT NOT NULL, length_us INTEGER NOT NULL,"
            " PRIMARY KEY (id, stage, kind)) STRICT, WITHOUT ROWID",
        ),
        "use_line": (
            "CREATE TABLE use_line (id TEXT NOT NULL, month TEXT NOT NULL, product TEXT NOT NULL,"
            " name TEXT NOT NULL, unit TEXT NOT NULL, amount REAL NOT NULL,"
            " applied_unit TEXT NOT NULL, applied REAL NOT NULL,"
            " PRIMARY KEY (id, month, product)) STRICT, WITHOUT ROWID",
            "CREATE INDEX use_line_month ON use_line"
            " (month, product, unit, applied_unit, name, amount, applied)",
        ),
    }

    def part(self, seen: Subject) -> JobLines:
        lines = lines_of_job(seen.job, seen.shifts.values())
        if not seen.origin:
            return lines
        found: dict[tuple[str, PieceKind], int] = {}
        for shift in seen.shifts.values():
            if seen.id not in served(shift, told_to_us(shift)):
                # Of its other jobs not all may have come along.
                continue
            for one in lines_of_shift(shift, seen.jobs).served:
                if one.job == seen.id:
                    key = (one.stage, one.kind)
                    found[key] = found.get(key, 0) + one.length_us
        return JobLines(
            replace(lines.job, origin=seen.origin),
            lines.stages,
            (),
            tuple(
                ServedLine(seen.id, stage, kind, Length(length_us))
                for (stage, kind), length_us in sorted(found.items())
            ),
        )

    def lines(self, id_: str, part: JobLines) -> list[TableLine]:
        found: list[TableLine] = [("job_line", (id_, *msgspec.structs.astuple(part.job)))]
        found += [("stage_line", (id_, *msgspec.structs.astuple(one))) for one in part.stages]
        found += [("use_line", (id_, *msgspec.structs.astuple(one))) for one in part.uses]
        found += [
            ("served_elsewhere", (id_, one.stage, one.kind, one.length_us)) for one in part.served
        ]
        return found

    # Asking.

    def newest(
        self,
        library: Library,
        sought: Sought,
        most: int | None = None,
        among: Collection[str] | None = None,
    ) -> tuple[tuple[str, JobLine], ...]:
        """The jobs that are wanted and read already, with their ids, the newest first.

        most: so many at most; None: all of them. among: only these; None: any.
        """
        where = [KNOWN_JOBS]
        values: list[object] = []
        for column in ("plan", "shape", "state"):
            if wanted := getattr(sought, column):
                where.append(f"{column} = ?")
                values.append(wanted)
        for term, day in (("day >= ?", sought.from_day), ("day <= ?", sought.to_day)):
            if day:
                where.append(term)
                values.append(day)
        if sought.priced:
            where.append("price IS NOT NULL")
        if sought.own:
            where.append("origin = ''")
        if sought.worker:
            where.append(_WORKED_BY)
            values.append(json_list(INTERRUPTIONS.called(library, sought.worker)))
        if among is not None:
            where.append("id IN (SELECT value FROM json_each(?))")
            values.append(json_list(among))
        query = (
            f"SELECT * FROM job_line WHERE {' AND '.join(where)}"
            " ORDER BY opened_us DESC, number DESC LIMIT ?"
        )
        found = [
            (id_, JobLine(*told))
            for id_, *told in library.rows(query, *values, -1 if most is None else most)
        ]
        mine = self._of_worker(library, sought.worker)
        found += [
            (id_, part.job)
            for id_, part in library.parts(self)
            if sought.fits(part.job)
            and (among is None or id_ in among)
            and (mine is None or id_ in mine)
        ]
        wanted = len(found) if most is None else most
        return tuple(nlargest(wanted, found, key=lambda one: newest_first(one[1])))

    @staticmethod
    def _of_worker(library: Library, worker: str) -> set[str] | None:
        """Of the jobs that go over the file those that the worker had in hand; None: no worker."""
        if not worker:
            return None
        wanted, over = worker.casefold(), library.parts(INTERRUPTIONS)
        return {
            id_
            for id_, part in over
            if any(name.casefold() == wanted for name in part.told.hands_us)
        }

    def count(self, library: Library) -> int:
        """How many jobs are read already."""
        ((known,),) = library.rows(f"SELECT count(*) FROM job_line WHERE {KNOWN_JOBS}")
        return int(known) + len(library.parts(self))

    def plans(self, library: Library) -> tuple[tuple[str, str, JobState], ...]:
        """Plan, body and state of the jobs, each together once, by plan and body."""
        told = set(
            library.rows(f"SELECT DISTINCT plan, shape, state FROM job_line WHERE {KNOWN_JOBS}")
        )
        told |= {(one.job.plan, one.job.shape, one.job.state) for _id, one in library.parts(self)}
        return tuple(sorted(told))

    def stages(self, library: Library, jobs: Collection[str]) -> dict[str, list[StageLine]]:
        """The stages of these jobs, by job."""
        found: dict[str, list[StageLine]] = {}
        for id_, *told in library.rows(_STAGES, json_list(jobs)):
            found.setdefault(id_, []).append(StageLine(*told))
        return found | {id_: list(part.stages) for id_, part in library.parts(self) if id_ in jobs}

    def served_elsewhere(
        self, library: Library, jobs: Collection[str]
    ) -> dict[tuple[str, str, PieceKind], int]:
        """How long those of these jobs that were imported were served without being in hand, by
        job, stage and kind of time."""
        found: dict[tuple[str, str, PieceKind], int] = {
            (job, stage, kind): length_us
            for job, stage, kind, length_us in library.rows(_SERVED, json_list(jobs))
        }
        for id_, part in library.parts(self):
            if id_ in jobs:
                found |= {(id_, one.stage, one.kind): one.length_us for one in part.served}
        return found

    def by_month(
        self, library: Library, from_month: str, to_month: str
    ) -> tuple[ProductMonth, ...]:
        """What was used in these months and between, by month and product."""
        sums: dict[tuple[str, str, str, str], list[tuple[str, float, float, int]]] = {}
        for line in library.rows(_BY_MONTH, from_month, to_month):
            sums.setdefault(line[:4], []).append(line[4:])
        for _id, part in library.parts(self):
            for use in part.uses:
                if from_month <= use.month <= to_month:
                    key = (use.month, use.product, use.unit, use.applied_unit)
                    sums.setdefault(key, []).append((use.name, use.amount, use.applied, 1))
        return tuple(
            ProductMonth(
                month=month,
                product=product,
                name=max(name for name, _amount, _applied, _jobs in told),
                unit=unit,
                amount=fsum(amount for _name, amount, _applied, _jobs in told),
                applied_unit=applied_unit,
                applied=fsum(applied for _name, _amount, applied, _jobs in told),
                jobs=sum(jobs for _name, _amount, _applied, jobs in told),
            )
            for (month, product, unit, applied_unit), told in sorted(sums.items())
        )


_WORKED_BY = (
    "EXISTS (SELECT 1 FROM job_hands h WHERE h.id = job_line.id"
    " AND h.worker IN (SELECT value FROM json_each(?)))"
)
_STAGES = (
    "SELECT * FROM stage_line WHERE id IN (SELECT value FROM json_each(?))"
    f" AND {KNOWN_JOBS} ORDER BY id, nth"
)
_SERVED = (
    f"SELECT * FROM served_elsewhere WHERE id IN (SELECT value FROM json_each(?)) AND {KNOWN_JOBS}"
)
_BY_MONTH = (
    "SELECT month, product, unit, applied_unit, max(name), sum(amount), sum(applied), count(*)"
    f" FROM use_line WHERE month BETWEEN ? AND ? AND {KNOWN_JOBS}"
    " GROUP BY month, product, unit, applied_unit"
)

JOBS = Jobs()
