"""Drinks: the account of a shift, the next one in heat, and too much of it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.body.climate import climate
from cartclock.engine.body.water import Water, hot_since, is_hot, water
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import ReadingTaken
from tests.kit.book import Book, us

MINUTE_S, HOUR_S = 60, 3600
HOT = ReadingTaken(air_c=35.0, rh=40.0)
MILD = ReadingTaken(air_c=20.0, rh=40.0)


def drunk(*drinks: tuple[float, int]) -> Book:
    """A shift with drinks at these minutes."""
    book = Book()
    book.press(0, ev.ClockedOn())
    for minute, ml in drinks:
        book.press(minute * MINUTE_S, ev.DrinkTaken(ml))
    return book


def of(book: Book, minute: float, hot_from_minute: float | None = None) -> Water:
    """The water account at a minute."""
    hot_us = None if hot_from_minute is None else us(hot_from_minute * MINUTE_S)
    return water(book.shift(), us(minute * MINUTE_S), hot_us)


def due_minute(found: Water) -> float | None:
    """When the next drink is due, in minutes of the shift."""
    return None if found.due_us is None else (found.due_us - us(0)) / 60e6


def test_sums_of_the_shift_and_of_the_last_hour() -> None:
    book = drunk((10, 240), (50, 500), (70, 120))
    assert [of(book, minute).ml for minute in (9, 10, 69, 200)] == [0, 240, 740, 860]
    assert [of(book, m).last_hour_ml for m in (10, 69.9, 70, 109.9, 110, 130)] == [
        240,
        740,
        620,
        620,
        120,
        0,
    ]
    assert (of(book, 200).drinks, of(book, 200).most_in_hour_ml) == (3, 740)
    assert of(book, 200).last_us == us(70 * MINUTE_S)
    assert of(drunk(), 5).last_us is None


def test_a_struck_drink_was_not_drunk() -> None:
    book = drunk((10, 240), (20, 500))
    book.press(30 * MINUTE_S, ev.PressStruck(1))
    assert of(book, 40).ml == 500


def test_in_heat_the_next_is_due_twenty_minutes_after_the_last_niosh_2017_126() -> None:
    book = drunk((10, 240))
    assert due_minute(of(book, 12, hot_from_minute=0)) == 30
    assert due_minute(of(book, 12, hot_from_minute=11)) == 31
    assert due_minute(of(drunk(), 12, hot_from_minute=5)) == 25
    assert due_minute(of(book, 12)) is None


def test_due_from_the_instant_on() -> None:
    book = drunk((10, 240))
    before, then = of(book, 29.99, hot_from_minute=0), of(book, 30, hot_from_minute=0)
    assert (before.due, then.due) == (False, True)
    assert (before.due_in_s, then.due_in_s) == (0, 0)
    late = of(book, 45, hot_from_minute=0)
    assert late.due_in_s == -15 * MINUTE_S
    assert late.sentence == "The last drink was 35 min ago. Drink a cup now, about 240 ml."
    assert before.sentence == ""
    dry = of(drunk(), 45, hot_from_minute=0)
    assert dry.sentence == "It is hot and no drink is noted. Drink a cup now, about 240 ml."
    assert of(book, 500).sentence == ""


def test_nothing_is_due_after_the_shift() -> None:
    book = drunk((10, 240))
    book.press(20 * MINUTE_S, ev.ClockedOff())
    found = of(book, 50, hot_from_minute=0)
    assert (found.due_us, found.due_in_s, found.due, found.ml) == (None, None, False, 240)


@pytest.mark.parametrize(
    ("second_ml", "too_much"), [(700, False), (701, True)], ids=lambda v: f"NIOSH 2017-126: {v}"
)
def test_over_1400_ml_in_an_hour_is_too_much(second_ml: int, too_much: bool) -> None:
    book = drunk((0, 700), (59, second_ml))
    found = of(book, 59)
    assert found.too_much is too_much
    assert ("can do harm" in found.sentence) is too_much
    # A minute later the first drink is out of the hour.
    assert not of(book, 60).too_much


def test_no_reminder_asks_for_what_would_be_too_much() -> None:
    # 1200 ml by minute 20: another cup would make 1440 until the first 500 leave the hour.
    book = drunk((0, 500), (10, 500), (20, 200))
    assert due_minute(of(book, 25, hot_from_minute=0)) == 60
    # After one great drink, when it leaves.
    assert due_minute(of(drunk((5, 1400)), 25, hot_from_minute=0)) == 65


@given(
    drinks=st.lists(st.tuples(st.integers(0, 300), st.integers(1, 1500)), max_size=12).map(sorted),
    minute=st.integers(0, 400),
    hot_from=st.integers(0, 400),
)
def test_the_due_drink_never_makes_too_much_and_never_comes_early(
    drinks: list[tuple[int, int]], minute: int, hot_from: int
) -> None:
    hot_from = min(hot_from, minute)
    found = of(drunk(*drinks), minute, hot_from)
    due = due_minute(found)
    assert due is not None
    past = [(at, ml) for at, ml in drinks if at <= minute]
    assert sum(ml for at, ml in past if due - 60 < at <= due) + 240 <= 1400
    assert due >= hot_from + 20
    assert all(due >= at + 20 for at, _ml in past)
    assert due <= max([hot_from + 20, *(at + 60 for at, _ml in past)])
    assert found.ml == sum(ml for _at, ml in past)
    assert found.most_in_hour_ml == max(
        (sum(ml for at, ml in past if end - 60 < at <= end) for end in range(401)), default=0
    )


# Is it hot, and since when.


@pytest.mark.parametrize(
    ("reading", "acclimatized", "hot"),
    [
        (HOT, True, True),
        (MILD, False, False),
        (ReadingTaken(air_c=46.0, rh=30.0), True, True),
        (ReadingTaken(wbgt_c=24.0), False, True),
        (ReadingTaken(wbgt_c=24.0), True, False),
        (ReadingTaken(wbgt_c=10.0), False, False),
        (ReadingTaken(air_c=24.0, rh=30.0, wbgt_c=28.0), True, True),
        (ReadingTaken(air_c=math.nan, rh=40.0), False, None),
        (ReadingTaken(air_c=35.0), False, None),
        (ReadingTaken(panel_c=60.0), False, None),
        # Sun at 24 C is over the alert limit by the estimate, and calls for no drink by it alone.
        (ReadingTaken(air_c=24.0, rh=50.0, place="sun"), False, False),
        (ReadingTaken(air_c=24.0, rh=50.0, globe_c=45.0, place="sun"), False, True),
        (ReadingTaken(air_c=25.0, rh=50.0, place="sun"), False, True),
        # The index of the chart's own regression, 79 F and 81 F; the work is within its limit.
        (ReadingTaken(air_c=26.0, rh=45.0), True, False),
        (ReadingTaken(air_c=27.0, rh=45.0), True, True),
    ],
    ids=str,
)
def test_heat_index_80_f_or_a_verdict_not_clear_our_own_judgement(
    reading: ReadingTaken, acclimatized: bool, hot: bool | None
) -> None:
    assert is_hot(climate(0, reading), acclimatized) is hot


def test_since_when_it_is_hot() -> None:
    book = drunk()
    minutes = (10, MILD), (20, HOT), (40, HOT), (60, ReadingTaken(air_c=math.nan)), (80, MILD)
    for minute, reading in minutes:
        book.press(minute * MINUTE_S, reading)
    book.press(100 * MINUTE_S, HOT)
    since = [hot_since(book.shift(), us(m * MINUTE_S), False) for m in (15, 20, 70, 85, 400)]
    assert since == [None, us(20 * MINUTE_S), us(20 * MINUTE_S), None, us(100 * MINUTE_S)]
    assert hot_since(drunk().shift(), us(0), False) is None


# With a rest, and with a meal.


def test_a_drink_that_falls_due_in_a_rest_was_told_with_it() -> None:
    book = drunk()
    book.press(15 * MINUTE_S, ev.BreakTaken("heat", 15 * MINUTE_S))
    assert of(book, 21, hot_from_minute=0).with_rest
    # Long after the rest was called it rings by itself.
    late = drunk((15, 240))
    late.press(15 * MINUTE_S, ev.BreakTaken("heat", 45 * MINUTE_S))
    assert not of(late, 36, hot_from_minute=0).with_rest
    book.press(30 * MINUTE_S, ev.BreakEnded())
    assert not of(book, 31, hot_from_minute=0).with_rest
    meal = drunk()
    meal.press(15 * MINUTE_S, ev.BreakTaken("meal", 30 * MINUTE_S))
    assert not of(meal, 21, hot_from_minute=0).with_rest


def test_after_three_hours_without_a_meal_food_or_electrolytes_are_said_our_own_judgement() -> None:
    said = "and food or electrolytes too"
    book = drunk()
    assert said not in of(book, 179, hot_from_minute=0).sentence
    assert said in of(book, 180, hot_from_minute=0).sentence
    # Water alone is enough as long as meals replace the salt (NIOSH 2017-126).
    book.press(181 * MINUTE_S, ev.BreakTaken("meal", 30 * MINUTE_S))
    assert said not in of(book, 190, hot_from_minute=0).sentence
    book.press(211 * MINUTE_S, ev.BreakEnded())
    assert said not in of(book, 390, hot_from_minute=0).sentence
    assert said in of(book, 391, hot_from_minute=0).sentence
    # What was not hot does not count.
    assert said not in of(book, 391, hot_from_minute=300).sentence
