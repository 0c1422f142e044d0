"""The sheet behind the windscreen: one sentence, large, never a time that is too early."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.after.dates import ToldDate
from cartclock.engine.facts import events as ev
from cartclock.engine.letters import cells
from cartclock.engine.paper.facts import Size
from cartclock.engine.paper.sheets.windscreen import NOTHING, windscreen_sentence
from cartclock.engine.plan.plan import Cure
from cartclock.engine.rules import changes
from tests.kit.book import JOB, Book, us
from tests.kit.care import CURED, begun, coat, finished, record_of
from tests.kit.pdf import sheets
from tests.kit.setting import windscreen_pdf, windscreen_text

GOLDEN = """\
================================================================================

        C O A T I N G   W E T ,   D O   N O T   T O U C H   B E F O R E

                              T U E   0 3 : 3 4 .

================================================================================

Do not touch  until Tue 22 Sep 2026 03:34 (Europe/Lisbon)
Laid last     Coat, roof
Vehicle       grey van, job 7
Ask           The shed, +351 555 0100
Written       Mon 21 Sep 2026 15:35
"""


def coated(cure: Cure, **facts: str) -> Book:
    """A coat that ended at second 1200, 15:33:20 in Lisbon."""
    stage = replace(CURED, kind="coat", cure=cure)
    book = begun(stages=(stage,), **{"zone": "Europe/Lisbon", **facts})
    book.press(0, ev.ReadingTaken(air_c=22.0, rh=50, panel_c=22.0))
    coat(book, 0, "bonnet", "roof")
    return book


def test_the_whole_sheet() -> None:
    record = record_of(coated(Cure(12 * 3600)), 1300)
    assert windscreen_sentence(record) == "Coating wet, do not touch before Tue 03:34."
    assert windscreen_text(record, "The shed", "+351 555 0100") == GOLDEN


@pytest.mark.parametrize("hours", [2, 12, 7 * 24], ids=lambda hours: f"{hours} h")
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_in_print_it_is_one_sheet_across_with_one_date_as_wide_as_it(
    hours: int, size: Size
) -> None:
    record = record_of(coated(Cure(hours * 3600)), 1300)
    (card,) = sheets(windscreen_pdf(record, "The shed", "+351 555 0100", size))
    width, height = card.size
    assert width > height
    largest = max(card.said, key=lambda one: one.size)
    assert largest.text == windscreen_sentence(record).partition("before ")[2]
    # Letters of the date: a fifth of the height, or as large as it fits between the margins.
    assert largest.size > height / 5 or largest.x < 60
    assert all(largest.size > 1.5 * one.size for one in card.said if one is not largest)
    assert "+351 555 0100" in card.text


@pytest.mark.parametrize(
    ("hours", "when"),
    [(2, "Mon 17:34"), (6 * 24, "Sun 15:34"), (7 * 24, "Mon 28 Sep 15:34")],
)
def test_a_weekday_alone_never_means_two_days(hours: int, when: str) -> None:
    record = record_of(coated(Cure(hours * 3600)), 1300)
    assert windscreen_sentence(record) == f"Coating wet, do not touch before {when}."


def test_cold_makes_it_longer_and_the_sheet_says_so() -> None:
    book = coated(Cure(12 * 3600, 15.0, 24 * 3600, example=True))
    book.press(1250, ev.ReadingTaken(air_c=9.0, rh=50))
    record = record_of(book, 1300)
    assert windscreen_sentence(record) == "Coating wet, do not touch before Tue 15:34."
    text = windscreen_text(record)
    assert "Coat, roof, longer because it was cold" in text
    assert "example, replace from the pack" in text


def test_while_it_is_worked_on_no_time_is_told() -> None:
    book = finished(stages=(CURED,))
    book.do(1300, changes.redo, JOB, "Coat", ("roof",), "high spot")
    assert windscreen_sentence(record_of(book, 1400)) == (
        "Coat wet, do not touch, it is still being worked on."
    )


def test_once_it_is_over_it_says_so_and_when() -> None:
    record = record_of(coated(Cure(3600)), 1200 + 3640)
    assert windscreen_sentence(record) == "Coating may be touched since Mon 21 Sep 2026 16:34."
    assert "wet" in windscreen_sentence(record_of(coated(Cure(3600)), 1200 + 3639))


@pytest.mark.parametrize(
    ("dry_s", "said"),
    [(-60, "may get wet since Mon 21 Sep 2026 16:34"),
     (60, "may get wet since Mon 21 Sep 2026 16:35"),
     (120, "may be touched since Mon 21 Sep 2026 16:34")],
)  # fmt: skip
def test_it_says_that_it_may_get_wet_only_where_it_may(dry_s: int, said: str) -> None:
    record = record_of(coated(Cure(3600)), 1200 + 3720)
    (touch,) = (date for date in record.dates if date.about == "touch")
    assert touch.at_us is not None
    wet = replace(touch, about="wet", at_us=touch.at_us + dry_s * 1_000_000)
    record = replace(record, dates=(touch, wet))
    assert windscreen_sentence(record) == f"Coating {said}."


def test_where_nothing_is_known_nothing_is_claimed() -> None:
    record = record_of(finished(), 1300)
    assert windscreen_sentence(record) == NOTHING
    assert "wet" not in windscreen_text(record).lower()


def test_a_repeated_hour_is_told_apart() -> None:
    record = record_of(coated(Cure(3600)), 1300)
    # 01:30 of Sun 25 Oct 2026 comes twice in Lisbon; this is the second one.
    at_us = 1_792_891_800_000_000
    date = ToldDate("touch", at_us, "coating", "Coat", "roof", "Coat, roof")
    record = replace(record, dates=(date,), now_us=at_us - 3_600_000_000)
    assert windscreen_sentence(record).endswith("before Sun 01:30 WET (UTC+00:00).")
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
