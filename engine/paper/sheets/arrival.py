"""The sheet signed at the hand-over to the shop."""

from __future__ import annotations

from cartclock.engine.dates import spoken
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.sheets.customer import put_shop
from cartclock.engine.paper.sheets.revision import put_revision
from cartclock.engine.paper.sheets.vehicle import money_text
from cartclock.engine.paper.shop_head import NO_SHOP, ShopHead
from cartclock.engine.record.arrival import ArrivalSheet, arrival_sheet

_DAMAGE = (Column("", 25), Column())
_MONEY = (Column(), Column("", 18, right=True))


def put_arrival_sheet(medium: Medium, facts: PaperFacts) -> None:
    """The sheet of the hand-over to the shop, of the job as it stands."""
    sheet = arrival_sheet(facts.of_job)
    put_arrival(medium, sheet, facts.shop, facts.currency)
    put_revision(medium, facts.out, sheet.zone, False)


ARRIVAL = Sheet("Arrival", put_arrival_sheet)


def put_arrival(
    medium: Medium, sheet: ArrivalSheet, shop: ShopHead = NO_SHOP, currency: str = ""
) -> None:
    """All of the sheet; what nobody noted is left open to be written by hand.

    currency: stands behind money.
    """
    medium.head(SheetHead(f"job {sheet.number}", sheet.now_us, sheet.zone, shop))
    medium.lead(sheet.vehicle)
    _put_head(medium, sheet)
    medium.heading("Damage before the work")
    rows: list[TableRow] = []
    for panel in sheet.damages:
        for index, one in enumerate(panel.found):
            note = f": {one.note}" if one.note else ""
            said = f"{one.what}{note}, seen {spoken(one.at_us, sheet.zone)}"
            rows.append(TableRow(("" if index else panel.panel, said), 1))
    medium.table(_DAMAGE, rows)
    if not sheet.damages:
        medium.words("None was noted.", 1)
    _put_work(medium, sheet, currency)
    medium.heading("Handed over")
    medium.blanks(("Keys", "Left inside"))
    medium.sign(("Customer, date", "For the shop, date"))
    put_shop(medium, shop)


def _put_head(medium: Medium, sheet: ArrivalSheet) -> None:
    who = (("Customer", sheet.customer), ("Plate", sheet.plate), ("Phone", sheet.phone))
    for label, text in who:
        if text:
            medium.facts([(label, text)])
        else:
            medium.blanks([label])
    look = sheet.odometer
    if look is None:
        medium.blanks(["Odometer"])
    else:
        said = f"{look.reading} {look.unit}, {spoken(look.at_us, sheet.zone)}"
        medium.facts([("Odometer", said)])
    medium.facts([("Arrived", spoken(sheet.opened_us, sheet.zone))])
    if sheet.promised_us is None:
        medium.blanks(["Ready"])
    else:
        medium.facts([("Ready", spoken(sheet.promised_us, sheet.zone))])


def _put_work(medium: Medium, sheet: ArrivalSheet, currency: str) -> None:
    medium.heading("Agreed work and price")
    rows: list[TableRow | Note] = [TableRow((sheet.work, _price(sheet, currency)), 1)]
    rows.append(Note(", ".join(sheet.stages), 2))
    for extra in sheet.extras:
        price = "" if extra.price is None else money_text(extra.price, currency)
        text = extra.text or "(text deleted)"
        rows.append(TableRow((f"{text}, agreed {spoken(extra.at_us, sheet.zone)}", price), 1))
    if sheet.total is not None and any(extra.price is not None for extra in sheet.extras):
        rows.append(TableRow(("together", money_text(sheet.total, currency)), 1))
    medium.table(_MONEY, rows)


def _price(sheet: ArrivalSheet, currency: str) -> str:
    if sheet.price is not None:
        return money_text(sheet.price, currency)
    return sheet.price_text or "no price agreed"
