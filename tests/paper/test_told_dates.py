"""One list of dates: no two papers of a job name two ends of one thing."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from msgspec.structs import replace

from cartclock.engine.after.dates import About, date_of, told_dates
from cartclock.engine.facts import events as ev
from cartclock.engine.paper.forms.calendar_form import calendar_file
from cartclock.engine.paper.forms.message import message
from cartclock.engine.plan.plan import Aftercare, Cure, Product
from cartclock.engine.record.customer import customer_sheet
from cartclock.engine.record.record import Record
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, Book, us
from tests.kit.care import CURED, DONE_S, DRY, LABEL, WASH, begun, coat, finished, record_of
from tests.kit.setting import aftercare_text, customer_text, record_text, windscreen_text

HOUR_S = 3600
# Cure and hand-over 12 h, the product's own dry time 24 h, the aftercare's line 48 h.
COATING = Product("coat", "Coating", unit="drops", dry_s=24 * HOUR_S)
LEAVE, TOUCH, WET = "Tue 22 Sep 2026 02:34", "Tue 22 Sep 2026 14:34", "Wed 23 Sep 2026 14:34"


def job() -> Book:
    """A coat whose last touch was Mon 21 Sep 2026 14:33:20 UTC, at 22 C."""
    stage = replace(CURED, kind="coat", cure=Cure(12 * HOUR_S))
    book = begun(DRY, WASH, stages=(stage,), products=(COATING,), handover=LABEL)
    book.press(0, ev.ReadingTaken(air_c=22.0, rh=50, panel_c=22.0))
    assert coat(book, 0, "bonnet", "roof") == DONE_S
    return book


def flat(text: str) -> str:
    return " ".join(text.split())


PAPERS: dict[str, Callable[[Record], str]] = {
    "record": record_text,
    "aftercare": aftercare_text,
    "customer": lambda record: customer_text(customer_sheet(record)),
    "windscreen": windscreen_text,
    "message": message,
}
# How each paper says the end of each; what a paper does not speak of is not among them.
SAID: dict[str, dict[About, str]] = {
    "record": {
        "leave": "May be handed over not before {}",
        "touch": "May be touched not before {}",
        "wet": "May get wet not before {}",
    },
    "aftercare": {
        "leave": "May be handed over not before {}",
        "touch": "May be touched not before {}",
        "wet": "May get wet not before {}",
    },
    "customer": {
        "leave": "not before {}, 12 hours after Coat",
        "touch": "until {} Do not touch it yet: coating.",
        "wet": "until {} Keep it dry.",
    },
    "windscreen": {"touch": "Do not touch until {} (UTC)", "wet": "Keep dry until {}"},
    "message": {"touch": "Until {}: Do not touch it.", "wet": "Until {}: Keep it dry."},
}


@pytest.mark.parametrize("paper", SAID)
def test_every_paper_tells_the_same_dates(paper: str) -> None:
    text = flat(PAPERS[paper](record_of(job(), 1300)))
    for about, words in SAID[paper].items():
        when = {"leave": LEAVE, "touch": TOUCH, "wet": WET}[about]
        assert words.format(when) in text
        # One thing has one end: the same words stand before no other time.
        before = re.escape(words.split("{}")[0])
        after = re.escape(words.split("{}")[1])
        told = re.findall(rf"{before}(\w{{3}} \d+ \w{{3}} \d{{4}} \d\d:\d\d){after}", text)
        assert set(told) == {when}


def test_the_calendar_leaves_it_alone_as_long_as_the_card_says() -> None:
    events = calendar_file(record_of(job(), 1300), 1).decode().split("BEGIN:VEVENT")
    (alone,) = (event for event in events if "leave it alone" in event)
    assert "DTEND:20260922T143400Z" in alone


def test_the_whole_day_of_a_label_is_over_at_its_end() -> None:
    book = finished(replace(DRY, until="P1D"), stages=(CURED,))
    wet = date_of(record_of(book, 1300).dates, "wet")
    assert wet is not None and wet.day == "2026-09-22"
    assert "May get wet not before Wed 23 Sep 2026 00:00" in flat(
        record_text(record_of(book, 1300))
    )


def test_no_paper_ends_and_begins_on_one_day() -> None:
    soap = replace(DRY, say="No shampoo.", until="P7D")
    book = finished(soap, WASH, replace(WASH, say="Polish.", after=""), stages=(CURED,))
    book.do(1300, rules.close_job, JOB)
    record = record_of(book, 1400)
    sheet = flat(customer_text(customer_sheet(record)))
    # The column breaks the line before what stands in brackets.
    assert "until Mon 28 Sep 2026 No shampoo. (included)" in sheet
    assert "from Tue 29 Sep 2026 First wash." in sheet
    # What hangs on something else keeps its day.
    assert "from Mon 28 Sep 2026 Polish." in sheet
    assert "From Tue 29 Sep 2026: First wash." in message(record)
    assert "Until Mon 28 Sep 2026 (included): No shampoo." in message(record)
    text = flat(record_text(record))
    assert "from Tue 29 Sep 2026 moved from Mon 28 Sep 2026, that day still belongs to: No" in text


def test_a_dry_time_longer_than_the_aftercare_is_told_by_every_paper() -> None:
    book = finished(replace(DRY, until="PT1H"), products=(COATING,))
    record = record_of(book, 1300)
    until = f"until {TOUCH}"
    assert f"May get wet not before {TOUCH}" in flat(record_text(record))
    assert f"{until} No water on it yet: Coat." in flat(PAPERS["customer"](record))
    assert f"Until {TOUCH}: No water on it." in message(record)
    assert f"Keep dry {until}" in flat(windscreen_text(record))


def test_while_it_is_worked_on_no_paper_names_a_date() -> None:
    book = job()
    book.do(1300, changes.redo, JOB, "Coat", ("roof",), "high spot")
    record = record_of(book, 1400)
    assert [date.at_us for date in record.dates] == [None, None, None]
    assert flat(record_text(record)).count("known when Coat is finished") == 3
    assert "Do not touch it yet" in PAPERS["customer"](record)


@pytest.mark.parametrize(
    ("lines", "products"),
    [((DRY,), (replace(COATING, dry_s=None),)), ((), (COATING,))],
    ids=["the aftercare alone speaks of water", "the product alone does"],
)
def test_while_it_is_worked_on_nobody_knows_when_it_may_get_wet(
    lines: tuple[Aftercare, ...], products: tuple[Product, ...]
) -> None:
    book = finished(*lines, stages=(CURED,), products=products)
    wet = date_of(record_of(book, 1300).dates, "wet")
    assert wet is not None and wet.at_us is not None
    book.do(1300, changes.redo, JOB, "Coat", ("roof",), "high spot")
    wet = date_of(record_of(book, 1400).dates, "wet")
    assert wet is not None and wet.at_us is None


def test_only_the_end_of_a_line_that_speaks_of_water_says_when_it_may_get_wet() -> None:
    dry = replace(DRY, from_="PT6H", if_not="Dry it with a soft towel.")
    polish = replace(DRY, say="No polish.", until="PT1H")
    book = finished(polish, dry, stages=(CURED,))
    wet = date_of(record_of(book, 1300).dates, "wet")
    assert wet is not None
    assert (wet.at_us, wet.line) == (us(DONE_S + 48 * HOUR_S), "Keep it dry.")


def test_what_the_plan_does_not_speak_of_is_not_told() -> None:
    book = finished()
    assert record_of(book, 1300).dates == ()
    assert "DATES" not in record_text(record_of(book, 1300))
    # Nothing is laid yet.
    fresh = begun(DRY, products=(COATING,), handover=LABEL).job()
    assert [one.about for one in told_dates(fresh, (), record_of(begun(DRY), 9).cares, us(9))] == [
        "leave"
    ]


def test_what_is_over_when_it_leaves_is_not_on_the_customers_sheet() -> None:
    book = job()
    book.do(1200 + 30 * HOUR_S, rules.close_job, JOB)
    sheet = customer_sheet(record_of(book, 1200 + 31 * HOUR_S))
    assert [date.about for date in sheet.dates] == ["wet"]
