"""Jobs of other carts in a log: what says that they are there, and what their rows fold to.

Their rows stand among the log's own under their own origin, and nothing that asks for the log's
own rows sees them. What is told of such a job is told of exactly the rows it came with.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from msgspec import Struct

from cartclock.engine.facts.events import JobImported
from cartclock.engine.facts.in_force import with_all_readings
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.refold import folded
from cartclock.engine.facts.rows import Odd, Row, believed_rows, standing
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.view import Subject
from cartclock.engine.hours.account import served
from cartclock.engine.store.log import JobSummary, Log
from cartclock.engine.times import Instant

# A sealed text by its reference; None if it is not held.
SealedText = Callable[[str], str | None]


class ImportedJob(Struct, frozen=True):
    """What the rows of an imported job fold to.

    Fields:
        rows: as written.
        jobs: the job, and those that were worked in its shifts.
        shifts: those of the job, each with what others measured at its place.
        odd: the rows of the job and of its shifts that are set aside.
    """

    rows: list[Row]
    jobs: dict[str, Job]
    shifts: dict[str, Shift]
    odd: list[Odd]


def imported(log: Log, job: str) -> JobImported | None:
    """What says that the job was imported, the newest that stands; None if nothing does."""
    return _newest(log.import_rows(job)).get(job)


def every_imported(log: Log, beginning: str = "") -> list[JobImported]:
    """What says so of each imported job, by number.

    beginning: only of those whose ids begin so, hex and "-".
    """
    return _by_number(log, _newest(log.import_rows(beginning)).values())


def imported_numbered(log: Log, number: int) -> list[JobImported]:
    """What says so of each imported job that has this number on its own cart.

    number: of 64 bits.
    """
    found = (imported(log, job) for job in log.imports_numbered(number))
    return _by_number(log, (one for one in found if one is not None and one.number == number))


def _by_number(log: Log, imports: Iterable[JobImported]) -> list[JobImported]:
    # One that was taken over since is this cart's own.
    found = (one for one in imports if not log.summaries.is_own(one.job))
    return sorted(found, key=lambda one: (one.number, one.opened_us, one.job))


def _newest(rows: Iterable[Row]) -> dict[str, JobImported]:
    rows = list(rows)
    stands = standing(rows)
    return {
        row.event.job: row.event
        for row in rows
        if isinstance(row.event, JobImported) and stands.get(row.press, True)
    }


def summary_of(one: JobImported) -> JobSummary:
    """An imported job in one line."""
    return JobSummary(one.job, one.number, one.vehicle, one.opened_us, one.closed_us, one.as_of_us)


def subject_of(one: ImportedJob, job: str, origin: str, text: SealedText) -> Subject | None:
    """What the parts of an imported job are made of; None if by its rows it was never opened.

    origin: of the log it came from. text: as of a `Subject`.
    """
    if job not in one.jobs:
        return None
    return Subject(job, one.jobs, one.shifts, text=text, origin=origin)


def fold_imported(job: str, rows: Sequence[Row], as_of_us: Instant) -> ImportedJob:
    """What rows fold to that were imported with a job, as of a moment.

    As for a job of one's own (`engine.desk.shop`) the shifts are those that have a row of it or
    went on while it was open; of others only what they measured comes in.
    """
    found = folded(
        believed_rows(rows), {row.job for row in rows} - {""}, {row.shift for row in rows} - {""}
    )
    # Of other jobs and shifts only some rows may be there: what lies before is not wrong.
    odd = [
        one
        for one in found.odd
        if one.row.job == job or (not one.row.job and one.row.shift in found.shifts)
    ]
    it = found.jobs.get(job)
    if it is None:
        return ImportedJob(list(rows), {}, {}, odd)
    end_us = as_of_us if it.closed_us is None else it.closed_us
    around = {row.shift for row in rows if row.job == job}
    around |= {
        shift.id
        for shift in found.shifts.values()
        if shift.on_us <= end_us and (shift.off_us is None or shift.off_us >= it.opened_us)
    }
    measured = with_all_readings(found.shifts)
    shifts = {id_: measured[id_] for id_ in measured if id_ in around}
    whole = {job, *(one for shift in shifts.values() for one in served(shift, as_of_us))}
    jobs = {id_: one for id_, one in found.jobs.items() if id_ in whole}
    return ImportedJob(list(rows), jobs, shifts, odd)
