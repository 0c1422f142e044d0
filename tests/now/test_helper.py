"""Two workers at one car: shared readings, and what the second is offered."""

from __future__ import annotations

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import DayExpected, ReadingTaken
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Shift
from cartclock.engine.now.helper import helper_move, with_readings
from cartclock.engine.rules import rules
from tests.kit.book import Book, opened
from tests.kit.plans import POLISH

WARM, HOT = ReadingTaken(air_c=24.0, rh=50.0), ReadingTaken(air_c=31.0, rh=45.0)


def readings(shift: Shift) -> list[object]:
    kinds = (ReadingTaken, DayExpected)
    return [row.event for row in shift.facts if isinstance(row.event, kinds)]


def pair() -> Book:
    """The worker on from the beginning, the helper for an hour from half past on."""
    book = opened(POLISH)
    book.press(60, WARM)
    book.press(1800, ev.ClockedOn("carport"), worker="helper")
    book.press(1900, ev.DrinkTaken(250))
    book.press(2000, DayExpected(18.0, 33.0))
    return book


def test_what_one_measured_both_know() -> None:
    book = pair()
    mine, theirs = book.shift("me 1"), book.shift("helper 1")
    shared = with_readings(theirs, [mine, theirs])
    assert readings(shared) == [WARM, DayExpected(18.0, 33.0)]
    # Drinks and signs are each worker's own, and the shift in the log is as it was.
    assert len(shared.facts) == 2
    assert theirs.facts == []
    book.press(2100, HOT, worker="helper")
    assert readings(with_readings(mine, [book.shift("helper 1")]))[-1] == HOT


def test_in_the_order_of_the_time_they_speak_of() -> None:
    book = pair()
    book.press(90, HOT, worker="helper", entered_s=2100)
    shared = with_readings(book.shift("me 1"), [book.shift("helper 1")])
    assert readings(shared) == [WARM, DayExpected(18.0, 33.0)]
    book = pair()
    book.press(1850, HOT, worker="helper", entered_s=2100)
    shared = with_readings(book.shift("me 1"), [book.shift("helper 1")])
    assert readings(shared) == [WARM, HOT, DayExpected(18.0, 33.0)]


def test_who_was_off_before_measured_nothing_for_this_shift() -> None:
    book = pair()
    book.do(2500, rules.clock_off)
    book.do(2600, rules.clock_off, worker="helper")
    book.press(3000, ev.ClockedOn("carport"), worker="helper")
    late = book.shift("helper 2")
    assert with_readings(late, [book.shift("me 1")]) is late
    # Nor does what is measured after it was over.
    book.press(4000, ev.ClockedOn("carport"))
    book.press(4100, HOT)
    over = book.shift("helper 1")
    assert readings(with_readings(over, [book.shift("me 1"), book.shift("me 2")])) == [
        WARM,
        DayExpected(18.0, 33.0),
    ]


DOOR = Move("take up", "job", "Polish", ("door",), why="order")
WING = Move("take up", "job", "Polish", ("wing",), why="order")
FILM = Move("take up", "job", "Coat", ("roof",), why="window")
LATE = Move("take up", "job", "Coat", ("roof",), why="late")
STAND = Move("stand by", "job", "Coat", ("roof",), why="window")
CLOSE, END = Move("close", "job", why="end"), Move("end", why="end")


@pytest.mark.parametrize(
    ("moves", "first", "taken"),
    [
        ((), DOOR, None),
        ((CLOSE,), None, None),
        ((DOOR, WING), None, DOOR),
        ((DOOR, WING), DOOR, WING),
        ((DOOR, WING), WING, DOOR),
        ((DOOR,), DOOR, DOOR),
        ((DOOR, END), DOOR, END),
        ((FILM, DOOR), FILM, FILM),
        ((LATE, DOOR), LATE, LATE),
        ((STAND, DOOR), STAND, STAND),
        ((CLOSE, WING), DOOR, WING),
    ],
)
def test_a_plain_section_is_left_to_the_first_and_a_film_waits_for_nobody(
    moves: tuple[Move, ...], first: Move | None, taken: Move | None
) -> None:
    assert helper_move(moves, first) == taken
