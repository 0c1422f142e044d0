"""The card behind the windscreen: one date, large, never one that is too early."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.after.dates import ToldDate, date_of
from cartclock.engine.facts import events as ev
from cartclock.engine.letters import cells
from cartclock.engine.paper.facts import PaperFacts, Size
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.paper.sheets.windscreen import NOTHING, UNKNOWN, CardWords, card_words
from cartclock.engine.plan.plan import Cure
from cartclock.engine.record.record import Record
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, Book, us
from tests.kit.care import CURED, begun, coat, finished, record_of
from tests.kit.pdf import sheets
from tests.kit.setting import windscreen_pdf, windscreen_text

GOLDEN = """\
================================================================================
                        WET COATING: DO NOT TOUCH BEFORE
================================================================================

(large)

(large)

                                Tue 22 Sep 03:34
================================================================================
                               Ask +351 555 0100

grey van, job 7; The shed; laid last: Coat, roof; times of Europe/Lisbon,
written Mon 21 Sep 2026 15:35
"""


def coated(cure: Cure | None, **facts: str) -> Book:
    """A coat that ended at second 1200, 15:33:20 in Lisbon."""
    stage = replace(CURED, kind="coat", cure=cure)
    book = begun(stages=(stage,), **{"zone": "Europe/Lisbon", **facts})
    book.press(0, ev.ReadingTaken(air_c=22.0, rh=50, panel_c=22.0))
    coat(book, 0, "bonnet", "roof")
    return book


WET = "Wet coating: do not touch before"


def said(record: Record) -> str:
    """All of the card but its foot, in one line."""
    found = card_words(record)
    return " ".join((found.over, *found.lines, *found.under))


def test_the_whole_card() -> None:
    record = record_of(coated(Cure(12 * 3600)), 1300)
    assert card_words(record) == CardWords(WET, ("Tue 22 Sep", "03:34"))
    text = windscreen_text(record, "The shed", "+351 555 0100")
    # Day and clock are drawn in letters of half blocks, and told in words under them.
    assert re.sub(r"(?:[ \u2580\u2584\u2588]*[\u2580\u2584\u2588]\n)+", "(large)\n", text) == GOLDEN
    assert all(len(line) <= 80 for line in text.splitlines())


# Height of the capitals of the bold font in shares of its size (its OS/2 table: 1493 of 2048).
CAPITAL = 0.729
MM = 72 / 25.4


@pytest.mark.parametrize("hours", [2, 12, 30 * 24], ids=lambda hours: f"{hours} h")
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_in_print_it_is_one_sheet_across_to_be_read_through_glass(hours: int, size: Size) -> None:
    book = coated(Cure(hours * 3600))
    dry = replace(record_of(book, 1300).dates[0], about="wet", at_us=us(60 * 24 * 3600))
    record = record_of(book, 1300)
    record = replace(record, dates=(*record.dates, dry))
    (card,) = sheets(windscreen_pdf(record, "The shed", "+351 555 0100", size))
    width, height = card.size
    assert width > height
    tall = {one.text: one.size * CAPITAL / MM for one in card.said}
    day, clock = card_words(record).lines
    # 20 minutes of arc are 8.7 mm at 1.5 m (NUREG-0700, read second-hand).
    assert 55 <= tall[clock] <= 70
    assert 28 <= tall[day] <= 40
    foot = min(card.said, key=lambda one: one.size).text
    assert all(mm >= 10.2 for text, mm in tall.items() if text != foot)
    assert foot.startswith("grey van, job 7; The shed")
    assert {WET, "Ask +351 555 0100"} <= set(tall)
    left, low, right, top = card.live
    for one in card.said:
        assert left - 0.1 <= one.x <= right and low - 0.1 <= one.y <= top


def test_both_sizes_say_the_same_in_the_same_places() -> None:
    record = record_of(coated(Cure(12 * 3600)), 1300)
    a4, letter = (
        sheets(windscreen_pdf(record, "The shed", "+351 555 0100", size))[0]
        for size in ("A4", "Letter")
    )
    assert [one.text for one in a4.said] == [one.text for one in letter.said]
    for one, other in zip(a4.said, letter.said, strict=True):
        assert one.x - a4.live[0] == pytest.approx(other.x - letter.live[0], abs=0.1)
        assert one.y - a4.live[1] == pytest.approx(other.y - letter.live[1], abs=0.1)


def test_a_year_is_told_where_it_is_another() -> None:
    record = record_of(coated(Cure(150 * 24 * 3600)), 1300)
    assert card_words(record).lines == ("Thu 18 Feb 2027", "14:34")


def test_cold_makes_it_longer_and_the_foot_says_so() -> None:
    book = coated(Cure(12 * 3600, 15.0, 24 * 3600, example=True))
    book.press(1250, ev.ReadingTaken(air_c=9.0, rh=50))
    record = record_of(book, 1300)
    assert said(record) == f"{WET} Tue 22 Sep 15:34"
    text = " ".join(windscreen_text(record).split())
    assert "Coat, roof, longer because it was cold" in text
    assert "example times, replace from the pack" in text


def test_a_car_that_leaves_before_it_is_cured_is_told_the_end_in_the_cold() -> None:
    """Outside nobody measures, so the warm end would be a promise that nobody can keep."""
    book = coated(Cure(12 * 3600, 15.0, 24 * 3600))
    assert said(record_of(book, 1300)) == f"{WET} Tue 22 Sep 03:34"
    book.do(1400, rules.close_job, JOB)
    record = record_of(book, 1500)
    assert said(record) == f"{WET} Tue 22 Sep 15:34"
    touch = date_of(record.dates, "touch")
    assert touch is not None and touch.mild_us == us(1200 + 12 * 3600)
    # Cured in the shop, it stays what it was.
    cured = coated(Cure(12 * 3600, 15.0, 24 * 3600))
    cured.do(1200 + 12 * 3600, rules.close_job, JOB)
    late = date_of(record_of(cured, 1300 + 12 * 3600).dates, "touch")
    assert late is not None and (late.at_us, late.mild_us) == (us(1200 + 12 * 3600), None)


def test_papers_tell_one_end_with_that_of_another_climate_beside_it() -> None:
    def papers(book: Book, at_s: float) -> dict[str, str]:
        made = PaperFacts(record_of(book, at_s))
        names = ("sheet", "record", "aftercare", "windscreen")
        return {
            name: " ".join(PAPERS[name].made("text", made).decode().replace("|", " ").split())
            for name in names
        }

    # While it is here its readings count, and it may still get colder.
    here = papers(coated(Cure(12 * 3600, 15.0, 24 * 3600)), 1300)
    colder = "colder than 15 C till then, Tue 22 Sep"
    assert "DO NOT TOUCH BEFORE Tue 22 Sep, 03:34" in here["sheet"]
    assert f"If it gets {colder}, 15:34." in here["sheet"]
    for paper in ("record", "aftercare", "windscreen"):
        assert f"if it gets {colder} 2026 15:34" in here[paper]
    assert "may be touched from Tue 22 Sep 03:34 (under 15 C Tue 22 Sep 15:34)" in here["record"]
    # Outside nobody measures, so the end in the cold is told.
    gone = coated(Cure(12 * 3600, 15.0, 24 * 3600))
    gone.do(1400, rules.close_job, JOB)
    told = papers(gone, 1500)
    assert "DO NOT TOUCH BEFORE Tue 22 Sep, 15:34" in told["sheet"]
    assert "If it stays at 15 C and more, already Tue 22 Sep, 03:34." in told["sheet"]
    for paper in ("record", "aftercare", "windscreen"):
        assert "told for the cold; at 15 C and more already Tue 22 Sep 2026 03:34" in told[paper]
    # Cured while it was here, no paper speaks of the cold.
    cured = coated(Cure(12 * 3600, 15.0, 24 * 3600))
    cured.do(1200 + 12 * 3600, rules.close_job, JOB)
    for text in papers(cured, 1300 + 12 * 3600).values():
        assert "colder" not in text and "for the cold" not in text and "15:34" not in text


def test_what_was_cured_before_it_left_is_not_cured_anew_by_another_film() -> None:
    """The second film has no cold, and ends behind the first one."""
    first = replace(CURED, name="Base", cure=Cure(3600, 15.0, 24 * 3600))
    book = begun(stages=(first, replace(CURED, cure=Cure(3 * 3600))))
    book.press(0, ev.ReadingTaken(air_c=22.0, rh=50, panel_c=22.0))
    coat(book, 0, "bonnet", "roof")
    coat(book, 6000, "bonnet", "roof")
    book.do(7300, rules.close_job, JOB)
    touch = date_of(record_of(book, 7400).dates, "touch")
    assert touch is not None
    assert (touch.at_us, touch.mild_us, touch.cold_us) == (us(7200 + 3 * 3600), None, None)


def test_while_it_is_worked_on_no_time_is_told() -> None:
    book = finished(stages=(CURED,))
    book.do(1300, changes.redo, JOB, "Coat", ("roof",), "high spot")
    assert said(record_of(book, 1400)) == "Coat wet, do not touch It is still being worked on."


def test_once_it_is_over_it_says_so_and_when() -> None:
    record = record_of(coated(Cure(3600)), 1200 + 3640)
    assert said(record) == "Coating may be touched since Mon 21 Sep 2026 16:34"
    assert said(record_of(coated(Cure(3600)), 1200 + 3639)).startswith("Wet")


@pytest.mark.parametrize(
    ("dry_s", "told"),
    [(-60, "may get wet since Mon 21 Sep 2026 16:34"),
     (60, "may get wet since Mon 21 Sep 2026 16:35"),
     (120, "may be touched since Mon 21 Sep 2026 16:34")],
)  # fmt: skip
def test_it_says_that_it_may_get_wet_only_where_it_may(dry_s: int, told: str) -> None:
    record = record_of(coated(Cure(3600)), 1200 + 3720)
    (touch,) = (date for date in record.dates if date.about == "touch")
    assert touch.at_us is not None
    wet = replace(touch, about="wet", at_us=touch.at_us + dry_s * 1_000_000)
    record = replace(record, dates=(touch, wet))
    assert said(record) == f"Coating {told}"


def test_where_nothing_is_known_nothing_is_claimed() -> None:
    record = record_of(coated(None), 1300)
    assert card_words(record).lines == (UNKNOWN,)
    assert "wet" not in windscreen_text(record).lower()


def test_where_nothing_was_laid_no_card_speaks_of_what_was() -> None:
    assert card_words(record_of(finished(), 1300)).lines == (NOTHING,)


def test_a_repeated_hour_is_told_apart() -> None:
    record = record_of(coated(Cure(3600)), 1300)
    # 01:30 of Sun 25 Oct 2026 comes twice in Lisbon; this is the second one.
    at_us = 1_792_891_800_000_000
    date = ToldDate("touch", at_us, "coating", "Coat", "roof", "Coat, roof")
    record = replace(record, dates=(date,), now_us=at_us - 3_600_000_000)
    assert card_words(record).lines == ("Sun 25 Oct", "01:30 WET (UTC+00:00)")
    assert all(cells(line) <= 80 for line in windscreen_text(record).splitlines())


@given(st.text(max_size=120), st.text(max_size=120), st.integers(0, 40_000_000))
def test_no_line_is_too_wide_and_none_steers_the_terminal(
    what: str, vehicle: str, ahead_s: int
) -> None:
    record = record_of(finished(stages=(CURED,), vehicle=vehicle), 1300)
    at_us = us(1300 + ahead_s)
    date = ToldDate("touch", at_us, what, what, vehicle, f"{what}, {vehicle}", True, True)
    text = windscreen_text(replace(record, dates=(date,)), vehicle, what)
    for line in text.split("\n"):
        assert cells(line) <= 80
        assert all(char.isprintable() or ord(char) > 127 for char in line)
