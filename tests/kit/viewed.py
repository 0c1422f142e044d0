"""What a library answers, and the same made anew of all rows of the log.

`anew` and `answered_anew` share nothing with the library but the parts of the views and the
functions they rest on.
"""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import with_all_readings
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.view import Subject, View
from cartclock.engine.films.flashing import learned, watched_flashes
from cartclock.engine.history.answers import PastJob, Sought, past_stages
from cartclock.engine.history.job_lines import lines_of_job
from cartclock.engine.history.shift_lines import lines_of_shift
from cartclock.engine.hours.interruptions import Interrupted, interruptions
from cartclock.engine.hours.lessons import JobLessons, lessons, usual
from cartclock.engine.press import Press
from cartclock.engine.products.consumption import uses
from cartclock.engine.products.reminders import used_products
from cartclock.engine.products.stock import pack_log, stock
from cartclock.engine.store.library import Library
from cartclock.engine.store.log import Log
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.views.films import FILMS
from cartclock.engine.store.views.lessons import LESSONS
from cartclock.engine.store.views.products import PRODUCTS
from cartclock.engine.store.views.stocked import STOCKED
from cartclock.engine.times import Length
from tests.kit.day import WORKERS, Told, told

Tables = dict[str, list[tuple[Any, ...]]]


def kept(library: Library) -> Tables:
    """Every line as the library answers: the file without what is left out, and what goes over."""
    found: Tables = {}
    for view in VIEWS:
        for table in view.tables:
            found[table] = library.rows(
                f"SELECT * FROM {table} WHERE id NOT IN (SELECT id FROM left_out WHERE of = ?)",
                view.of,
            )
        for id_, part in library.parts(view):
            for table, values in view.lines(id_, part):
                found[table].append(tuple(values))
    return {table: sorted(lines, key=repr) for table, lines in found.items()}


def anew(rows: list[Row], log: Log, tell: Told | None = None) -> Tables:
    """The same by folding the whole log; `tell`: what the rows tell, if it is known."""
    jobs, shifts, _odd = tell or told(rows)
    found: Tables = {table: [] for view in VIEWS for table in view.tables}
    products = {
        row.event.product for row in rows if isinstance(row.event, ev.PackOpened | ev.PackWeighed)
    }
    for view in VIEWS:
        for id_ in {"job": jobs, "shift": shifts, "product": products}[view.of]:
            for table, values in view.lines(
                id_,
                view.part(replace(_subject(view, id_, jobs, shifts, rows), text=log.private_text)),
            ):
                found[table].append(tuple(values))
    return {table: sorted(lines, key=repr) for table, lines in found.items()}


def _subject(
    view: View[Any], id_: str, jobs: dict[str, Job], shifts: dict[str, Shift], rows: list[Row]
) -> Subject:
    if view.of == "product":
        own = _of_packs(id_, rows)
        return Subject(id_, packs=[row for row in rows if own & {row.press, row.corrects}])
    known = with_all_readings(shifts)
    if view.of == "job":
        return Subject(id_, {id_: jobs[id_]}, {one: known[one] for one in jobs[id_].shifts})
    return Subject(id_, {one: jobs[one] for one in shifts[id_].jobs}, {id_: known[id_]})


def _of_packs(product: str, rows: list[Row]) -> set[Press | None]:
    """The presses of a product's packs, and those of their corrections."""
    found: set[Press | None] = set()
    for row in rows:
        match row.event:
            case ev.PackOpened(named) | ev.PackWeighed(named):
                meant = named == product
            case _:
                meant = row.corrects in found
        if meant:
            found.add(row.press)
    return found


def make_all(library: Library) -> None:
    """Makes every part that is still to be made, in slices of one part."""
    before = library.left()
    while before:
        left = library.slice(0)
        assert left < before, f"{left} of {before} parts are still to be made after one more slice"
        before = left


