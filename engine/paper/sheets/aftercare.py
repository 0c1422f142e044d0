"""Recoat, cure and aftercare on a page.

An end is never told too early, nor a beginning: instants are raised to the next whole minute.
Only the end of a recoat window is cut, because after it is too late.
"""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.after.aftercare import Care, CureEnd, Recoat
from cartclock.engine.after.dates import MAY, ToldDate
from cartclock.engine.after.dues import Due
from cartclock.engine.dates import local, spoken, spoken_day, up_to_minute
from cartclock.engine.figures.air import TemperatureUnit, full_degrees
from cartclock.engine.paper.degrees import air_and_panel
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.table import Column, TableRow
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.sheets.revision import put_revision
from cartclock.engine.record.customer import due_text
from cartclock.engine.record.record import Record

_DATES = (Column("", 20), Column())
_DUES = (Column("", 15), Column())
EXAMPLE_TEXT = "example, replace from the pack"


def put_aftercare_sheet(medium: Medium, facts: PaperFacts) -> None:
    """The dates of the aftercare on a paper of their own."""
    record = facts.of_job
    medium.head(SheetHead(f"job {record.number}", record.now_us, record.zone, facts.shop))
    medium.lead(record.vehicle)
    if not record.cures and not record.recoats and not record.cares:
        medium.words("The plan of this job names no aftercare and no cure.")
    put_dates(medium, record, facts.unit)
    put_films(medium, record, facts.unit)
    put_aftercare(medium, record.cares, record.zone)
    put_revision(medium, facts.out, record.zone, False)


AFTERCARE = Sheet("Aftercare", put_aftercare_sheet)


def put_dates(medium: Medium, record: Record, unit: TemperatureUnit) -> None:
    """From when on it may be handed over, touched, get wet; or nothing if the plan names none.

    unit: of temperatures.
    """
    if not record.dates:
        return
    medium.heading("Dates")
    rows = [
        TableRow((MAY[one.about], date_text(one, record.zone, unit)), 1) for one in record.dates
    ]
    medium.table(_DATES, rows)


def date_text(one: ToldDate, zone: str, unit: TemperatureUnit) -> str:
    """From when on, why, and in which climate otherwise, a line each: "not before Thu 16 Jul 2026
    09:17", "Coat, roof", "if it gets colder than 15 C till then, Thu 16 Jul 2026 21:17"."""
    if one.at_us is None:
        return f"known when {one.stage} is finished{_flag(one.example)}"
    why = f"{one.line or one.then or one.why}{_flag(one.example)}"
    when = f"not before {spoken(up_to_minute(one.at_us), zone)}"
    return "\n".join(said for said in (when, why, otherwise_text(one, zone, unit)) if said)


def otherwise_text(one: ToldDate, zone: str, unit: TemperatureUnit) -> str:
    """When it would be in another climate than the one it is told for; "" if that makes no
    difference. unit: of temperatures."""
    if one.below_c is None:
        return ""
    degrees = full_degrees(one.below_c, unit)
    if one.mild_us is not None:
        mild = spoken(up_to_minute(one.mild_us), zone)
        return f"told for the cold; at {degrees} and more already {mild}"
    if one.cold_us is not None:
        cold = spoken(up_to_minute(one.cold_us), zone)
        return f"if it gets colder than {degrees} till then, {cold}"
    return ""


def put_films(medium: Medium, record: Record, unit: TemperatureUnit) -> None:
    """What the film still needs: recoat windows that run, and the cures."""
    if not record.recoats and not record.cures:
        return
    medium.heading("Recoat and cure")
    for recoat in record.recoats:
        _put_recoat(medium, recoat, record.zone)
    for cure in record.cures:
        _put_cure(medium, cure, record, unit)


def _flag(example: bool) -> str:
    return f" ({EXAMPLE_TEXT})" if example else ""


