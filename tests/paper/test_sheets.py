"""The customer's paper and the sheet of the hand-over as text, of the demo sessions and made.

A golden that has changed for a good reason is written anew with CARTCLOCK_WRITE_GOLDENS=1 in
the environment, and read before it is kept.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.after.visits import Closed
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.record.arrival import arrival_sheet
from cartclock.engine.record.customer import Visit, customer_sheet
from cartclock.engine.record.record import record
from tests.kit.book import us
from tests.kit.pdf import sheets
from tests.kit.sessions import result
from tests.kit.setting import arrival_text, customer_html, customer_pdf, customer_text
from tests.record.test_customer_sheet import (
    COAT,
    DRY,
    SEAL,
    VISIT,
    WASH,
    arrived,
    book_of,
    coated,
    lay,
    recorded,
    sheet,
)

# Where tests are dealt out by group, each session is played on one worker only.
pytestmark = pytest.mark.xdist_group("demo sessions")

GOLDENS = Path(__file__).parent / "goldens"
SHOP = ShopHead("Paint and Water", ("The yard behind the mill", "Mill Lane 4"), "+00 555 0100")
SESSIONS = ("dry_heat_estate", "three_washes")
JOBS = (("dry_heat_estate", 1), ("three_washes", 1), ("three_washes", 2), ("three_washes", 3))


def is_golden(name: str, text: str) -> None:
    file = GOLDENS / f"{name}.txt"
    if os.environ.get("CARTCLOCK_WRITE_GOLDENS"):
        file.write_text(text, encoding="utf-8")
    assert text == file.read_text(encoding="utf-8")


@pytest.mark.parametrize(("name", "number"), JOBS)
def test_the_customers_paper_of_a_session(name: str, number: int) -> None:
    text = customer_text(customer_sheet(result(name).papers[number - 1]), SHOP)
    is_golden(f"customer_{name}_{number}", text)
    # Two screens of a terminal: a text has no pages, print has the law of one.
    assert len(text.splitlines()) <= 80
    assert max(map(len, text.splitlines())) <= 80


@pytest.mark.parametrize(("name", "number"), JOBS)
def test_the_sheet_to_sign_of_a_session(name: str, number: int) -> None:
    text = arrival_text(arrival_sheet(result(name).papers[number - 1]), SHOP, "EUR")
    is_golden(f"arrival_{name}_{number}", text)
    assert len(text.splitlines()) <= 60
    assert max(map(len, text.splitlines())) <= 80


def test_every_paper_of_the_two_days_is_as_it_was() -> None:
    """Of the session two_day_van; its record lies beside its script, and a test has it."""
    found = result("two_day_van")
    made = {f"_{one.number}": PaperFacts(one, shop=SHOP, currency="EUR") for one in found.papers}
    made |= {f"_{one.date}": PaperFacts(day=one, shop=SHOP) for one in found.days}
    count = 0
    for of, facts in made.items():
        for kind, paper in PAPERS.items():
            if kind != "record" and paper.of == ("job" if facts.day is None else "day"):
                is_golden(f"{kind}_two_day_van{of}", paper.made("text", facts).decode())
                count += 1
    assert count == 7


def test_what_is_not_known_of_its_dryness_stands_before_the_dates() -> None:
    text = customer_text(sheet(coated(closed_s=200), 300))
    assert "How long it must stay dry is not noted: Coat." in text
    assert text.index("How long") < text.index("WHAT IS ON IT")
    # Where a date says it, no sentence says it again.
    assert "It must still stay dry" not in customer_text(sheet(coated(DRY), 300))
    assert "KEEP IT DRY" not in customer_text(sheet(coated(DRY), 90_000))


def flat(text: str) -> str:
    return " ".join(text.split())


def test_an_open_job_says_that_it_is_not_closed_and_what_is_left() -> None:
    book = book_of(WASH, COAT, SEAL, cares=(DRY, VISIT))
    lay(book, 10, "Wash", "body")
    lay(book, 30, "Coat", "roof")
    book.press(50, ev.SectionSkipped("Wash", ("wheels",), "a reason"))
    text = flat(customer_text(sheet(book, 100)))
    assert "Not handed over yet: the work is not closed, and this can still change" in text
    assert "KEEP IT DRY UNTIL | | | | not known yet" in text and "when Coat is finished" in text
    assert "Inspection. Dated when Coat is finished; 1 section is still to be done." in text
    assert "a reason" not in text and "Wash" not in text


MOVED = "Mon 22 Mar 2027: by the label Sun 21 Mar 2027; the shop is closed then."


def test_a_visit_moved_from_a_closed_day_says_so() -> None:
    made = customer_sheet(recorded(coated(DRY, VISIT, closed_s=200), 300), lambda day: "2027-10-01")
    text = flat(customer_text(made))
    assert "Fri 1 Oct 2027: by the label Sun 21 Mar 2027; the shop is closed then." in text
    hour = Visit("Look at it.", "", us(7200), 1, 1)
    told = flat(customer_text(replace(made, visits=(hour,))))
    assert "Look at it Mon 21 Sep 2026 16:13" in told
    assert "Mon 21 Sep 2026 16:13, seen by" in told


def test_a_visit_on_a_closed_weekday_says_in_every_form_that_it_was_moved() -> None:
    book = coated(VISIT, closed_s=200)
    shifts = {row.shift: book.shift(row.shift) for row in book.rows if row.shift}
    # 21 March 2027 is a Sunday.
    closed = Closed(frozenset({7}))
    found = record(book.job(), shifts, book.jobs(), us(300), rows=book.rows, closed=closed)
    made = customer_sheet(found)
    assert [(one.day, one.moved_from) for one in made.visits] == [
        ("2027-03-22", "2027-03-21"),
        ("2027-09-21", ""),
    ]
    html = flat(re.sub("<[^>]+>", " ", customer_html(made)))
    pdf = flat(" ".join(page.text for page in sheets(customer_pdf(made, search=None))))
    for form in (flat(customer_text(made)), html, pdf):
        assert MOVED in form
    # One that the caller moves once more still names the label's own day.
    again = customer_sheet(found, lambda day: "2027-10-01")
    assert [one.moved_from for one in again.visits] == ["2027-03-21", "2027-09-21"]


def test_damage_says_when_it_was_seen() -> None:
    book = coated(DRY)
    book.press(120, ev.DamageNoted("roof", "dent"))
    # From a beginning at 14:13:20 UTC.
    said = "(1) roof: dent; seen Mon 21 Sep, 14:16"
    made = sheet(book, 300)
    for form in (customer_text(made), customer_html(made)):
        assert said in flat(form)


def test_photos_of_damage_are_counted_and_not_shown() -> None:
    book = coated(DRY)
    book.press(120, ev.DamageNoted("roof", "dent"))
    for number, section in enumerate(("roof", "roof", "bonnet", "")):
        book.press(130 + number, ev.FileAttached(f"{number}", Sealed("p", "00"), "photo", section))
    book.press(140, ev.FileAttached("9", Sealed("p", "00"), "file", "roof"))
    made = sheet(book, 300)
    assert (made.photos.count, made.photos.days) == (2, ("2026-09-21",))
    assert "2 photos of it, Mon 21 Sep 2026, kept in the shop." in flat(customer_text(made))
    assert "<img" not in customer_html(made) and b"/DCTDecode" not in customer_pdf(made)
    assert "photo" not in customer_text(sheet(coated(DRY), 300))


def test_readings_of_the_paint_are_an_annex_where_there_are_both() -> None:
    book = coated(DRY)
    book.press(120, ev.PaintRead("roof", "before", 110, 125))
    assert "PAINT" not in customer_text(sheet(book, 300))
    book.press(130, ev.PaintRead("roof", "after", 108, 122))
    made = sheet(book, 300)
    text = customer_text(made)
    assert "110 to 125" in text and "108 to 122" in text
    assert text.index("For the shop, date") < text.index("PAINT READINGS BEFORE AND AFTER")
    first, annex = sheets(customer_pdf(made, search=None))
    assert "110 to 125" not in first.text and "110 to 125" in annex.text


def test_what_nobody_noted_is_left_to_be_written_by_hand() -> None:
    text = arrival_text(arrived(book_of(WASH)))
    for label in (
        *("Customer", "Plate", "Phone", "Odometer", "Fuel or charge", "Ready", "Keys"),
        *("Left inside", "Photos taken", "Paint, lowest and highest", "More, or left out"),
    ):
        assert f"{label} ____" in text
    assert "none was noted" in text and "no price agreed" in text
    assert "Tick if nothing was seen: [ ]" in flat(text)
    assert "customer, date" in flat(text) and "For the shop, date" in text


def test_prices_and_extras_add_up_on_the_sheet_to_sign() -> None:
    book = coated(DRY, price="640.00")
    book.press(110, ev.AgreementNoted(Sealed("c", ""), "40.50"))
    book.press(120, ev.OdometerRead(84210), ev.DamageNoted("roof", "chip"))
    text = flat(arrival_text(arrived(book, {"c": "lamps as well"}), SHOP, "EUR"))
    assert "Coat it 640.00 EUR" in text
    assert "lamps as well, 14:15 40.50 EUR" in text
    assert "together 680.50 EUR" in text
    assert "84210 km" in text
    assert "1 roof: chip, 14:15" in text and "SEEN Mon 21 Sep 2026".casefold() in text.casefold()
    assert "Tick if nothing else was seen" in text
    assert "Paint and Water, The yard behind the mill, Mill Lane 4, +00 555 0100" in text
