"""The customer's paper: one page that says what to do, and until when."""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.after.aftercare import Care
from cartclock.engine.after.dates import ToldDate, date_of
from cartclock.engine.after.dues import Due
from cartclock.engine.dates import spoken, spoken_day
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.sheets.revision import put_revision
from cartclock.engine.paper.sheets.vehicle import put_paints
from cartclock.engine.paper.shop_head import NO_SHOP, ShopHead
from cartclock.engine.record.customer import (
    CustomerSheet,
    DamagePhotos,
    FilmLaid,
    Statement,
    Visit,
    WorkDone,
    customer_sheet,
    due_text,
    handed_over_text,
    until_text,
)

_WHEN = (Column("", 31), Column())
_WHAT = (Column("", 25), Column())


def put_customer_sheet(medium: Medium, facts: PaperFacts) -> None:
    """The customer's paper of the job as it stands."""
    sheet = customer_sheet(facts.of_job)
    put_customer(medium, sheet, facts.shop)
    put_revision(medium, facts.out, sheet.zone, False)


CUSTOMER = Sheet("For the customer", put_customer_sheet)


def put_customer(medium: Medium, sheet: CustomerSheet, shop: ShopHead = NO_SHOP) -> None:
    """All of the sheet; line one warns if the vehicle leaves before it may get wet."""
    if sheet.warning:
        medium.alert(sheet.warning)
    medium.head(SheetHead(f"job {sheet.number}", sheet.now_us, sheet.zone, shop))
    medium.lead(sheet.vehicle)
    _put_head(medium, sheet)
    _put_cares(medium, sheet)
    _put_visits(medium, sheet.visits, sheet.zone)
    _put_done(medium, sheet.done)
    _put_laid(medium, sheet.laid)
    if sheet.paints:
        medium.heading("Paint readings")
        put_paints(medium, sheet.paints)
    _put_found(medium, sheet)
    put_shop(medium, shop)


def _put_head(medium: Medium, sheet: CustomerSheet) -> None:
    if sheet.customer:
        medium.facts([("Customer", sheet.customer)])
    if sheet.plate:
        medium.facts([("Plate", sheet.plate)])
    medium.facts([("Work", sheet.plan)])
    if sheet.closed_us is None:
        said = "not yet: the work is not closed, and this can still change"
        leave = date_of(sheet.dates, "leave")
        if leave is not None and leave.at_us is not None:
            said += f"\nnot before {until_text(leave, sheet.zone)}, {leave.why}"
        medium.facts([("Handed over", said)])
    else:
        medium.facts([("Handed over", handed_over_text(sheet))])


def _put_cares(medium: Medium, sheet: CustomerSheet) -> None:
    ends = [
        TableRow((_until(one, sheet.zone), said), 1)
        for one in sheet.dates
        if (said := date_words(one))
    ]
    if not sheet.cares and not ends:
        return
    medium.heading("What to do, and until when")
    rows: list[TableRow | Note] = [*ends]
    for care in sheet.cares:
        whens = [when_text(due, sheet.zone) for due in care.dues] or ["date not known yet"]
        rows.append(TableRow(("\n".join(whens), "\n".join(care_words(care))), 1))
    flags = [one.example for one in sheet.dates]
    flags += [one.example for one in sheet.cares] + [one.example for one in sheet.visits]
    if any(flags):
        rows.append(Note(EXAMPLES, 1))
    medium.table(_WHEN, rows)


def _until(date: ToldDate, zone: str) -> str:
    return f"until {until_text(date, zone)}" if date.at_us is not None else "date not known yet"


def date_words(date: ToldDate) -> str:
    """What is to be left until a date, in a sentence; "" where the aftercare says it."""
    example = " (example)" if date.example else ""
    match date.about:
        case "touch":
            longer = ", longer because it was cold" if date.stretched else ""
            return f"Do not touch it yet: {date.what}{longer}.{example}"
        case "wet" if not date.line and date.at_us is not None:
            return f"No water on it yet: {date.what}.{example}"
        case _:
            return ""


EXAMPLES = "(example): this time is from no label yet; the shop has to replace it."


def when_text(due: Due, zone: str) -> str:
    """When something ends, begins or comes round: "until Sun 5 Apr 2026 18:17"."""
    when = due_text(due, zone)
    if due.kind == "every":
        return f"{when} ({due.nth} of {due.of})" if due.of > 1 else f"on {when}"
    return f"{due.kind} {when}"


