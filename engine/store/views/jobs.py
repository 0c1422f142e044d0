"""Every job in one line."""

from __future__ import annotations

from typing import ClassVar

import msgspec

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.hours.summary import JobLine, job_line
from cartclock.engine.store.library import Library


class JobLines(View[JobLine]):
    """The jobs as a table; a job whose opening was struck has no line."""

    name, version, of = "job_line", 3, "job"
    kinds = frozenset(tag for tag, kind in ev.KINDS.items() if kind.of != "cart")
    tables: ClassVar = {
        "job_line": (
            "CREATE TABLE job_line (id TEXT PRIMARY KEY, number INTEGER NOT NULL,"
            " vehicle TEXT NOT NULL, plan TEXT NOT NULL, zone TEXT NOT NULL, state TEXT NOT NULL,"
            " opened_us INTEGER NOT NULL, closed_us INTEGER, hands_us INTEGER NOT NULL,"
            " planned_us INTEGER NOT NULL, other_us INTEGER NOT NULL, sections INTEGER NOT NULL,"
            " done INTEGER NOT NULL, left_out INTEGER NOT NULL) STRICT, WITHOUT ROWID",
            "CREATE INDEX job_line_opened ON job_line (opened_us DESC, number DESC)",
            "CREATE INDEX job_line_plan ON job_line (plan, opened_us DESC)",
        ),
    }

    def part(self, seen: Subject) -> JobLine:
        return job_line(seen.job, seen.shifts.values())

    def lines(self, id_: str, part: JobLine) -> list[TableLine]:
        return [("job_line", (id_, *msgspec.structs.astuple(part)))]

    def newest_first(self, library: Library) -> tuple[tuple[str, JobLine], ...]:
        """Every job that is read already, with its id."""
        return library.once(self, "newest first", lambda: self._newest_first(library))

    def _newest_first(self, library: Library) -> tuple[tuple[str, JobLine], ...]:
        found = [
            (id_, JobLine(*values))
            for id_, *values in library.rows(
                "SELECT * FROM job_line WHERE id NOT IN (SELECT id FROM left_out WHERE of = ?)",
                self.of,
            )
        ]
        found += library.parts(self)
        found.sort(key=lambda one: (one[1].opened_us, one[1].number), reverse=True)
        return tuple(found)


JOBS = JobLines()
