"""Signs of being unwell, what is said about them, and the sign of life."""

from __future__ import annotations

import pytest

from cartclock.engine.body.signs import (
    NEVER_CALLS,
    NOT_MEDICAL,
    SIGNS,
    STOP_TITLE,
    Advice,
    Emergency,
    check_in,
    first_aid,
    seriousness,
    whom_to_call,
)
from cartclock.engine.facts import events as ev
from tests.kit.book import Book, us

MINUTE_S = 60
HEAT_STROKE = ("confusion", "slurred speech", "collapse", "hot skin")
MILDER = (
    "headache",
    "dizziness",
    "nausea",
    "weakness",
    "cramps",
    "heavy sweating",
    "thirst",
    "very dark urine",
)
BURN = "burning skin after wheel cleaner"


def text(found: Advice) -> str:
    """All of it in one line."""
    return " ".join((found.title, *found.lines))


@pytest.mark.parametrize("sign", HEAT_STROKE, ids=lambda s: f"NIOSH heat illness, from memory: {s}")
def test_a_sign_of_heat_stroke_is_an_emergency(sign: str) -> None:
    found = first_aid(("thirst", sign))
    assert found.seriousness == "emergency"
    assert found.title == "CALL THE EMERGENCY NUMBER"
    for words in ("emergency number", "water and ice", "Do not stay alone", "medical advice"):
        assert words in text(found)
    assert "cannot call anybody" in text(found)


@pytest.mark.parametrize("sign", MILDER, ids=lambda s: f"NIOSH heat illness, from memory: {s}")
def test_a_milder_sign_stops_the_work(sign: str) -> None:
    found = first_aid((sign,))
    assert found.seriousness == "stop"
    assert "Stop work" in text(found)
    assert "Drink water" in text(found)
    assert found.lines[-1] == NOT_MEDICAL
    assert ("see a doctor" in text(found)) is (sign == "very dark urine")


def test_burning_skin_says_that_the_pain_comes_late_mmwr_64_32() -> None:
    found = first_aid((BURN, "headache"))
    assert found.seriousness == "skin"
    for words in ("Rinse", "pain comes late", "medical help", "medical advice"):
        assert words in text(found)


def test_an_emergency_does_not_hide_the_burn() -> None:
    found = first_aid((BURN, "collapse"))
    assert found.title == "CALL THE EMERGENCY NUMBER"
    assert "Rinse" in text(found)
    assert "Rinse" not in text(first_aid(("collapse",)))


def test_the_number_that_is_settled_is_what_stands_in_large() -> None:
    settled = Emergency("112", "carport, 12 Orchard Lane")
    found = first_aid(("collapse",), settled)
    assert (found.title, found.here) == ("CALL 112", "carport, 12 Orchard Lane")
    assert found.lines[0] == "Call 112 now. This program cannot call anybody."
    # For the milder signs nobody need say yet where to come to.
    milder = first_aid(("headache",), settled)
    assert (milder.title, milder.here) == (STOP_TITLE, "")
    assert "call the emergency number, 112." in text(milder)
    assert "The emergency number is 112." in text(first_aid((BURN,), settled))
    assert "112" not in text(first_aid((BURN,)))


def test_help_is_not_sent_to_the_shop_when_one_works_elsewhere() -> None:
    shop = ("The Green Carport", ("12 Orchard Lane", "Newtown"))
    own = Emergency("112", "12 Orchard Lane, Newtown")
    # Nothing said, or the shop by another of its names.
    for place in ("", "the green carport", "12 orchard lane"):
        assert whom_to_call("112", place, *shop) == own
    away = whom_to_call("112", "5 Mill Road", *shop)
    assert (away.here, away.shop) == ("5 Mill Road", "12 Orchard Lane, Newtown")
    assert whom_to_call("", "5 Mill Road", "", ()) == Emergency("", "5 Mill Road")
    found = first_aid((BURN,), away)
    assert (found.here, found.shop) == (away.here, away.shop)


def test_every_sign_stands_once_and_is_known() -> None:
    names = [sign.say for sign in SIGNS]
    assert sorted(names) == sorted((*HEAT_STROKE, *MILDER, BURN))


def test_no_sign_no_advice_and_an_unknown_one_is_not_ignored() -> None:
    assert first_aid(()) == Advice("", "", ())
    assert seriousness(("itching elbow",)) == "stop"
    assert seriousness(("  Slurred Speech ",)) == "emergency"
    assert seriousness(("itching elbow", "hot skin", "thirst")) == "emergency"


def test_lines_fit_the_smallest_screen_folded_and_eighty_columns_whole() -> None:
    for sign in SIGNS:
        assert all(len(line) <= 80 for line in first_aid((sign.say,)).lines)


# "I am well".


def checked(*presses: tuple[float, int]) -> Book:
    """A shift with "I am well" (minute, period in minutes)."""
    book = Book()
    book.press(0, ev.ClockedOn())
    for minute, every in presses:
        book.press(minute * MINUTE_S, ev.CheckedIn(every * MINUTE_S))
    return book


def at(book: Book, seconds: float) -> tuple[int, int, int]:
    """(due in, overdue by, loudness) at a second."""
    found = check_in(book.shift(), us(seconds))
    return found.due_in_s, found.overdue_s, found.loudness


@pytest.mark.parametrize(
    ("overdue_s", "loudness"),
    [(0, 0), (59, 0), (60, 1), (299, 1), (300, 2), (599, 2), (600, 3), (86_400, 3)],
    ids=lambda value: f"our own judgement: {value}",
)
def test_louder_and_louder(overdue_s: int, loudness: int) -> None:
    assert at(checked((0, 30)), 1800 + overdue_s) == (0, overdue_s, loudness)


def test_due_in() -> None:
    book = checked((10, 30))
    assert at(book, 600) == (1800, 0, 0)
    assert at(book, 2399.5) == (1, 0, 0)
    assert not check_in(book.shift(), us(2399.5)).overdue
    assert check_in(book.shift(), us(2400)).overdue


def test_the_newest_counts_and_no_other_press_does() -> None:
    book = checked((0, 30), (20, 10))
    book.press(25 * MINUTE_S, ev.DrinkTaken(240))
    assert at(book, 26 * MINUTE_S) == (4 * MINUTE_S, 0, 0)
    # Before the second one the first one holds.
    assert at(book, 19 * MINUTE_S) == (11 * MINUTE_S, 0, 0)
    book.press(27 * MINUTE_S, ev.PressStruck(2))
    assert at(book, 31 * MINUTE_S) == (0, MINUTE_S, 1)


@pytest.mark.parametrize(
    "book", [checked(), checked((0, 30), (5, 0)), checked((0, -5))], ids=["never", "ended", "less"]
)
def test_without_a_period_nothing_is_due(book: Book) -> None:
    found = check_in(book.shift(), us(99_999))
    assert (found.every_s, found.due_us, found.loudness) == (0, None, 0)
    assert not found.overdue
    assert found.sentence == ""


def test_nothing_is_due_off_the_clock() -> None:
    book = checked((0, 30))
    book.press(1900, ev.ClockedOff())
    assert check_in(book.shift(), us(9999)).due_us is None


def test_it_never_pretends_to_call_anybody() -> None:
    book = checked((0, 30))
    assert check_in(book.shift(), us(1799)).sentence == ""
    assert check_in(book.shift(), us(1800)).sentence == f'Your "I am well" is due. {NEVER_CALLS}'
    late = check_in(book.shift(), us(1800 + 7 * MINUTE_S)).sentence
    assert late == f'Your "I am well" is overdue by 7 min. {NEVER_CALLS}'
    assert "never calls anybody" in late
