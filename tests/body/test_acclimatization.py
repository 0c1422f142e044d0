"""Used to the heat or not: by the log's own hot days, by an answer, or by nobody's word."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.body.acclimatization import (
    Acclimatization,
    Answered,
    Held,
    acclimatization,
    answered,
    began,
    held,
    hot_days,
    hot_minutes,
)
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import HotDaysSaid, ReadingTaken
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Stage, Work
from tests.kit.book import Book, opened, us
from tests.kit.plans import opening

TODAY = date(2026, 7, 20)
LONG_AGO = TODAY - timedelta(days=300)
MINUTE_S, DAY_S = 60, 86_400
WORK = Stage("Polish", ("door",), (Work("polish", 30.0),))
OPENING = opening(WORK)
HOT = ReadingTaken(wbgt_c=29.0)


def days(*ago: int) -> list[date]:
    """Days so many days ago."""
    return [TODAY - timedelta(days=n) for n in ago]


def by_log(ago: Iterable[int], log_from: date | None = LONG_AGO) -> Acclimatization:
    """The verdict by a log with these hot days."""
    return acclimatization(days(*ago), TODAY, None, log_from)


def said(number: int, ago: int = 0) -> Answered:
    """An answer given so many days ago."""
    return Answered(HotDaysSaid(number), TODAY - timedelta(days=ago))


SCHEDULE = "NIOSH acclimatization schedule, 7 to 14 days, about a week away loses it"


@pytest.mark.parametrize(
    ("ago", "acclimatized"),
    [
        (range(1, 8), True),
        (range(1, 7), False),
        (range(2, 15, 2), True),
        (range(6, 13), True),
        (range(7, 14), False),
        (range(8, 15), False),
        ((1, 2, 3, 4, 5, 6, 15), False),
        ((1, 2, 3, 4, 5, 6, 12), True),
        ((1, 2, 3, 4, 5, 6, 13), False),
        ((), False),
        ((0, 1, 2, 3, 4, 5, 6), False),
        ((1, *range(9, 15)), False),
        ((1, 2, *range(9, 14)), False),
        ((1, 2, *range(8, 14)), True),
    ],
    ids=lambda value: f"{SCHEDULE}: {value if isinstance(value, bool) else [*value]}",
)
def test_seven_hot_days_in_fourteen_the_last_within_a_week(
    ago: Iterable[int], acclimatized: bool
) -> None:
    found = by_log(ago)
    assert found.acclimatized is acclimatized
    assert found.source == "log"
    assert found.because.startswith("Acclimatized:" if acclimatized else "Not acclimatized:")


@pytest.mark.parametrize(
    ("found", "because"),
    [
        (
            by_log(range(1, 9)),
            "Acclimatized: 8 hot days in the last 14 by the log, the last one yesterday.",
        ),
        (
            by_log(range(4, 12)),
            "Acclimatized: 8 hot days in the last 14 by the log, the last one 4 days ago.",
        ),
        (by_log([0, 3]), "Not acclimatized: 1 hot day in the last 14 by the log."),
        (
            by_log(range(8, 15)),
            "Not acclimatized: 7 hot days in the last 14 by the log, "
            "but the last one was 8 days ago.",
        ),
        (
            by_log((1, *range(9, 15))),
            "Not acclimatized: 7 hot days in the last 14 by the log, "
            "but about a week away lies between them.",
        ),
        (
            acclimatization([], TODAY, said(9, 2), TODAY),
            "Acclimatized: 9 hot days in the last 14 by your answer of 2026-07-18, "
            "the last one 3 days ago.",
        ),
        (
            acclimatization([], TODAY, None, None),
            "Not acclimatized: nobody said on how many of the last 14 days the work was hot.",
        ),
    ],
    ids=["log", "days ago", "too few", "away", "away between", "answer", "nobody"],
)
def test_the_reason_is_a_sentence(found: Acclimatization, because: str) -> None:
    assert found.because == because


# Log or answer.


def test_a_log_of_fourteen_days_needs_no_answer() -> None:
    enough, short = TODAY - timedelta(days=14), TODAY - timedelta(days=13)
    assert by_log([1, 2], enough).source == "log"
    assert by_log([1, 2], short).source == ""
    assert acclimatization([], TODAY, said(14), enough).acclimatized is False
    assert acclimatization([], TODAY, said(14), short).acclimatized is True


def test_seven_hot_days_of_a_young_log_need_no_answer() -> None:
    assert by_log(range(1, 8), TODAY - timedelta(days=7)).acclimatized
    assert not by_log(range(1, 7), TODAY - timedelta(days=7)).acclimatized


def test_nobody_answered_is_not_acclimatized() -> None:
    for log_from in (None, TODAY):
        found = by_log([], log_from)
        assert (found.acclimatized, found.source, found.day, found.percent) == (False, "", 1, 20)


@pytest.mark.parametrize(
    ("number", "acclimatized"), [(0, False), (6, False), (7, True), (14, True)]
)
def test_an_answer_of_today(number: int, acclimatized: bool) -> None:
    found = acclimatization([], TODAY, said(number), None)
    assert (found.acclimatized, found.source) == (acclimatized, "answer")


def test_an_answer_grows_old_as_the_days_it_names_do() -> None:
    # The last day it names is the one before it was given.
    assert acclimatization([], TODAY, said(14, 5), None).acclimatized
    assert not acclimatization([], TODAY, said(14, 6), None).acclimatized
    # Days of the log that follow carry it on; the oldest it names drop out of the fourteen.
    assert acclimatization(days(1, 2, 3, 4, 5), TODAY, said(7, 6), None).acclimatized
    assert not acclimatization(days(1), TODAY, said(7, 10), None).acclimatized
    gone = acclimatization(days(1), TODAY, said(14, 15), None)
    assert (gone.acclimatized, gone.source) == (False, "")


def test_a_day_both_logged_and_named_counts_once() -> None:
    assert not acclimatization(days(1, 2, 3), TODAY, said(6), None).acclimatized
    assert acclimatization(days(1, 2, 9), TODAY, said(6), None).acclimatized


@pytest.mark.parametrize("number", [-1, 15, 99])
def test_an_impossible_answer_is_none(number: int) -> None:
    assert acclimatization([], TODAY, said(number), None).source == ""


def test_an_answer_of_tomorrow_is_none() -> None:
    assert acclimatization([], TODAY, said(9, -1), None).source == ""


# The build-up.


@pytest.mark.parametrize(
    ("ago", "day", "percent"),
    [
        ((), 1, 20),
        ((1,), 2, 40),
        ((1, 2), 3, 60),
        ((3, 2, 1), 4, 80),
        ((5, 4, 2, 1), 5, 100),
        ((8, 7), 1, 20),
        ((13, 12, 2), 2, 40),
        (range(8, 15), 1, 50),
        ((*range(9, 16), 1), 2, 60),
        ((*range(9, 16), 1, 2), 3, 80),
        ((*range(10, 17), 1, 2, 3), 4, 100),
        (range(40, 50), 1, 20),
        (range(1, 8), 8, 100),
    ],
    ids=lambda v: f"NIOSH acclimatization schedule, new 20-100, back 50-100: {v}",
)
def test_day_and_share_of_the_build_up(ago: Iterable[int], day: int, percent: int) -> None:
    found = by_log(ago)
    assert (found.day, found.percent) == (day, percent)


def test_the_acclimatized_work_the_whole_time() -> None:
    assert by_log(range(1, 15)).percent == 100
    assert acclimatization([], TODAY, said(7), None).percent == 100


AGO = st.sets(st.integers(-3, 30), max_size=25)


@given(ago=AGO, more=st.integers(1, 60))
def test_another_hot_day_never_takes_it_away(ago: set[int], more: int) -> None:
    before, after = by_log(ago), by_log(ago | {more})
    assert after.acclimatized or not before.acclimatized


@given(ago=AGO, answer=st.none() | st.builds(said, st.integers(0, 14), st.integers(0, 20)))
def test_equal_to_counting_day_by_day(ago: set[int], answer: Answered | None) -> None:
    found = acclimatization(days(*ago), TODAY, answer, LONG_AGO)
    built, idle = 0, 0
    for n in range(1, 15):
        if n in ago and idle >= 6:
            break
        built, idle = (built + 1, 0) if n in ago else (built, idle + 1)
    assert found.acclimatized is (built >= 7)
    assert 1 <= found.day <= 15
    assert found.percent in (20, 40, 50, 60, 80, 100)


# Hot minutes and hot days of the log.


def working(book: Book, from_s: float, to_s: float, reading: ReadingTaken = HOT) -> None:
    """Work between two seconds, with a reading every fifty minutes."""
    book.press(from_s, ev.WorkStarted("Polish", ("door",), Turn()))
    at_s = from_s
    while at_s < to_s:
        book.press(at_s, reading)
        at_s += 50 * MINUTE_S
    book.press(to_s, ev.WorkPutDown("Polish", ("door",), Turn()))


def minutes(book: Book, at_s: float) -> float:
    """Hot minutes up to a second."""
    assert book.odd() == []
    return hot_minutes(book.shift(), book.jobs(), us(at_s))


def test_hot_minutes_are_work_over_the_alert_limit_of_moderate_work() -> None:
    book = opened(WORK)
    book.press(0, HOT)
    book.press(0, ev.WorkStarted("Polish", ("door",), Turn()))
    assert minutes(book, 25.5 * MINUTE_S) == pytest.approx(25.5)
    book.press(50 * MINUTE_S, HOT)
    assert minutes(book, 65.5 * MINUTE_S) == pytest.approx(65.5)


@pytest.mark.parametrize(
    ("wbgt_c", "hot"),
    [(24.9, False), (25.0, True)],
    ids=["NIOSH 2016-106 RAL moderate 24.97, below", "NIOSH 2016-106 RAL moderate 24.97, above"],
)
def test_the_limit_is_the_threshold(wbgt_c: float, hot: bool) -> None:
    book = opened(WORK)
    working(book, 0, 600, ReadingTaken(wbgt_c=wbgt_c))
    assert minutes(book, 600) == (10.0 if hot else 0.0)


def test_breaks_and_what_no_reading_covers_are_not_hot_work() -> None:
    book = opened(WORK)
    book.press(0, HOT)
    book.press(0, ev.WorkStarted("Polish", ("door",), Turn()))
    book.press(1200, ev.WorkPutDown("Polish", ("door",), Turn()), ev.BreakTaken("heat"))
    book.press(2400, ev.BreakEnded(), ev.WorkStarted("Polish", ("door",), Turn()))
    # The reading goes stale at 60 minutes.
    assert minutes(book, 3 * 3600) == pytest.approx(40.0)


def test_hot_days_add_up_the_shifts_of_a_day() -> None:
    book = Book()
    book.press(0, OPENING)
    for day, spells in ((0, [(0, 70), (200, 255)]), (1, [(0, 119)]), (2, [(0, 121)])):
        for start, end in spells:
            begin_s = day * DAY_S + start * MINUTE_S
            end_s = day * DAY_S + end * MINUTE_S
            book.press(begin_s, ev.ClockedOn("carport", zone="UTC"))
            working(book, begin_s, end_s)
            book.press(end_s, ev.ClockedOff())
    assert book.odd() == []
    shifts = [book.shift(f"me {n}") for n in range(1, 5)]
    first = began(shifts[0])
    assert first is not None
    found = hot_days(shifts, book.jobs(), us(5 * DAY_S))
    assert found == (first, first + timedelta(days=2))


def test_a_shift_belongs_to_the_day_it_began_on_its_own_clock() -> None:
    # Clocked on half an hour before midnight.
    to_midnight = DAY_S - us(0) // 1_000_000 % DAY_S
    book = Book()
    book.press(0, OPENING)
    start = to_midnight - 30 * MINUTE_S
    book.press(start, ev.ClockedOn("carport", zone="UTC"))
    working(book, start, start + 150 * MINUTE_S)
    utc = began(book.shift())
    assert utc is not None
    assert hot_days([book.shift()], book.jobs(), us(start + DAY_S)) == (utc,)
    east = Book()
    east.press(start, ev.ClockedOn("carport", zone="Asia/Tokyo"))
    assert began(east.shift()) == utc + timedelta(days=1)


def test_the_newest_answer_is_taken_with_its_day() -> None:
    book = Book()
    book.press(0, ev.ClockedOn(zone="UTC"))
    book.press(10, HotDaysSaid(3))
    book.press(20, HotDaysSaid(9))
    day = began(book.shift())
    assert day is not None
    assert answered([book.shift()]) == Answered(HotDaysSaid(9), day)
    book.press(30, ev.PressStruck(2))
    assert answered([book.shift()]) == Answered(HotDaysSaid(3), day)
    assert answered([]) is None


def test_the_shift_is_judged_by_what_was_told_last() -> None:
    book = Book()
    book.press(0, ev.ClockedOn(zone="UTC"))
    assert held(book.shift()) == Held("", "")
    assert not held(book.shift()).acclimatized
    # An answer of an older program, which told no verdict with it, changes none.
    book.press(10, HotDaysSaid(9))
    assert held(book.shift()) == Held("", "")
    book.press(20, HotDaysSaid(9, "acclimatized", "Acclimatized: 9 hot days."))
    assert held(book.shift()) == Held("acclimatized", "Acclimatized: 9 hot days.")
    assert held(book.shift()).acclimatized
    book.press(30, HotDaysSaid(0, "not acclimatized", "Not acclimatized."))
    assert not held(book.shift()).acclimatized
    book.press(40, ev.PressStruck(3))
    assert held(book.shift()).acclimatized


def test_at_clocking_on_the_log_may_know() -> None:
    book = Book()
    book.press(0, ev.ClockedOn(acclimatization="acclimatized", because="9 hot days by the log"))
    assert held(book.shift()) == Held("acclimatized", "9 hot days by the log")


def test_the_reason_of_who_is_not_used_to_it_names_the_day_and_the_share() -> None:
    # NIOSH: new to the heat 20 % on the first day, 20 % more each day.
    for hot, day, percent in ((0, 1, 20), (1, 2, 40), (2, 3, 60), (3, 4, 80), (4, 5, 100)):
        found = acclimatization((), TODAY, said(hot, 0), None)
        assert found.word == "not acclimatized"
        assert found.sentence.endswith(
            f"Day {day} in the heat: about {percent} % of a usual day's hot time."
        )
    used = acclimatization((), TODAY, said(9, 0), None)
    assert (used.word, used.sentence) == ("acclimatized", used.because)
    unknown = acclimatization((), TODAY, None, None)
    assert unknown.word == ""
