"""The sheet of the hand-over to the shop: one page in every medium, marked by hand."""

from __future__ import annotations

from decimal import Decimal
from typing import get_args

import pytest
from msgspec.structs import replace

from cartclock.engine.facts.job_events import DamageKind
from cartclock.engine.paper.facts import PaperFacts, Size
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.pdf.medium import Pdf
from cartclock.engine.paper.sheet import render
from cartclock.engine.paper.sheets.arrival import ARRIVAL, LETTERS, put_arrival
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.plan.shapes import panel_order
from cartclock.engine.record.arrival import ArrivalSheet, PanelDamage, arrival_sheet
from cartclock.engine.record.record import record
from cartclock.engine.vehicle.vehicle import Damage, Extra
from tests.kit.book import us
from tests.kit.pdf import sheets
from tests.kit.setting import arrival_html, arrival_pdf, arrival_text
from tests.paper.test_view import NAME_PT
from tests.record.test_customer_sheet import WASH, book_of

SHOP = ShopHead("Paint and Water", ("The yard behind the mill", "Mill Lane 4"), "+00 555 0100")
SIZES: tuple[Size, ...] = ("A4", "Letter")
SEEN_US = us(60)


def arrived(damages: int = 0, extras: int = 0) -> ArrivalSheet:
    """A van as it came, with so many damages, each on another panel."""
    book = book_of(WASH)
    sheet = arrival_sheet(record(book.job(), {}, book.jobs(), us(100), rows=book.rows))
    note = "4 cm below the handle, to the primer"
    found = [
        PanelDamage(panel, (Damage(SEEN_US, panel, "scratch", note),), (panel,))
        for panel in panel_order("van")[:damages]
    ]
    more = [Extra(SEEN_US, f"lamp {at}", Decimal("30.5")) for at in range(extras)]
    return replace(
        sheet,
        vehicle="chalk white van, žluťoučký, with a ladder",
        customer="Αλεξάνδρα Παπαδοπούλου",
        plate="بهية 42",
        shape="van",
        damages=tuple(found),
        extras=tuple(more),
        price=Decimal("640.00"),
        total=640 + Decimal("30.5") * extras,
    )


@pytest.mark.parametrize(("damages", "extras"), [(0, 0), (6, 3), (12, 6)])
@pytest.mark.parametrize("size", SIZES)
def test_it_is_one_page_with_letters_that_can_be_read(
    size: Size, damages: int, extras: int
) -> None:
    (page,) = sheets(arrival_pdf(arrived(damages, extras), SHOP, size, "CAD"))
    assert min(said.size for said in page.said) >= NAME_PT - 0.01
    assert "could not be set" not in page.text
    drawn = [said.text for said in page.said if said.text.isdecimal()]
    assert sorted(drawn) == sorted(2 * [str(at + 1) for at in range(damages)])
    assert len(arrival_text(arrived(damages, extras), SHOP, "CAD").splitlines()) <= 60


def test_it_is_one_page_also_where_it_says_which_revision_it_is() -> None:
    def put(medium: Medium, facts: PaperFacts) -> None:
        put_arrival(medium, arrived(12, 6), SHOP, "CAD")
        medium.words("Revision 2, replaces revision 1 of Mon 21 Sep 2026 14:20.", small=True)

    for size in SIZES:
        made = render(replace(ARRIVAL, put=put), PaperFacts(), Pdf(size, None))
        (page,) = sheets(made)
        assert "Revision 2" in page.text


def test_each_damage_has_its_number_in_the_drawing_and_the_day_stands_once() -> None:
    sheet = arrived(2)
    text = " ".join(arrival_text(sheet, SHOP, "CAD").split())
    assert "seen Mon 21 Sep 2026" in text
    assert "1 roof: scratch: 4 cm below the handle, to the primer, 14:14" in text
    svg = arrival_html(sheet, SHOP, "CAD")
    assert ">1</text>" in svg and ">2</text>" in svg
    other = replace(sheet.damages[1].found[0], at_us=us(90_000))
    sheet = replace(sheet, damages=(sheet.damages[0], replace(sheet.damages[1], found=(other,))))
    text = " ".join(arrival_text(sheet, SHOP, "CAD").split())
    assert "seen Mon 21 Sep 2026 to Tue 22 Sep 2026" in text and "primer, Mon 21 Sep" in text


def test_what_lies_on_no_drawn_place_is_said_without_a_number_in_the_drawing() -> None:
    sheet = arrived(1)
    lost = replace(sheet, damages=(replace(sheet.damages[0], panel="tow bar", places=()),))
    assert ">1</text>" not in arrival_html(lost, SHOP)
    assert "1   tow bar: scratch" in arrival_text(lost, SHOP)
    wide = replace(sheet.damages[0], panel="body", places=panel_order("van"))
    assert ">1</text>" not in arrival_html(replace(sheet, damages=(wide,)), SHOP)


def test_letters_to_mark_with_are_those_of_damage_that_can_be_noted() -> None:
    """Which letters is common practice, no source."""
    assert "".join(letter for letter, _meaning in LETTERS) == "SCDKRXM"
    assert {meaning for _letter, meaning in LETTERS} <= set(get_args(DamageKind))
