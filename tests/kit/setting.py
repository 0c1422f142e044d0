"""Papers set in a medium, for tests that have the facts in hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec.structs import replace

from cartclock.engine.paper.facts import PaperFacts, Size
from cartclock.engine.paper.page.html.medium import Html
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.pdf.letters import Search, fonts_of_this_computer
from cartclock.engine.paper.page.pdf.medium import Pdf
from cartclock.engine.paper.page.text.medium import Text
from cartclock.engine.paper.sheet import Sheet, render
from cartclock.engine.paper.sheets.aftercare import AFTERCARE
from cartclock.engine.paper.sheets.arrival import ARRIVAL, put_arrival
from cartclock.engine.paper.sheets.customer import CUSTOMER, put_annex_of, put_customer
from cartclock.engine.paper.sheets.day import DAY
from cartclock.engine.paper.sheets.record import RECORD
from cartclock.engine.paper.sheets.windscreen import WINDSCREEN
from cartclock.engine.paper.shop_head import NO_SHOP, ShopHead
from cartclock.engine.record.arrival import ArrivalSheet
from cartclock.engine.record.customer import CustomerSheet
from cartclock.engine.record.day import Day
from cartclock.engine.record.record import Record
from cartclock.engine.record.revision import Revision
from cartclock.engine.vehicle.picture import Picture


def text_of(put: Callable[[Medium], None]) -> str:
    """A part of a sheet as text."""
    return render(Sheet("", lambda medium, _facts: put(medium)), PaperFacts(), Text()).decode()


def record_text(record: Record, round_minutes: int = 0, currency: str = "", width: int = 0) -> str:
    facts = PaperFacts(record, round_minutes=round_minutes, currency=currency)
    return render(RECORD, facts, Text(width)).decode()


def record_html(
    record: Record,
    round_minutes: int = 0,
    currency: str = "",
    pictures: Sequence[Picture] = (),
    revision: Revision | None = None,
) -> str:
    facts = PaperFacts(
        record, round_minutes=round_minutes, currency=currency, pictures=lambda: tuple(pictures),
        revision=revision, issued=True,
    )  # fmt: skip
    return render(RECORD, facts, Html()).decode()


def record_pdf(
    record: Record,
    shop: ShopHead = NO_SHOP,
    size: Size = "A4",
    round_minutes: int = 0,
    currency: str = "",
    search: Search | None = fonts_of_this_computer,
    compressed: bool = True,
    pictures: Sequence[Picture] = (),
    revision: Revision | None = None,
) -> bytes:
    facts = PaperFacts(
        record, shop=shop, currency=currency, round_minutes=round_minutes,
        pictures=lambda: tuple(pictures), revision=revision, issued=True,
    )  # fmt: skip
    return render(RECORD, facts, Pdf(size, search, compressed))


def day_text(day: Day, round_minutes: int = 0, width: int = 0) -> str:
    return render(DAY, PaperFacts(day=day, round_minutes=round_minutes), Text(width)).decode()


def day_html(day: Day, round_minutes: int = 0) -> str:
    return render(DAY, PaperFacts(day=day, round_minutes=round_minutes), Html()).decode()


def day_pdf(
    day: Day,
    shop: ShopHead = NO_SHOP,
    size: Size = "A4",
    round_minutes: int = 0,
    search: Search | None = fonts_of_this_computer,
) -> bytes:
    facts = PaperFacts(day=day, shop=shop, round_minutes=round_minutes)
    return render(DAY, facts, Pdf(size, search))


def _customer(sheet: CustomerSheet) -> Sheet:
    """The sheet of what a test made, in letters and on pages as the real one has them."""
    return replace(
        CUSTOMER,
        put=lambda medium, facts: put_customer(medium, sheet, facts),
        briefs=(lambda medium, facts: put_customer(medium, sheet, facts, brief=True),),
        annex=lambda medium, _facts: put_annex_of(medium, sheet),
    )


def customer_text(sheet: CustomerSheet, shop: ShopHead = NO_SHOP) -> str:
    return render(_customer(sheet), PaperFacts(shop=shop, currency="EUR"), Text()).decode()


def customer_html(
    sheet: CustomerSheet, shop: ShopHead = NO_SHOP, revision: Revision | None = None
) -> str:
    facts = PaperFacts(shop=shop, currency="EUR", revision=revision, issued=True)
    return render(_customer(sheet), facts, Html()).decode()


def customer_pdf(
    sheet: CustomerSheet,
    shop: ShopHead = NO_SHOP,
    size: Size = "A4",
    search: Search | None = fonts_of_this_computer,
    revision: Revision | None = None,
) -> bytes:
    facts = PaperFacts(shop=shop, currency="EUR", revision=revision, issued=True)
    return render(_customer(sheet), facts, Pdf(size, search))


def _arrival(sheet: ArrivalSheet, shop: ShopHead, currency: str) -> Sheet:
    return replace(ARRIVAL, put=lambda medium, _facts: put_arrival(medium, sheet, shop, currency))


def arrival_text(sheet: ArrivalSheet, shop: ShopHead = NO_SHOP, currency: str = "") -> str:
    return render(_arrival(sheet, shop, currency), PaperFacts(), Text()).decode()


def arrival_html(sheet: ArrivalSheet, shop: ShopHead = NO_SHOP, currency: str = "") -> str:
    return render(_arrival(sheet, shop, currency), PaperFacts(), Html()).decode()


def arrival_pdf(
    sheet: ArrivalSheet,
    shop: ShopHead = NO_SHOP,
    size: Size = "A4",
    currency: str = "",
    search: Search | None = fonts_of_this_computer,
) -> bytes:
    return render(_arrival(sheet, shop, currency), PaperFacts(), Pdf(size, search))


def aftercare_text(record: Record) -> str:
    return render(AFTERCARE, PaperFacts(record), Text()).decode()


def windscreen_text(record: Record, shop: str = "", phone: str = "") -> str:
    facts = PaperFacts(record, shop=ShopHead(shop, (), phone))
    return render(WINDSCREEN, facts, Text()).decode()


def windscreen_pdf(record: Record, shop: str, phone: str, size: Size) -> bytes:
    facts = PaperFacts(record, shop=ShopHead(shop, (), phone))
    return render(WINDSCREEN, facts, Pdf(size, None))
