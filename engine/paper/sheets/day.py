"""A calendar date: its shifts, its jobs, where the time went."""

from __future__ import annotations

from cartclock.engine.dates import spoken, spoken_day
from cartclock.engine.facts.layers import layer_text
from cartclock.engine.facts.words import reading_text
from cartclock.engine.hours.account import Share
from cartclock.engine.hours.partition import Piece
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.drawing import HeatCourse, ShiftCourse, WindowCourse
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.table import Column, TableRow
from cartclock.engine.paper.said import both_or_all, hour
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.sheets.dated import ENTRIES, dated_entries
from cartclock.engine.paper.sheets.exposure import put_exposures
from cartclock.engine.paper.sheets.next_day import put_next_day
from cartclock.engine.paper.sheets.time_sheet import (
    HOUR_COLUMNS,
    by_job,
    put_account,
    put_hours,
    put_law,
    put_questions,
)
from cartclock.engine.record.day import Day, DayJob

_JOBS = (Column("", 11), Column())


def put_day(medium: Medium, facts: PaperFacts) -> None:
    """All chapters of the day."""
    day = facts.of_day
    medium.head(SheetHead(spoken_day(day.date), day.now_us, day.zone, facts.shop))
    medium.facts([("Zone", day.zone), ("Made", spoken(day.now_us, day.zone))])
    _put_jobs(medium, day)
    _put_shifts(medium, day, facts.round_minutes)
    put_questions(medium, [part.account for part in day.shifts], day.zone)
    medium.drawing(HeatCourse(tuple((p.course, p.exposure) for p in day.shifts), day.zone))
    put_exposures(medium, [part.exposure for part in day.shifts], day.zone)
    _put_windows(medium, day)
    _put_facts(medium, day)
    put_next_day(medium, day)


DAY = Sheet("Day", put_day)


def _put_jobs(medium: Medium, day: Day) -> None:
    medium.heading("Jobs")
    if not day.jobs:
        medium.words("None.", 1)
    rows: list[TableRow] = []
    for job in day.jobs:
        rows.append(TableRow((f"job {job.number}", f"{job.vehicle}, {job.plan}"), 1))
        rows.append(TableRow(("", _came_and_went(job, day.zone)), 1))
        for done in job.done:
            layer = layer_text(done.layer, done.layers)
            what = f"{done.stage}, {layer}" if layer else done.stage
            ended = f"{what}: {done.sections} of {done.of} sections brought to their end"
            rows.append(TableRow(("", ended), 1))
    medium.table(_JOBS, rows)


def _came_and_went(job: DayJob, zone: str) -> str:
    opened = hour(job.opened_us, zone) if job.opened_here else spoken(job.opened_us, zone)
    if job.closed_us is None:
        return f"opened {opened}, not closed yet"
    closed = hour(job.closed_us, zone) if job.closed_here else spoken(job.closed_us, zone)
    return f"opened {opened}, closed {closed}"


def _put_shifts(medium: Medium, day: Day, round_minutes: int) -> None:
    vehicles = {job.job: job.vehicle for job in day.jobs}

    def name(share: Share) -> str:
        vehicle = vehicles.get(share.job, "")
        return f"Job {share.number}, {vehicle}" if vehicle else f"Job {share.number}"

    numbers = {share.job: share.number for share in day.shares if share.job}

    def row_name(piece: Piece) -> str:
        several = f"Job {numbers.get(piece.job, 0)}, " if len(numbers) > 1 else ""
        return f"{several}{piece.stage}"

    accounts = tuple(part.account for part in day.shifts)
    medium.drawing(ShiftCourse(accounts, day.zone, row_name))
    medium.heading("Hours", columns=HOUR_COLUMNS)
    if not day.shifts:
        medium.words("No shift began on this date.", 1)
    for index, part in enumerate(day.shifts):
        if index:
            medium.gap()
        nodes = by_job(part.account.shares, name)
        put_account(medium, part.account, nodes, day.zone, round_minutes)
        if part.past_midnight:
            medium.gap()
            medium.words(
                "This shift runs past midnight; all of it belongs to the date on which it began."
            )
    if len(day.shifts) > 1:
        medium.gap()
        medium.words(both_or_all(len(day.shifts)))
        medium.gap()
        put_hours(medium, "On the clock", by_job(day.shares, name))
    put_law(medium, [part.account.rule_set for part in day.shifts])


def _put_windows(medium: Medium, day: Day) -> None:
    several = len(day.jobs) > 1
    groups = tuple((f"Job {job.number}, " if several else "", job.windows) for job in day.jobs)
    medium.drawing(WindowCourse("Windows asked and taken", groups))


def _put_facts(medium: Medium, day: Day) -> None:
    noted = [(one.at_us, f"reading: {reading_text(one.reading)}") for one in day.readings]
    noted += [(fact.at_us, fact.text) for part in day.shifts for fact in part.facts]
    if not noted:
        return
    medium.heading("Readings and what else was noted")
    medium.table(ENTRIES, dated_entries(sorted(noted), day.zone))
