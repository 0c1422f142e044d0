"""A calendar date as plain text: its shifts, its jobs, where the time went."""

from __future__ import annotations

from engine.job.account import Share
from engine.job.dates import spoken, spoken_day
from engine.job.day import Day, DayJob
from engine.job.words import reading_text
from engine.paper.page.text import Calendar, Page
from engine.paper.said import hour
from engine.paper.sheets.exposure import put_exposures
from engine.paper.sheets.time_sheet import (
    COLUMNS,
    HEADS,
    by_job,
    put_account,
    put_hours,
    put_law,
    put_questions,
)


def day_text(day: Day, round_minutes: int = 0) -> str:
    """The day in lines of at most 80 cells, ended by a line feed.

    round_minutes: as in `engine.paper.sheets.record.record_text`.
    """
    page = Page()
    put_day(page, day, round_minutes)
    return str(page)


def put_day(page: Page, day: Day, round_minutes: int = 0) -> None:
    """All chapters of the day; round_minutes as in `day_text`."""
    page.title("DAY", spoken_day(day.date))
    page.line()
    page.field("Zone", day.zone)
    page.field("Made", spoken(day.now_us, day.zone))
    _put_jobs(page, day)
    _put_shifts(page, day, round_minutes)
    put_questions(page, [part.account for part in day.shifts], day.zone)
    put_exposures(page, [part.exposure for part in day.shifts], day.zone)
    _put_facts(page, day)


def _put_jobs(page: Page, day: Day) -> None:
    page.chapter("Jobs")
    if not day.jobs:
        page.line("None.", 2)
    for job in day.jobs:
        page.columns((f"job {job.number}", f"{job.vehicle}, {job.plan}"), (-10, -68), 2)
        page.columns(("", _came_and_went(job, day.zone)), (-10, -68), 2)
        for done in job.done:
            ended = f"{done.stage}: {done.sections} of {done.of} sections brought to their end"
            page.columns(("", ended), (-10, -68), 2)


def _came_and_went(job: DayJob, zone: str) -> str:
    opened = hour(job.opened_us, zone) if job.opened_here else spoken(job.opened_us, zone)
    if job.closed_us is None:
        return f"opened {opened}, not closed yet"
    closed = hour(job.closed_us, zone) if job.closed_here else spoken(job.closed_us, zone)
    return f"opened {opened}, closed {closed}"


def _put_shifts(page: Page, day: Day, round_minutes: int) -> None:
    vehicles = {job.job: job.vehicle for job in day.jobs}

    def name(share: Share) -> str:
        vehicle = vehicles.get(share.job, "")
        return f"Job {share.number}, {vehicle}" if vehicle else f"Job {share.number}"

    page.chapter("Hours", HEADS, COLUMNS)
    if not day.shifts:
        page.line("No shift began on this date.", 2)
    for index, part in enumerate(day.shifts):
        if index:
            page.line()
        nodes = by_job(part.account.shares, name)
        put_account(page, part.account, nodes, day.zone, round_minutes)
        if part.past_midnight:
            page.line()
            page.line(
                "This shift runs past midnight; all of it belongs to the date on which it began."
            )
    if len(day.shifts) > 1:
        page.line()
        page.line(f"All {len(day.shifts)} shifts together")
        page.line()
        put_hours(page, "On the clock", by_job(day.shares, name))
    put_law(page, [part.account.rule_set for part in day.shifts])


def _put_facts(page: Page, day: Day) -> None:
    entries = [(one.at_us, f"reading: {reading_text(one.reading)}") for one in day.readings]
    entries += [(fact.at_us, fact.text) for part in day.shifts for fact in part.facts]
    if not entries:
        return
    page.chapter("Readings and what else was noted")
    calendar = Calendar(page, day.zone)
    for at_us, text in sorted(entries):
        calendar.turn(at_us)
        page.columns((hour(at_us, day.zone), text), (-12, -64), 4)