def care_words(care: Care) -> list[str]:
    """What is to be done, and what if not, a sentence each."""
    said = [f"{care.say} (example)" if care.example else care.say]
    if care.state != "dated":
        said.append(f"{care.why[:1].upper()}{care.why[1:]}.")
    if care.if_not:
        said.append(care.if_not)
    if care.without:
        said.append(f"Nothing was put on {', '.join(care.without)}.")
    return said


def _put_visits(medium: Medium, visits: Iterable[Visit], zone: str) -> None:
    visits = tuple(visits)
    if not visits:
        return
    medium.heading("When to come back")
    rows = [TableRow((visit_when(visit, zone), visit_words(visit)), 1) for visit in visits]
    medium.table(_WHEN, rows)


def visit_when(visit: Visit, zone: str) -> str:
    """The day of a visit, with its hour if it has one."""
    return spoken(visit.at_us, zone) if visit.at_us is not None else spoken_day(visit.day)


def visit_words(visit: Visit) -> str:
    """What the visit is for, which of several it is, and from which date it was moved."""
    said = visit.say
    if visit.of > 1:
        said += f" ({visit.nth} of {visit.of})"
    if visit.moved_from:
        said += f" By the label {spoken_day(visit.moved_from)}; the shop is closed then."
    return f"{said} (example)" if visit.example else said


def _put_done(medium: Medium, done: Iterable[WorkDone]) -> None:
    done = tuple(done)
    whole: dict[tuple[str, ...], list[str]] = {}
    for one in done:
        if one.state == "done":
            whole.setdefault(one.days, []).append(one.stage)
    if not done:
        return
    medium.heading("What was done")
    rows = [TableRow((days_text(days), ", ".join(stages)), 1) for days, stages in whole.items()]
    for one in done:
        if one.state == "in part":
            said = f"{one.stage}, without {', '.join(one.without)}"
            rows.append(TableRow((days_text(one.days), said), 1))
    left = [one.stage for one in done if one.state == "not done"]
    if left:
        rows.append(TableRow(("not done", ", ".join(left)), 1))
    medium.table(_WHAT, rows)


def days_text(days: tuple[str, ...]) -> str:
    """The first day, and the last if it is another."""
    ends = dict.fromkeys((*days[:1], *days[-1:]))
    return " to ".join(spoken_day(day) for day in ends)


def _put_laid(medium: Medium, laid: Iterable[FilmLaid]) -> None:
    laid = tuple(laid)
    if not laid:
        return
    medium.heading("What is on it now")
    rows = [TableRow((spoken_day(one.day), "\n".join(film_words(one))), 1) for one in laid]
    medium.table(_WHAT, rows)


def film_words(one: FilmLaid) -> list[str]:
    """Stage with layer and where, each product with the lots that were noted, a line each."""
    layer = f", layer {one.layer} of {one.layers}" if one.layers > 1 else ""
    where = "everywhere" if one.everywhere and len(one.sections) > 6 else ", ".join(one.sections)
    said = [f"{one.stage}{layer}: {where}"]
    for put in one.products:
        said.append(f"{put.name}, lot {' and '.join(put.lots)}" if put.lots else put.name)
    return said


def _put_found(medium: Medium, sheet: CustomerSheet) -> None:
    if sheet.damages:
        medium.heading("Damage found")
        rows = []
        for one in sheet.damages:
            note = f": {one.note}" if one.note else ""
            # When it was seen says that it was there before the work, or was not.
            seen = spoken(one.at_us, sheet.zone)
            rows.append(TableRow((one.panel, f"{one.what}{note}, seen {seen}"), 1))
        rows += [TableRow((photos.panel, photos_text(photos)), 1) for photos in sheet.photos]
        medium.table(_WHAT, rows)
    for name, told in (("Agreed or declined", sheet.agreed), ("Notes", sheet.notes)):
        if told:
            medium.heading(name)
            rows = [TableRow((spoken(one.at_us, sheet.zone), _told(one)), 1) for one in told]
            medium.table(_WHAT, rows)


def photos_text(photos: DamagePhotos) -> str:
    """How many there are and from when: "2 photos, Thu 26 Nov 2026; kept in the shop"."""
    many = "1 photo" if photos.count == 1 else f"{photos.count} photos"
    return f"{many}, {days_text(photos.days)}; kept in the shop"


def _told(one: Statement) -> str:
    return f"{one.where}: {one.text}" if one.where else one.text


def put_shop(medium: Medium, shop: ShopHead) -> None:
    """How to reach the shop; nothing if nothing is known."""
    if not (shop.name or shop.lines or shop.phone):
        return
    medium.heading("How to reach us")
    address = ", ".join(line for line in (shop.name, *shop.lines) if line)
    for line in (address, shop.phone):
        if line:
            medium.words(line, 1)
