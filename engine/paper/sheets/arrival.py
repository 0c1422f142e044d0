"""The sheet signed at the hand-over to the shop: one page, with a drawing to mark by hand."""

from __future__ import annotations

from cartclock.engine.dates import spoken
from cartclock.engine.paper.chapters.dated import Days
from cartclock.engine.paper.chapters.vehicle import money_text
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.paper.page.view import VehicleView
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.shop_head import NO_SHOP, ShopHead
from cartclock.engine.record.arrival import ArrivalSheet, arrival_sheet
from cartclock.engine.record.revision import revision_text
from cartclock.engine.vehicle.plan_view import Driver

LETTERS = (
    ("S", "scratch"),
    ("C", "chip"),
    ("D", "dent"),
    ("K", "kerbed wheel"),
    ("R", "rust"),
    ("X", "crack"),
    ("M", "missing part"),
)
"""Letters by which damage is marked in a drawing by hand. Common practice, no source."""

# A number on more places than that would tell where something is seen no better than the words.
_MOST_PLACES = 6
_MONEY = (Column(), Column("", 18, right=True))


def put_arrival_sheet(medium: Medium, facts: PaperFacts) -> None:
    """The sheet of the hand-over to the shop, of the job as it stands."""
    sheet = arrival_sheet(facts.of_job)
    put_arrival(medium, sheet, facts.shop, facts.currency, facts.driver)
    if facts.out is not None:
        medium.words(revision_text(facts.out, sheet.zone), small=True)


ARRIVAL = Sheet("Arrival", put_arrival_sheet, pages=1, floor_pt=7.6)


def put_arrival(
    medium: Medium,
    sheet: ArrivalSheet,
    shop: ShopHead = NO_SHOP,
    currency: str = "",
    driver: Driver = "",
) -> None:
    """All of the sheet; what nobody noted is left open to be written by hand.

    currency: stands behind money. driver: on which side the driver sits.
    """
    medium.head(SheetHead(f"job {sheet.number}", sheet.now_us, sheet.zone, shop))
    _put_head(medium, sheet)
    _put_damage(medium, sheet, driver)
    _put_work(medium, sheet, currency)
    _put_left(medium, sheet)
    medium.sign(("As above: customer, date", "For the shop, date"))


def _put_head(medium: Medium, sheet: ArrivalSheet) -> None:
    customer, phone = (
        f"{label} {text}" if text else ""
        for label, text in (("Customer", sheet.customer), ("phone", sheet.phone))
    )
    arrived = f"Arrived {spoken(sheet.opened_us, sheet.zone)}"
    if sheet.promised_us is not None:
        arrived += f"; ready {spoken(sheet.promised_us, sheet.zone)}"
    look = sheet.odometer
    read = "" if look is None else f"Odometer {look.reading} {look.unit}"
    if look is not None and look.at_us != sheet.opened_us:
        read += f", {spoken(look.at_us, sheet.zone)}"
    who = ", ".join(part for part in (customer, phone) if part)
    medium.lead(sheet.vehicle, sheet.plate, [line for line in (who, arrived, read) if line])
    open_ones = (
        ("Customer", not sheet.customer),
        ("Plate", not sheet.plate),
        ("Phone", not sheet.phone),
        ("Odometer", look is None),
        ("Fuel or charge", True),
        ("Ready", sheet.promised_us is None),
    )
    medium.blanks([label for label, left in open_ones if left], across=3)


def _put_damage(medium: Medium, sheet: ArrivalSheet, driver: Driver) -> None:
    found = sheet.damages
    seen = Days([one.at_us for panel in found for one in panel.found], sheet.zone)
    medium.heading("Damage before the work", f"seen {seen}" if found else "none was noted")
    letters = ", ".join(f"{letter} {meaning}" for letter, meaning in LETTERS)
    else_ = " else" if found else ""
    medium.words(
        f"Mark in the drawing, or write down, what{else_} is seen and where: {letters} "
        "(letters: common practice, no source). "
        f"Tick if nothing{else_} was seen: [  ]"
    )
    medium.view(damage_view(sheet, seen, driver))


def damage_view(sheet: ArrivalSheet, seen: Days, driver: Driver = "") -> VehicleView:
    """The vehicle to be marked by hand, with the damages that were noted as numbers from 1."""
    numbers: list[tuple[str, str]] = []
    key: list[tuple[str, str]] = []
    for panel in sheet.damages:
        for one in panel.found:
            number = str(len(key) + 1)
            note = f": {one.note}" if one.note else ""
            key.append((number, f"{panel.panel}: {one.what}{note}, {seen.of(one.at_us)}"))
            if len(panel.places) <= _MOST_PLACES:
                numbers += [(place, number) for place in panel.places]
    return VehicleView(
        sheet.shape, driver, damages=tuple(numbers), key=tuple(key), empty=True, names=True
    )


def _put_work(medium: Medium, sheet: ArrivalSheet, currency: str) -> None:
    agreed = Days([extra.at_us for extra in sheet.extras], sheet.zone)
    medium.heading("Agreed work and price", f"added {agreed}" if sheet.extras else "")
    rows: list[TableRow | Note] = [TableRow((sheet.work, _price(sheet, currency)))]
    rows.append(Note(", ".join(sheet.stages), 1))
    for extra in sheet.extras:
        price = "" if extra.price is None else money_text(extra.price, currency)
        text = extra.text or "(text deleted)"
        rows.append(TableRow((f"{text}, {agreed.of(extra.at_us)}", price)))
    if sheet.total is not None and any(extra.price is not None for extra in sheet.extras):
        rows.append(TableRow(("together", money_text(sheet.total, currency))))
    medium.table(_MONEY, rows)
    medium.blanks(["More, or left out"])


def _price(sheet: ArrivalSheet, currency: str) -> str:
    if sheet.price is not None:
        return money_text(sheet.price, currency)
    return sheet.price_text or "no price agreed"


def _put_left(medium: Medium, sheet: ArrivalSheet) -> None:
    """Keys, things left inside, photos, paint: what is known in words, the rest to be written."""
    open_ones = ["Keys", "Left inside"]
    known = []
    if sheet.photos:
        known.append(("Photos", f"{sheet.photos} attached"))
    else:
        open_ones.append("Photos taken")
    ends = [f"{um:g}" for um in (sheet.low_um, sheet.high_um) if um is not None]
    if ends:
        said = " to ".join(dict.fromkeys(ends))
        known.append(("Paint", f"{said} micrometres of total build, lowest to highest reading"))
    else:
        open_ones.append("Paint, lowest and highest")
    medium.blanks(open_ones, across=2)
    medium.facts(known)
