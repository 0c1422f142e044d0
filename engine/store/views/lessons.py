"""What jobs taught: how long each step took each worker."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from heapq import nlargest
from typing import ClassVar

import msgspec
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.hours.lessons import (
    JobLessons,
    Lesson,
    PanelLesson,
    added_up,
    by_panel,
    usual,
)
from cartclock.engine.hours.usual import StepKey, Timed, Usual, timed
from cartclock.engine.store.codec import json_list
from cartclock.engine.store.library import KNOWN_JOBS, Library
from cartclock.engine.times import Instant

# Work of older jobs says nothing of today's. Our own judgement.
MOST_USUAL_JOBS = 20
# So many jobs are enough to know a worker's steps, and older ones say little of today's. Our own
# judgement.
MOST_LESSON_JOBS = 40


class Taught(Struct, frozen=True):
    """The measured work of a job, with the name and the body of its plan."""

    plan: str
    shape: str
    pieces: tuple[Timed, ...]

    def of(self, job: str, worker: str) -> JobLessons | None:
        """What it taught a worker; None if nothing."""
        own = added_up(one for one in self.pieces if one.worker == worker)
        if not own:
            return None
        return JobLessons(job, self.plan, self.shape, max(one.last_us for one in own), own)


class Lessons(View[Taught]):
    """Lessons by worker and step. Of each worker of a job also one line that says when it taught
    last, so that the newest jobs are found without their lessons."""

    name, version, of = "lessons", 3, "job"
    kinds = ev.taken_by("lessons")
    tables: ClassVar = {
        "taught": (
            "CREATE TABLE taught (id TEXT NOT NULL, worker TEXT NOT NULL, plan TEXT NOT NULL,"
            " shape TEXT NOT NULL, last_us INTEGER NOT NULL, PRIMARY KEY (id, worker))"
            " STRICT, WITHOUT ROWID",
            "CREATE INDEX taught_last ON taught (worker, last_us DESC, id DESC, plan, shape)",
            "CREATE INDEX taught_plan ON taught (worker, plan, last_us DESC, id DESC, shape)",
        ),
        "lesson": (
            "CREATE TABLE lesson (id TEXT NOT NULL, worker TEXT NOT NULL, stage TEXT NOT NULL,"
            " verb TEXT NOT NULL, nth INTEGER NOT NULL, planned_s REAL NOT NULL,"
            " n INTEGER NOT NULL, ln_seconds REAL NOT NULL, ln_variance REAL NOT NULL,"
            " seconds REAL NOT NULL, last_us INTEGER NOT NULL,"
            " PRIMARY KEY (id, worker, stage, verb, nth)) STRICT, WITHOUT ROWID",
            "CREATE INDEX lesson_step ON lesson"
            " (worker, stage, verb, nth, last_us DESC, id DESC, planned_s, n, ln_seconds,"
            " ln_variance, seconds)",
        ),
        "panel_lesson": (
            "CREATE TABLE panel_lesson (id TEXT NOT NULL, worker TEXT NOT NULL,"
            " stage TEXT NOT NULL, panel TEXT NOT NULL, n INTEGER NOT NULL,"
            " ln_ratio REAL NOT NULL, PRIMARY KEY (id, worker, stage, panel))"
            " STRICT, WITHOUT ROWID",
        ),
    }

    def part(self, seen: Subject) -> Taught:
        plan = seen.job.opened.plan
        return Taught(plan.name, plan.shape, tuple(timed(seen.job, seen.shifts.values())))

    def take(self, part: Taught, rows: Sequence[Row], seen: Subject) -> Taught | None:
        done = [row for row in rows if isinstance(row.event, ev.StepFinished)]
        more = timed(seen.job, seen.shifts.values(), done[0].press) if done else ()
        return Taught(part.plan, part.shape, (*part.pieces, *more))

    def lines(self, id_: str, part: Taught) -> list[TableLine]:
        found: list[TableLine] = []
        for worker in sorted({one.worker for one in part.pieces}):
            taught = part.of(id_, worker)
            assert taught is not None, "one of the pieces is this worker's"
            said = (id_, worker, taught.plan, taught.shape, taught.last_us)
            found.append(("taught", said))
            found += [
                (
                    "lesson",
                    (
                        *(id_, worker, *one.step, one.planned_s, one.n),
                        *(one.ln_seconds, one.ln_variance, one.seconds, one.last_us),
                    ),
                )
                for one in taught.lessons
            ]
        found += [
            ("panel_lesson", (id_, *msgspec.structs.astuple(one))) for one in by_panel(part.pieces)
        ]
        return found

    # Asking.

    def usual(self, library: Library, worker: str, step: StepKey) -> Usual | None:
        """What a step usually takes a worker, by the jobs in which it was done last; None for too
        little measured."""
        return library.once(self, (worker, step), lambda: self._usual(library, worker, step))

    def _usual(self, library: Library, worker: str, step: StepKey) -> Usual | None:
        found = [
            (id_, Lesson(worker, step, *told))
            for id_, *told in library.rows(_OF_STEP, worker, *step, MOST_USUAL_JOBS)
        ]
        for id_, part in library.parts(self):
            own = (one for one in part.pieces if (one.worker, one.step) == (worker, step))
            found += [(id_, one) for one in added_up(own)]
        newest = nlargest(MOST_USUAL_JOBS, found, key=lambda one: (one[1].last_us, one[0]))
        return usual(lesson for _id, lesson in newest)

    def of_worker(
        self, library: Library, worker: str, plan: str, besides: str = ""
    ) -> tuple[JobLessons, ...]:
        """What the newest jobs taught a worker, the newest first: those of a plan before others.

        besides: id of a job that is left out.
        """
        over = [
            taught
            for id_, part in library.parts(self, besides)
            if (taught := part.of(id_, worker)) is not None
        ]
        found = library.as_written(
            (self.name, worker, plan, besides),
            lambda: self._written(library, worker, plan, besides),
        )
        newest = nlargest(
            MOST_LESSON_JOBS,
            [*over, *found],
            key=lambda one: (one.plan == plan, one.last_us, one.job),
        )
        return tuple(sorted(newest, key=lambda one: (one.last_us, one.job), reverse=True))

    def of_panels(
        self, library: Library, worker: str, jobs: Collection[str]
    ) -> tuple[PanelLesson, ...]:
        """What these jobs taught a worker of panels."""
        asked = ("panels", worker, tuple(sorted(jobs)))
        found = library.as_written(asked, lambda: library.rows(_PANELS, json_list(jobs), worker))
        over = [
            one
            for id_, part in library.parts(self)
            if id_ in jobs
            for one in by_panel(part.pieces)
            if one.worker == worker
        ]
        return (*(PanelLesson(worker, *told) for told in found), *over)

    def _written(
        self, library: Library, worker: str, plan: str, besides: str
    ) -> tuple[JobLessons, ...]:
        """The jobs of the file among which the newest of all are."""
        of_plan = library.rows(_OF_PLAN, worker, plan, besides, MOST_LESSON_JOBS)
        more = library.rows(_OF_ANY, worker, besides, MOST_LESSON_JOBS)
        others = [job for job in more if job[1] != plan][: MOST_LESSON_JOBS - len(of_plan)]
        jobs = {job[0]: job for job in (*of_plan, *others)}
        lessons: dict[str, list[Lesson]] = {id_: [] for id_ in jobs}
        for id_, stage, verb, nth, *told in library.rows(_LESSONS, json_list(jobs), worker):
            lessons[id_].append(Lesson(worker, (stage, verb, nth), *told))
        return tuple(
            JobLessons(id_, named, shape, Instant(last_us), tuple(lessons[id_]))
            for id_, named, shape, last_us in jobs.values()
        )


_NEWEST = "ORDER BY last_us DESC, id DESC LIMIT ?"
_TOLD = "planned_s, n, ln_seconds, ln_variance, seconds, last_us"
_OF_STEP = (
    f"SELECT id, {_TOLD} FROM lesson"
    f" WHERE worker = ? AND stage = ? AND verb = ? AND nth = ? AND {KNOWN_JOBS} {_NEWEST}"
)
_OF_PLAN = (
    "SELECT id, plan, shape, last_us FROM taught"
    f" WHERE worker = ? AND plan = ? AND id <> ? AND {KNOWN_JOBS} {_NEWEST}"
)
_OF_ANY = (
    "SELECT id, plan, shape, last_us FROM taught"
    f" WHERE worker = ? AND id <> ? AND {KNOWN_JOBS} {_NEWEST}"
)
_LESSONS = (
    f"SELECT id, stage, verb, nth, {_TOLD} FROM lesson"
    " WHERE id IN (SELECT value FROM json_each(?)) AND worker = ?"
    " ORDER BY id, stage, verb, nth"
)
_PANELS = (
    "SELECT stage, panel, n, ln_ratio FROM panel_lesson"
    f" WHERE id IN (SELECT value FROM json_each(?)) AND worker = ? AND {KNOWN_JOBS}"
)

LESSONS = Lessons()
