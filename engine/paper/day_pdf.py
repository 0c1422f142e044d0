"""The summary of a day as PDF."""

from __future__ import annotations

from engine.job.dates import spoken_day
from engine.job.day import Day
from engine.paper.page.pdf.frame import Paper
from engine.paper.page.pdf.letters import Search, fonts_of_this_computer
from engine.paper.page.pdf.page import Print
from engine.paper.page.pdf.shift_chart import job_stage_names, put_bars, put_heat
from engine.paper.page.pdf.window_chart import put_window_bars, put_window_key
from engine.paper.sheets.day import put_day
from engine.paper.shop_head import NO_SHOP, ShopHead


def day_pdf(
    day: Day,
    head: ShopHead = NO_SHOP,
    paper: Paper = "A4",
    round_minutes: int = 0,
    search: Search | None = fonts_of_this_computer,
    compressed: bool = True,
) -> bytes:
    """The day with the course of its shifts drawn; the same day gives the same bytes.

    round_minutes: as in `engine.paper.sheets.day.day_text`. search, compressed: as in
    `engine.paper.record_pdf.record_pdf`.
    """
    page = Print(f"Day, {spoken_day(day.date)}", head, paper, day.now_us, day.zone, search)
    page.before("Hours", lambda: _put_shifts(page, day))
    page.before("Heat, vibration and noise", lambda: _put_heats(page, day))
    page.before("Readings and what else was noted", lambda: _put_windows(page, day))
    put_day(page, day, round_minutes)
    return page.finished(compressed)


def _put_shifts(page: Print, day: Day) -> None:
    if not day.shifts:
        return
    page.chapter("The shifts over the clock" if len(day.shifts) > 1 else "The shift over the clock")
    names = job_stage_names({share.job: share.number for share in day.shares if share.job})
    for index, part in enumerate(day.shifts):
        if index:
            page.line()
        put_bars(page, part.account, day.zone, names)


def _put_heats(page: Print, day: Day) -> None:
    courses = [part.course for part in day.shifts]
    if not any(course.air_c or course.panel_c or course.wbgt_c for course in courses):
        return
    page.chapter("Heat over the clock", ("screening estimate",))
    for index, part in enumerate(day.shifts):
        if index:
            page.line()
        put_heat(page, part.course, part.exposure, day.zone)


def _put_windows(page: Print, day: Day) -> None:
    windows = [window for job in day.jobs for window in job.windows]
    if not windows:
        return
    page.chapter("Windows asked and taken", ("after the last touch",))
    put_window_key(page, windows)
    for job in day.jobs:
        over = f"Job {job.number}, " if len(day.jobs) > 1 else ""
        put_window_bars(page, job.windows, over)
