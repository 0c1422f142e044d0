"""What each finished piece of work took the hands that did it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.hours.usual import StepKey, Timed, Usual, timed, usuals
from cartclock.engine.store.codec import json_list
from cartclock.engine.store.library import Library
from cartclock.engine.store.views.newest import did_it_last
from cartclock.engine.times import Instant

# Work of older jobs says nothing of today's. Our own judgement.
MOST_TIMED_JOBS = 20


class TimedJob(Struct, frozen=True):
    """The measured work of a job, and when work was last finished on it (None: never)."""

    last_us: Instant | None
    pieces: tuple[Timed, ...]


class TimedWork(View[TimedJob]):
    """Measured work by worker and step."""

    name, version, of = "timed", 1, "job"
    kinds = ev.taken_by("timed")
    tables: ClassVar = {
        "finished": (
            "CREATE TABLE finished (id TEXT PRIMARY KEY, last_us INTEGER NOT NULL)"
            " STRICT, WITHOUT ROWID",
            "CREATE INDEX finished_last ON finished (last_us DESC, id DESC)",
        ),
        "timed": (
            "CREATE TABLE timed (id TEXT NOT NULL, worker TEXT NOT NULL, stage TEXT NOT NULL,"
            " verb TEXT NOT NULL, nth INTEGER NOT NULL, at_us INTEGER NOT NULL,"
            " seconds REAL NOT NULL) STRICT",
            "CREATE INDEX timed_step ON timed (id, worker, stage, verb, nth, at_us, seconds)",
        ),
    }

    def part(self, seen: Subject) -> TimedJob:
        return TimedJob(_last_us(seen.job), tuple(timed(seen.job, seen.shifts.values())))

    def take(self, part: TimedJob, rows: Sequence[Row], seen: Subject) -> TimedJob | None:
        done = [row for row in rows if isinstance(row.event, ev.StepFinished)]
        more = timed(seen.job, seen.shifts.values(), done[0].press) if done else ()
        return TimedJob(_last_us(seen.job), (*part.pieces, *more))

    def lines(self, id_: str, part: TimedJob) -> list[TableLine]:
        found: list[TableLine] = [
            ("timed", (id_, one.worker, *one.step, one.at_us, one.seconds)) for one in part.pieces
        ]
        if part.last_us is not None:
            found.append(("finished", (id_, part.last_us)))
        return found

    def usual(self, library: Library, worker: str, step: StepKey) -> Usual | None:
        """What a step usually takes a worker, by the newest jobs; None for too little measured."""
        return library.once(self, (worker, step), lambda: self._usual(library, worker, step))

    def _usual(self, library: Library, worker: str, step: StepKey) -> Usual | None:
        parts = dict(library.parts(self))
        last = [(job, part.last_us) for job, part in parts.items()]
        jobs = did_it_last(library, "finished", last, MOST_TIMED_JOBS)
        found = [
            Timed(worker, step, at_us, seconds)
            for at_us, seconds in library.rows(
                "SELECT at_us, seconds FROM timed"
                " WHERE id IN (SELECT value FROM json_each(?))"
                " AND worker = ? AND stage = ? AND verb = ? AND nth = ?",
                json_list(jobs - parts.keys()),
                worker,
                *step,
            )
        ]
        for job in jobs & parts.keys():
            found += [one for one in parts[job].pieces if (one.worker, one.step) == (worker, step)]
        return usuals(found).get(step)


def _last_us(job: Job) -> Instant | None:
    return max((stint.last_us for stint in job.stints), default=None)


TIMED = TimedWork()