def answers_are_right(
    library: Library, log: Log, rows: list[Row], tell: Told | None = None
) -> None:
    """Everything that is asked of a library with nothing left to be made, against its whole log.

    The newest jobs that usual times and films are taken of are all jobs of the log here.

    rows: every row of the log. tell: what they tell, if it is known.
    """
    jobs, shifts, _odd = tell or told(rows)
    measured = with_all_readings(shifts)

    def worked(job: Job) -> list[Shift]:
        return [shifts[shift] for shift in job.shifts]

    assert PRODUCTS.known(library) == used_products(believed_rows(rows), jobs)
    assert STOCKED.stock(library).items == stock(rows).items
    shop, packs = Shop(log, library=library), pack_log(believed_rows(rows))
    for job in jobs.values():
        assert uses(job, shop.packs(job)) == uses(job, packs)
    lines = [(one.job, one.line) for one in shop.past.jobs()]
    assert shop.past.count() == len(lines)
    plans = {(line.plan, line.shape) for _job, line in lines}
    assert shop.past.plans() == tuple(sorted(plans))
    assert dict(lines) == {job.id: lines_of_job(job, worked(job)).job for job in jobs.values()}
    past_is_right(shop, jobs, measured)
    assert [line.opened_us for _job, line in lines] == sorted(
        (job.opened_us for job in jobs.values()), reverse=True
    )
    for worker in WORKERS:
        taught = {
            job.id: [one for one in lessons(job, worked(job)) if one.worker == worker]
            for job in jobs.values()
        }
        done = [one for found in taught.values() for one in found]
        for step in {one.step for one in done}:
            assert LESSONS.usual(library, worker, step) == usual(
                one for one in done if one.step == step
            )
        for besides in ("", *sorted(jobs)[:1]):
            expected = [
                JobLessons(
                    job.id,
                    job.opened.plan.name,
                    job.opened.plan.shape,
                    max(one.last_us for one in taught[job.id]),
                    tuple(taught[job.id]),
                )
                for job in jobs.values()
                if taught[job.id] and job.id != besides
            ]
            expected.sort(key=lambda one: (one.last_us, one.job), reverse=True)
            assert list(shop.lessons(worker, "film", besides)) == expected
            told_of = [
                found
                for job in jobs.values()
                if job.id != besides
                for found in [interruptions(job, worked(job))]
                if worker in found.hands_us
            ]
            kinds = [one for of in told_of for one in of.kinds if one.worker == worker]
            assert shop.interrupted(worker, besides) == Interrupted(
                len(told_of),
                Length(sum(of.hands_us[worker] for of in told_of)),
                Length(sum(one.length_us for one in kinds)),
                pytest.approx(sum(one.squares_min2 for one in kinds)),
            )
        films = [
            one
            for job in jobs.values()
            for one in watched_flashes(job, [measured[shift] for shift in job.shifts])
            if one.worker == worker
        ]
        assert dict(FILMS.own(library, worker)) == learned(films)


def past_is_right(shop: Shop, jobs: dict[str, Job], shifts: dict[str, Shift]) -> None:
    """How it went before, added up over all jobs and shifts.

    shifts: with what others measured.
    """
    past = shop.past
    lines = {
        job: lines_of_job(told, [shifts[one] for one in told.shifts]) for job, told in jobs.items()
    }
    served = [one for shift in shifts.values() for one in lines_of_shift(shift, jobs).served]
    newest = sorted(
        jobs, key=lambda job: (lines[job].job.opened_us, lines[job].job.number), reverse=True
    )

    def length_us(job: str, kind: str, stage: str | None = None) -> Length:
        return Length(
            sum(
                one.length_us
                for one in served
                if (one.job, one.kind) == (job, kind) and stage in (None, one.stage)
            )
        )

    every = [
        PastJob(job, lines[job].job, length_us(job, "standing by"), length_us(job, "other"))
        for job in newest
    ]
    assert list(past.jobs()) == every
    assert list(past.jobs(most=1)) == every[:1]
    for worker in WORKERS:
        had = [
            one
            for one in every
            if worker
            in interruptions(jobs[one.job], [shifts[s] for s in jobs[one.job].shifts]).hands_us
        ]
        assert list(past.jobs(Sought(worker=worker))) == had
        weeks = [lines_of_shift(one, jobs).shift for one in shifts.values() if one.worker == worker]
        found = past.heat(worker, "0001-01-01", "9999-12-31")
        assert [one.week for one in found] == sorted({one.week for one in weeks})
        assert sum(one.over_us for one in found) == sum(one.over_us for one in weeks)
        assert sum(one.drinks_ml for one in found) == sum(one.drinks_ml for one in weeks)
        assert sum(one.clock_us for one in found) == sum(o.clock_us for o in weeks)
    for state in ("open", "closed"):
        of_state = [one for one in every if one.line.state == state]
        assert list(past.jobs(Sought(state=state))) == of_state
        closed = [one.job for one in of_state if state == "closed"]
        for plan in {lines[job].job.plan for job in closed}:
            same = [job for job in closed if lines[job].job.plan == plan]
            stood = {
                (job, one.stage): length_us(job, "standing by", one.stage)
                for job in same
                for one in lines[job].stages
            }
            expected = past_stages({job: lines[job].stages for job in same}, stood)
            assert past.stages(plan) == expected
    used: dict[tuple[str, str], float] = {}
    for line in lines.values():
        for use in line.uses:
            key = (use.month, use.product)
            used[key] = used.get(key, 0.0) + use.applied
    months: dict[tuple[str, str], float] = {}
    for month in past.products("0001-01", "9999-12"):
        key = (month.month, month.product)
        months[key] = months.get(key, 0.0) + month.applied
    assert months == pytest.approx(used)
