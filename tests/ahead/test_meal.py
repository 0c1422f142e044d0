"""A meal near enough stands for the rest that only the clock calls, never for one by the limit."""

from __future__ import annotations

import datetime

import pytest

from cartclock.engine.ahead.meal import until_meal_us
from cartclock.engine.body.pace import Pace
from cartclock.engine.body.rest_words import pace_line
from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.turn import Turn
from cartclock.engine.now.moment import Facts, moment
from cartclock.engine.plan.plan import Stage, Work
from tests.kit.book import Book, opened, us

MINUTE = 60
WASH = Stage("Wash", tuple(f"panel {n}" for n in range(1, 25)), (Work("wash", 5.0),))
# 92 F of heat index, and under the limit for somebody used to it (NIOSH 2016-106): only the hour
# at it speaks.
WARM = ev.ReadingTaken(air_c=32, rh=50)


def clock(at_s: float) -> datetime.time:
    return local(us(at_s), "UTC").time()


def washing(minutes: int, reading: ev.ReadingTaken = WARM, used: bool = True) -> Book:
    book = opened(WASH, on=False)
    book.press(0, ev.ClockedOn(acclimatization="acclimatized" if used else "", because="told"))
    book.press(0, reading)
    for number in range(minutes // 5):
        book.press(number * 300, ev.WorkStarted("Wash", (WASH.sections[number],), Turn()))
        book.press(number * 300 + 300, ev.StepFinished("Wash", (WASH.sections[number],), Turn()))
    return book


def pace(book: Book, at_s: float, meal: datetime.time | None) -> Pace:
    shifts: dict[str, Shift] = {"me": book.shift()}
    facts = Facts(len(book.rows), 0, book.jobs(), shifts, {"me": {}}, None, None, meal)
    watch = moment(facts, "me", "", us(at_s), True).me.watch
    assert watch is not None
    return watch.pace


def test_a_meal_within_a_quarter_hour_of_the_mark_is_the_rest() -> None:
    book, at_s = washing(55), 55 * MINUTE
    without = pace(book, at_s, None)
    assert without.rule == "an hour without a break"
    assert without.left_s is not None
    near = clock(at_s + 10 * MINUTE)
    found = pace(book, at_s, near)
    assert (found.left_s, found.grade) == (None, "")
    assert pace_line(found) == "no rest due before the meal, which is one"
    far = clock(at_s + without.left_s + 20 * MINUTE)
    assert pace(book, at_s, far).rule == "an hour without a break"


def test_a_meal_never_stands_for_the_limit() -> None:
    hot = ev.ReadingTaken(air_c=36, rh=24)
    book = washing(55, hot, used=False)
    found = pace(book, 55 * MINUTE, clock(56 * MINUTE))
    assert found.rule in ("NIOSH limit", "NIOSH table")


@pytest.mark.parametrize(
    ("meal_minute", "left"), [(90, 30), (59, None), (60, None)], ids=["ahead", "past", "now"]
)
def test_a_meal_whose_time_is_past_is_none(meal_minute: int, left: int | None) -> None:
    book = washing(55)
    found = until_meal_us(book.shift(), clock(meal_minute * MINUTE), us(60 * MINUTE))
    # The clock of the setting has no seconds.
    assert found is None if left is None else 0 <= left * 60_000_000 - (found or 0) < 60_000_000
    assert until_meal_us(book.shift(), None, us(60 * MINUTE)) is None


def test_a_meal_that_was_eaten_early_is_no_meal_ahead() -> None:
    book = washing(30)
    meal = clock(60 * MINUTE)
    assert until_meal_us(book.shift(), meal, us(31 * MINUTE)) is not None
    book.press(31 * MINUTE, ev.BreakTaken("meal", 1200))
    assert until_meal_us(book.shift(), meal, us(32 * MINUTE)) is None
    book.press(51 * MINUTE, ev.BreakEnded())
    assert until_meal_us(book.shift(), meal, us(52 * MINUTE)) is None
