"""The customer's paper, and the sheet signed at the hand-over to the shop, as PDF."""

from __future__ import annotations

from engine.job.arrival_sheet import ArrivalSheet
from engine.job.customer_sheet import CustomerSheet
from engine.job.revision import Revision
from engine.paper.page.pdf.frame import Paper
from engine.paper.page.pdf.letters import Search, fonts_of_this_computer
from engine.paper.page.pdf.page import Print
from engine.paper.sheets.arrival import put_arrival
from engine.paper.sheets.customer import put_customer
from engine.paper.sheets.revision import put_revision
from engine.paper.shop_head import NO_SHOP, ShopHead


def customer_pdf(
    sheet: CustomerSheet,
    head: ShopHead = NO_SHOP,
    paper: Paper = "A4",
    search: Search | None = fonts_of_this_computer,
    compressed: bool = True,
    revision: Revision | None = None,
) -> bytes:
    """The customer's paper; the same sheet gives the same bytes.

    search, compressed, revision: as in `engine.paper.record_pdf`; the changes of
    a revision are not told.
    """
    title = f"For the customer, job {sheet.number}"
    page = Print(title, head, paper, sheet.now_us, sheet.zone, search)
    put_customer(page, sheet, head)
    put_revision(page, revision, sheet.zone, False)
    return page.finished(compressed)


def arrival_pdf(
    sheet: ArrivalSheet,
    head: ShopHead = NO_SHOP,
    paper: Paper = "A4",
    currency: str = "",
    search: Search | None = fonts_of_this_computer,
    compressed: bool = True,
    revision: Revision | None = None,
) -> bytes:
    """The sheet of the hand-over to the shop, with lines to write and to sign on.

    currency: as in `engine.paper.sheets.arrival.arrival_text`; the rest as in `customer_pdf`.
    """
    title = f"Arrival, job {sheet.number}"
    page = Print(title, head, paper, sheet.now_us, sheet.zone, search)
    put_arrival(page, sheet, head, currency)
    put_revision(page, revision, sheet.zone, False)
    return page.finished(compressed)
