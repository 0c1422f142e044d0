"""One list of dates: no two papers of a job name two ends of one thing."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

import pytest
from msgspec.structs import replace

from cartclock.engine.after.dates import About, date_of, told_dates
from cartclock.engine.facts import events as ev
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.forms.calendar_form import calendar_file
from cartclock.engine.paper.forms.message import message
from cartclock.engine.paper.keep import dates_to_keep
from cartclock.engine.paper.papers import PAPERS as PAPERS_
from cartclock.engine.plan.plan import Aftercare, Cure, Product
from cartclock.engine.record.customer import customer_sheet
from cartclock.engine.record.record import Record
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, Book, us
from tests.kit.care import CURED, DONE_S, DRY, LABEL, WASH, begun, coat, finished, record_of
from tests.kit.pdf import sheets
from tests.kit.setting import aftercare_text, customer_text, record_text, windscreen_text

HOUR_S = 3600
# Cure and hand-over 12 h, the product's own dry time 24 h, the aftercare's line 48 h.
COATING = Product("coat", "Coating", unit="drops", dry_s=24 * HOUR_S)
LEAVE, TOUCH, WET = "Tue 22 Sep 2026 02:34", "Tue 22 Sep 2026 14:34", "Wed 23 Sep 2026 14:34"


def job() -> Book:
    """A coat whose last touch was Mon 21 Sep 2026 14:33:20 UTC, at 22 C."""
    stage = replace(CURED, kind="coat", cure=Cure(12 * HOUR_S))
    book = begun(
        DRY, replace(WASH, about="wash"), stages=(stage,), products=(COATING,), handover=LABEL
    )
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
        "leave": "not before {} May be handed over",
        "touch": "not before {} May be touched",
        "wet": "not before {} May get wet",
        "wash": "not before {} May be washed",
    },
    "aftercare": {
        "leave": "May be handed over not before {}",
        "touch": "May be touched not before {}",
        "wet": "May get wet not before {}",
        "wash": "May be washed not before {}",
    },
    "customer": {
        "leave": "not before {}, 12 hours after Coat",
        "touch": "Do not touch before {}",
        "wet": "KEEP IT DRY UNTIL {}",
        "wash": "First wash from {}",
    },
    "windscreen": {"wet": "Keep dry until {}"},
    "message": {
        "touch": "Do not touch before {}.",
        "wet": "Keep it dry until {}.",
        "wash": "First wash from {}.",
    },
}
# As the shop's papers write an instant, and as a customer's do.
TOLD: dict[About, tuple[str, str]] = {
    "leave": (LEAVE, "Tue 22 Sep, 02:34"),
    "touch": (TOUCH, "Tue 22 Sep, 14:34"),
    "wet": (WET, "Wed 23 Sep, 14:34"),
    "wash": ("Mon 28 Sep 2026 00:00", "Mon 28 Sep 2026"),
}
WHEN = r"\w{3} \d+ \w{3}(?: \d{4})?(?:,? \d\d:\d\d)?"


@pytest.mark.parametrize("paper", SAID)
def test_every_paper_tells_the_same_dates(paper: str) -> None:
    text = flat(re.sub(r"[|+]|--+", " ", PAPERS[paper](record_of(job(), 1300))))
    for about, words in SAID[paper].items():
        when = TOLD[about][paper not in ("record", "aftercare")]
        assert words.format(when) in text
        # One thing has one end: the same words stand before no other time.
        before, after = map(re.escape, words.split("{}"))
        told = re.findall(f"{before}({WHEN}){after}", text)
        assert set(told) == {when}


def test_the_record_tells_an_end_once_with_what_it_is_counted_from() -> None:
    wash = replace(WASH, about="wash", until="P7D", from_="", say="No shampoo.")
    book = finished(DRY, wash, replace(WASH, about="wash"), stages=(CURED,))
    book.do(1300, rules.close_job, JOB)
    text = flat(record_text(record_of(book, 1400))).partition("DATES TOLD TO THE CUSTOMER")[2]
    text = text.partition("NOTES, OVERRULED")[0]
    start = "7 days from Coat, roof, Mon 21 Sep 14:33"
    assert (
        f"not before {WET} May get wet counted from: 48 hours from Coat, roof, Mon 21 Sep 14:33; "
        "source: label of the pack - Until then: Keep it dry." in text
    )
    assert f"May be washed counted from: {start} - Until then: No shampoo. - Then: First" in text
    assert text.count(WET) == 1 and text.count("29 Sep 2026 00:00") == 1
    # An end that no date is told of stands by itself.
    longer = replace(DRY, say="No polish.", until="P30D", about="nothing")
    text = flat(record_text(record_of(finished(DRY, longer, stages=(CURED,)), 1300)))
    assert "until Wed 21 Oct 2026 (included) No polish." in text


def test_html_and_print_tell_the_dates_of_the_text() -> None:
    record = record_of(job(), 1300)
    facts = PaperFacts(record)
    dates = dates_to_keep(customer_sheet(record))
    assert [date.first for date in dates] == [True, False, False]
    html = unescape(re.sub("<[^>]*>", " ", PAPERS_["sheet"].made("html", facts).decode()))
    pdf = sheets(PAPERS_["sheet"].made("pdf", facts))
    for date in dates:
        for form in (flat(html), flat(" ".join(page.text for page in pdf))):
            assert date.when in form and date.label in form
    card = sheets(PAPERS_["windscreen"].made("pdf", facts))[0].text
    assert all(part in card for part in TOLD["touch"][1].split(", "))


def test_the_calendar_leaves_it_alone_as_long_as_the_card_says() -> None:
    events = calendar_file(record_of(job(), 1300), 1).decode().split("BEGIN:VEVENT")
    (alone,) = (event for event in events if "leave it alone" in event)
    assert "DTEND:20260922T143400Z" in alone


def test_the_whole_day_of_a_label_is_over_at_its_end() -> None:
    book = finished(replace(DRY, until="P1D"), stages=(CURED,))
    wet = date_of(record_of(book, 1300).dates, "wet")
    assert wet is not None and wet.day == "2026-09-22"
    assert "not before Wed 23 Sep 2026 00:00 May get wet" in flat(
        record_text(record_of(book, 1300))
    )


def test_no_paper_ends_and_begins_on_one_day() -> None:
    soap = replace(DRY, say="No shampoo.", until="P7D")
    book = finished(soap, WASH, replace(WASH, say="Polish.", after=""), stages=(CURED,))
    book.do(1300, rules.close_job, JOB)
    record = record_of(book, 1400)
    sheet = flat(customer_text(customer_sheet(record)))
    # What the plan marks as nothing stands among no dates.
    assert "from Tue 29 Sep 2026 First wash." in sheet
    # What hangs on something else keeps its day.
    assert "from Mon 28 Sep 2026 Polish." in sheet
    assert "From Tue 29 Sep 2026: First wash." in message(record)
    assert "Keep it dry up to and including Mon 28 Sep 2026." in message(record)
    text = flat(record_text(record))
    assert "Tue 29 Sep 2026: moved from Mon 28 Sep 2026, that day still belongs to: No" in text


def test_a_dry_time_longer_than_the_aftercare_is_told_by_every_paper() -> None:
    book = finished(replace(DRY, until="PT1H"), products=(COATING,))
    record = record_of(book, 1300)
    assert f"not before {TOUCH} May get wet" in flat(record_text(record))
    told = TOLD["touch"][1]
    assert told in PAPERS["customer"](record) and "No water on it: Coat." in PAPERS["customer"](
        record
    )
    assert f"Keep it dry until {told}." in message(record)
    assert f"Keep dry until {told}" in windscreen_text(record)


def test_while_it_is_worked_on_no_paper_names_a_date() -> None:
    book = job()
    book.do(1300, changes.redo, JOB, "Coat", ("roof",), "high spot")
    record = record_of(book, 1400)
    assert [date.at_us for date in record.dates if date.about != "wash"] == [None, None, None]
    # In the ten lines, and in the list of the dates.
    assert flat(record_text(record)).count("known when Coat is finished") == 6
    text = flat(PAPERS["customer"](record))
    assert "Do not touch before not known yet when Coat is finished" in text
    assert not re.search(r"[A-Z][a-z]{2} \d+ Sep, ", text)


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
    assert [date.about for date in sheet.dates] == ["wet", "wash"]