def _put_recoat(medium: Medium, recoat: Recoat, zone: str) -> None:
    medium.words(f"{recoat.stage}, layer {recoat.layer}{_flag(recoat.example)}", 1, True)
    medium.words(f"on {', '.join(recoat.sections)}", 2, True)
    medium.words(f"not before {spoken(up_to_minute(recoat.opens_us), zone)}", 2, True)
    medium.words(f"not after  {spoken(recoat.closes_us, zone)}", 2, True)
    if recoat.closes_us <= recoat.opens_us:
        medium.words(
            "The first section closes before the last one opens: go section by section.", 2
        )


def _put_cure(medium: Medium, cure: CureEnd, record: Record, unit: TemperatureUnit) -> None:
    zone = record.zone
    medium.words(f"{cure.stage}{_flag(cure.example)}", 1, True)
    if cure.anchor_us is None or cure.until_us is None or cure.not_before_us is None:
        medium.words(f"cured: {cure.why}", 2, True)
        return
    medium.words(f"cured not before {spoken(up_to_minute(cure.not_before_us), zone)}", 2, True)
    medium.words(f"last touch {spoken(cure.anchor_us, zone)}, {cure.section}", 2, True)
    said = cure_climate(cure, record, unit)
    if said:
        medium.words(said, 2, True)


def cure_climate(cure: CureEnd, record: Record, unit: TemperatureUnit) -> str:
    """By which reading a cure takes as long as it does, and what would make it another while it
    goes on; "" where no cold lengthens it, or it has no end yet."""
    zone = record.zone
    if cure.below_c is None or cure.until_us is None or cure.cold_until_us is None:
        return ""
    cold = full_degrees(cure.below_c, unit)
    if cure.reading is None:
        warm = spoken(up_to_minute(cure.until_us), zone)
        return (
            f"No reading of air or panel stood during it, so this is the time for under "
            f"{cold}; at {cold} and over it would be {warm}."
        )
    read = spoken(cure.reading.at_us, zone)
    if cure.stretched:
        measured = air_and_panel(cure.reading, unit, cure.below_c)
        return f"longer by the reading of {read}, {measured}: under {cold}"
    said = (
        f"no reading under {cold} stood during it, the newest "
        f"{air_and_panel(cure.reading, unit)} at {read}"
    )
    leaves_us = record.now_us if record.closed_us is None else record.closed_us
    if leaves_us >= cure.until_us:
        # Cured here: what comes now makes it no longer.
        return said
    return f"{said}; if it gets colder, {spoken(up_to_minute(cure.cold_until_us), zone)}"


def put_aftercare(medium: Medium, cares: Iterable[Care], zone: str) -> None:
    """Every aftercare with its dates, what they are counted from and where they come from."""
    cares = tuple(cares)
    if not cares:
        return
    medium.heading("Aftercare")
    for index, care in enumerate(cares):
        if index:
            medium.gap()
        medium.words(care.say, 1, True)
        if care.state == "dated":
            medium.table(_DUES, [row for due in care.dues for row in _due_rows(due, zone)])
            if care.no_day:
                medium.words(care.no_day, 2, True)
            if care.dues:
                medium.words(_counted(care, zone), 2, True)
        else:
            said = "no date" if care.state == "not yet" else "drops out"
            medium.words(f"{said}: {care.why}", 2, True)
        for wet in care.wet:
            medium.words(wet, 2, True)
        if care.if_not:
            medium.words(care.if_not, 2, True)
        medium.words(f"Source: {EXAMPLE_TEXT if care.example else care.source}", 2, True)


def _due_rows(due: Due, zone: str) -> list[TableRow]:
    rows = [TableRow(_due(due, zone), 2)]
    if due.moved_from:
        rows.append(TableRow(("", f"moved from {spoken_day(due.moved_from)}, {due.why}"), 2))
    return rows


def _due(due: Due, zone: str) -> tuple[str, str]:
    when = due_text(due, zone)
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
