"""The customer's paper as plain text: one page that says what to do, and until when."""

from __future__ import annotations

from collections.abc import Iterable

from engine.job.aftercare import Care
from engine.job.customer_sheet import (
    CustomerSheet,
    DamagePhotos,
    FilmLaid,
    Told,
    Visit,
    WorkDone,
    due_text,
)
from engine.job.dates import Due, spoken, spoken_day
from engine.paper.page.text import Page
from engine.paper.sheets.vehicle import put_paints
from engine.paper.shop_head import NO_SHOP, ShopHead

_WHEN = (-30, -48)
_WHAT = (-24, -54)


def customer_text(sheet: CustomerSheet, shop: ShopHead = NO_SHOP) -> str:
    """The sheet in lines of at most 80 cells, ended by a line feed."""
    page = Page()
    put_customer(page, sheet, shop)
    return str(page)


def put_customer(page: Page, sheet: CustomerSheet, shop: ShopHead = NO_SHOP) -> None:
    """All of the sheet; line one warns if the vehicle leaves before it may get wet."""
    if sheet.warning:
        page.alert(sheet.warning)
    page.title("FOR THE CUSTOMER", f"job {sheet.number}")
    page.line()
    page.line(sheet.vehicle)
    page.line()
    _put_head(page, sheet)
    _put_cares(page, sheet)
    _put_visits(page, sheet.visits, sheet.zone)
    _put_done(page, sheet.done)
    _put_laid(page, sheet.laid)
    if sheet.paints:
        page.chapter("Paint readings")
        put_paints(page, sheet.paints)
    _put_found(page, sheet)
    put_shop(page, shop)


def _put_head(page: Page, sheet: CustomerSheet) -> None:
    if sheet.customer:
        page.field("Customer", sheet.customer)
    if sheet.plate:
        page.field("Plate", sheet.plate)
    page.field("Work", sheet.plan)
    if sheet.closed_us is None:
        page.field("Handed over", "not yet: the work is not closed, and this can still change")
    else:
        page.field("Handed over", spoken(sheet.closed_us, sheet.zone))


def _put_cares(page: Page, sheet: CustomerSheet) -> None:
    if not sheet.cares:
        return
    page.chapter("What to do, and until when")
    for care in sheet.cares:
        whens = [when_text(due, sheet.zone) for due in care.dues] or ["date not known yet"]
        page.columns(("\n".join(whens), "\n".join(care_words(care))), _WHEN, 2)
    if any(care.example for care in sheet.cares) or any(one.example for one in sheet.visits):
        page.line(EXAMPLES, 2)


EXAMPLES = "(example): this time is from no label yet; the shop has to replace it."


def when_text(due: Due, zone: str) -> str:
    """When something ends, begins or comes round: "until Sun 5 Apr 2026 18:17"."""
    when = due_text(due, zone)
    if due.kind == "every":
        return f"{when} ({due.nth} of {due.of})" if due.of > 1 else f"on {when}"
    return f"{due.kind} {when}"


def care_words(care: Care) -> list[str]:
    """What is to be done, what if not, and what happened already, a sentence each."""
    said = [f"{care.say} (example)" if care.example else care.say]
    if care.state != "dated":
        said.append(f"{care.why[:1].upper()}{care.why[1:]}.")
    if care.if_not:
        said.append(care.if_not)
    if care.without:
        said.append(f"Nothing was put on {', '.join(care.without)}.")
    return [*said, *care.wet]


def _put_visits(page: Page, visits: Iterable[Visit], zone: str) -> None:
    visits = tuple(visits)
    if not visits:
        return
    page.chapter("When to come back")
    for visit in visits:
        page.columns((visit_when(visit, zone), visit_words(visit)), _WHEN, 2)


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


def _put_done(page: Page, done: Iterable[WorkDone]) -> None:
    done = tuple(done)
    whole: dict[tuple[str, ...], list[str]] = {}
    for one in done:
        if one.state == "done":
            whole.setdefault(one.days, []).append(one.stage)
    if not done:
        return
    page.chapter("What was done")
    for days, stages in whole.items():
        page.columns((days_text(days), ", ".join(stages)), _WHAT, 2)
    for one in done:
        if one.state == "in part":
            said = f"{one.stage}, without {', '.join(one.without)}"
            page.columns((days_text(one.days), said), _WHAT, 2)
    left = [one.stage for one in done if one.state == "not done"]
    if left:
        page.columns(("not done", ", ".join(left)), _WHAT, 2)


def days_text(days: tuple[str, ...]) -> str:
    """The first day, and the last if it is another."""
    ends = dict.fromkeys((*days[:1], *days[-1:]))
    return " to ".join(spoken_day(day) for day in ends)


def _put_laid(page: Page, laid: Iterable[FilmLaid]) -> None:
    laid = tuple(laid)
    if not laid:
        return
    page.chapter("What is on it now")
    for one in laid:
        page.columns((spoken_day(one.day), "\n".join(film_words(one))), _WHAT, 2)


def film_words(one: FilmLaid) -> list[str]:
    """Stage with layer, each product with its lot, and where, a line each."""
    layer = f", layer {one.layer} of {one.layers}" if one.layers > 1 else ""
    where = "everywhere" if one.everywhere and len(one.sections) > 6 else ", ".join(one.sections)
    said = [f"{one.stage}{layer}: {where}"]
    for put in one.products:
        lots = f"lot {' and '.join(put.lots)}" if put.lots else "lot not noted"
        said.append(f"{put.name}, {lots}")
    return said


def _put_found(page: Page, sheet: CustomerSheet) -> None:
    if sheet.damages:
        page.chapter("Damage found")
        for one in sheet.damages:
            note = f": {one.note}" if one.note else ""
            page.columns((one.panel, f"{one.what}{note}"), _WHAT, 2)
        for photos in sheet.photos:
            page.columns((photos.panel, photos_text(photos)), _WHAT, 2)
    for name, told in (("Agreed or declined", sheet.agreed), ("Notes", sheet.notes)):
        if told:
            page.chapter(name)
        for entry in told:
            page.columns((spoken(entry.at_us, sheet.zone), _told(entry)), _WHAT, 2)


def photos_text(photos: DamagePhotos) -> str:
    """How many there are and from when: "2 photos, Thu 26 Nov 2026; kept in the shop"."""
    many = "1 photo" if photos.count == 1 else f"{photos.count} photos"
    return f"{many}, {days_text(photos.days)}; kept in the shop"


def _told(one: Told) -> str:
    return f"{one.where}: {one.text}" if one.where else one.text


def put_shop(page: Page, shop: ShopHead) -> None:
    """How to reach the shop; nothing if nothing is known."""
    if not (shop.name or shop.lines or shop.phone):
        return
    page.chapter("How to reach us")
    address = ", ".join(line for line in (shop.name, *shop.lines) if line)
    for line in (address, shop.phone):
        if line:
            page.line(line, 2)
