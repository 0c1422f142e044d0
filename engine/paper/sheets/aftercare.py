"""Recoat, cure and aftercare on a page.

An end is never told too early, nor a beginning: instants are raised to the next whole minute.
Only the end of a recoat window is cut, because after it is too late.
"""

from __future__ import annotations

from collections.abc import Iterable

from engine.job.aftercare import Care, Cure, Recoat
from engine.job.cure import degrees_text
from engine.job.dates import Due, local, spoken, spoken_day
from engine.job.record import Record
from engine.paper.page.text import Page
from engine.paper.said import up_to_minute

EXAMPLE = "example, replace from the pack"


def put_films(page: Page, record: Record) -> None:
    """What the film still needs: recoat windows that run, and the cures."""
    if not record.recoats and not record.cures:
        return
    page.chapter("Recoat and cure")
    for recoat in record.recoats:
        _put_recoat(page, recoat, record.zone)
    for cure in record.cures:
        _put_cure(page, cure, record.zone)


def _flag(example: bool) -> str:
    return f" ({EXAMPLE})" if example else ""


def _put_recoat(page: Page, recoat: Recoat, zone: str) -> None:
    page.line(f"{recoat.stage}, layer {recoat.layer}{_flag(recoat.example)}", 2, 2)
    page.line(f"on {', '.join(recoat.sections)}", 4, 2)
    page.line(f"not before {spoken(up_to_minute(recoat.opens_us), zone)}", 4, 2)
    page.line(f"not after  {spoken(recoat.closes_us, zone)}", 4, 2)
    if recoat.closes_us <= recoat.opens_us:
        page.line("The first section closes before the last one opens: go section by section.", 4)


def _put_cure(page: Page, cure: Cure, zone: str) -> None:
    page.line(f"{cure.stage}{_flag(cure.example)}", 2, 2)
    if cure.anchor_us is None or cure.until_us is None or cure.not_before_us is None:
        page.line(f"cured: {cure.why}", 4, 2)
        return
    page.line(f"cured not before {spoken(up_to_minute(cure.not_before_us), zone)}", 4, 2)
    page.line(f"last touch {spoken(cure.anchor_us, zone)}, {cure.section}", 4, 2)
    if cure.below_c is None or cure.cold_until_us is None:
        return
    if cure.reading is None:
        page.line(
            f"No reading of air or panel stood during it, so this is the time for under "
            f"{cure.below_c:g} C; at {cure.below_c:g} C and over it would be "
            f"{spoken(up_to_minute(cure.until_us), zone)}.",
            4,
        )
        return
    when = spoken(cure.reading.at_us, zone)
    if cure.stretched:
        cold = degrees_text(cure.reading, cure.below_c)
        said = f"longer by the reading of {when}, {cold}: under {cure.below_c:g} C"
    else:
        colder = spoken(up_to_minute(cure.cold_until_us), zone)
        said = (
            f"no reading under {cure.below_c:g} C stood during it, the newest "
            f"{degrees_text(cure.reading)} at {when}; if it gets colder, {colder}"
        )
    page.line(said, 4, 2)


def put_aftercare(page: Page, cares: Iterable[Care], zone: str) -> None:
    """Every aftercare with its dates, what they are counted from and where they come from."""
    cares = tuple(cares)
    if not cares:
        return
    page.chapter("Aftercare")
    for index, care in enumerate(cares):
        if index:
            page.line()
        page.line(care.say, 2, 2)
        if care.state == "dated":
            for due in care.dues:
                page.columns(_due(due, zone), (-12, -64), 4)
                if due.moved_from:
                    moved = f"moved from {spoken_day(due.moved_from)}, {due.why}"
                    page.columns(("", moved), (-12, -64), 4)
            if care.no_day:
                page.line(care.no_day, 4, 2)
            if care.dues:
                page.line(_counted(care, zone), 4, 2)
        else:
            said = "no date" if care.state == "not yet" else "drops out"
            page.line(f"{said}: {care.why}", 4, 2)
        for wet in care.wet:
            page.line(wet, 4, 2)
        if care.if_not:
            page.line(care.if_not, 4, 2)
        page.line(f"Source: {EXAMPLE if care.example else care.source}", 4, 2)


def _due(due: Due, zone: str) -> tuple[str, str]:
    when = spoken_day(due.day) if due.at_us is None else spoken(up_to_minute(due.at_us), zone)
    if due.kind == "every":
        return (f"{due.nth} of {due.of}" if due.of > 1 else "on", when)
    return (due.kind, when)


def _counted(care: Care, zone: str) -> str:
    lengths = dict.fromkeys(
        f"every {due.duration}" if due.kind == "every" else due.duration for due in care.dues
    )
    if care.anchor_us is None:
        return " and ".join(lengths)
    when = spoken(care.anchor_us, zone)
    start = (
        f"the last touch of {care.after}, {care.anchor_section}, {when}"
        if care.after
        else f"the close of the job, {when}"
    )
    without = f"; nothing was put on {', '.join(care.without)}" if care.without else ""
    visit = ""
    if care.visit:
        closed = "" if care.days_known else ", or on its next open day if it is closed"
        visit = f"; at the shop{closed}"
    changed = any(
        due.at_us is not None
        and local(due.at_us, zone).utcoffset() != local(care.anchor_us, zone).utcoffset()
        for due in care.dues
    )
    clocks = "; the clocks change in between" if changed else ""
    return f"{' and '.join(lengths)} from {start}{clocks}{without}{visit}"
