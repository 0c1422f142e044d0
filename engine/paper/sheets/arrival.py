"""The sheet signed at the hand-over to the shop, as plain text."""

from __future__ import annotations

from decimal import Decimal

from engine.job.arrival_sheet import ArrivalSheet
from engine.job.dates import spoken
from engine.paper.page.text import Page
from engine.paper.sheets.customer import put_shop
from engine.paper.sheets.vehicle import money_text
from engine.paper.shop_head import NO_SHOP, ShopHead

_DAMAGE = (-24, -54)
_MONEY = (-60, 18)


def arrival_text(sheet: ArrivalSheet, shop: ShopHead = NO_SHOP, currency: str = "") -> str:
    """The sheet in lines of at most 80 cells, ended by a line feed.

    currency: stands behind money.
    """
    page = Page()
    put_arrival(page, sheet, shop, currency)
    return str(page)


def put_arrival(
    page: Page, sheet: ArrivalSheet, shop: ShopHead = NO_SHOP, currency: str = ""
) -> None:
    """All of the sheet; what nobody noted is left open to be written by hand."""
    page.title("ARRIVAL", f"job {sheet.number}")
    page.line()
    page.line(sheet.vehicle)
    page.line()
    _put_head(page, sheet)
    page.chapter("Damage before the work")
    for panel in sheet.damages:
        for index, one in enumerate(panel.found):
            note = f": {one.note}" if one.note else ""
            said = f"{one.what}{note}, seen {spoken(one.at_us, sheet.zone)}"
            page.columns(("" if index else panel.panel, said), _DAMAGE, 2)
    if not sheet.damages:
        page.line("None was noted.", 2)
    _put_work(page, sheet, currency)
    page.chapter("Handed over")
    page.blank("Keys")
    page.blank("Left inside")
    page.signatures(("Customer, date", "For the shop, date"))
    put_shop(page, shop)


def _put_head(page: Page, sheet: ArrivalSheet) -> None:
    for label, text in (("Customer", sheet.customer), ("Plate", sheet.plate)):
        if text:
            page.field(label, text)
        else:
            page.blank(label)
    look = sheet.odometer
    if look is None:
        page.blank("Odometer")
    else:
        said = f"{look.reading} {look.unit}, {spoken(look.at_us, sheet.zone)}"
        page.field("Odometer", said)
    page.field("Arrived", spoken(sheet.opened_us, sheet.zone))
    if sheet.promised_us is None:
        page.blank("Ready")
    else:
        page.field("Ready", spoken(sheet.promised_us, sheet.zone))


def _put_work(page: Page, sheet: ArrivalSheet, currency: str) -> None:
    page.chapter("Agreed work and price")
    page.columns((sheet.work, _price(sheet, currency)), _MONEY, 2)
    page.line(", ".join(sheet.stages), 4)
    for extra in sheet.extras:
        price = "" if extra.price is None else _money(extra.price, currency)
        text = extra.text or "(text deleted)"
        page.columns((f"{text}, agreed {spoken(extra.at_us, sheet.zone)}", price), _MONEY, 2)
    if sheet.total is not None and any(extra.price is not None for extra in sheet.extras):
        page.columns(("together", _money(sheet.total, currency)), _MONEY, 2)


def _price(sheet: ArrivalSheet, currency: str) -> str:
    if sheet.price is not None:
        return _money(sheet.price, currency)
    return sheet.price_text or "no price agreed"


def _money(amount: Decimal, currency: str) -> str:
    return f"{money_text(amount)} {currency}".rstrip()
