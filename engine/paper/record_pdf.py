"""The record of a job as PDF."""

from __future__ import annotations

from collections.abc import Sequence

from engine.job.picture import Picture
from engine.job.record import Record
from engine.job.revision import Revision
from engine.paper.page.pdf.frame import Paper
from engine.paper.page.pdf.letters import Search, fonts_of_this_computer
from engine.paper.page.pdf.page import Print
from engine.paper.page.pdf.picture_pdf import put_pictures
from engine.paper.page.pdf.shift_chart import put_bars, put_heat, stage_names
from engine.paper.page.pdf.window_chart import put_window_bars, put_window_key
from engine.paper.sheets.record import put_record
from engine.paper.sheets.revision import put_revision
from engine.paper.shop_head import NO_SHOP, ShopHead


def record_pdf(
    record: Record,
    head: ShopHead = NO_SHOP,
    paper: Paper = "A4",
    round_minutes: int = 0,
    currency: str = "",
    search: Search | None = fonts_of_this_computer,
    compressed: bool = True,
    pictures: Sequence[Picture] = (),
    revision: Revision | None = None,
) -> bytes:
    """The record with the course of its shifts drawn; the same record gives the same bytes.

    round_minutes, currency: as in `engine.paper.sheets.record.record_text`. search: gives other
    fonts for letters that the program's own lack; None: none. compressed: False leaves the
    streams of the file readable. pictures: what was attached, on pages of their own at the end.
    revision: which one it is; None for a copy that is only looked at.
    """
    page = Print(
        f"Job record, job {record.number}", head, paper, record.now_us, record.zone, search
    )
    page.before("Hours", lambda: _put_shifts(page, record))
    page.before("Heat, vibration and noise", lambda: _put_heats(page, record))
    page.before("Windows asked and taken", lambda: _put_windows(page, record))
    put_record(page, record, round_minutes, currency)
    page.draw_waiting()
    put_revision(page, revision, record.zone, True)
    put_pictures(page, pictures, record.zone)
    return page.finished(compressed)


def _put_shifts(page: Print, record: Record) -> None:
    if not record.accounts:
        return
    several = len(record.accounts) > 1
    page.chapter("The shifts over the clock" if several else "The shift over the clock")
    names = stage_names(record.job, {share.job: share.number for share in record.shares})
    for index, account in enumerate(record.accounts):
        if index:
            page.line()
        put_bars(page, account, record.zone, names)


def _put_heats(page: Print, record: Record) -> None:
    if not any(course.air_c or course.panel_c or course.wbgt_c for course in record.courses):
        return
    page.chapter("Heat over the clock", ("screening estimate",))
    for index, (course, exposure) in enumerate(zip(record.courses, record.exposures, strict=True)):
        if index:
            page.line()
        put_heat(page, course, exposure, record.zone)


def _put_windows(page: Print, record: Record) -> None:
    if not record.windows:
        return
    page.chapter("Windows, drawn", ("after the last touch",))
    put_window_key(page, record.windows)
    put_window_bars(page, record.windows)
