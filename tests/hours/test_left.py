"""A film in play when somebody clocks off: asked then, told on the papers afterwards."""

from __future__ import annotations

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import in_play
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.hours.account import account
from cartclock.engine.record.applied import asked
from cartclock.engine.record.day import day
from cartclock.engine.record.record import record
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, WIPE
from tests.kit.setting import day_text, record_text

A, B = "bonnet left", "bonnet right"
LEVEL = Turn(1, 1, 2)
MARKS = Marks(60, 100, 300)
OVER = {"window_open": "it rains"}
HOUR = 3600


def laid() -> Book:
    """A flashes from 70 s on and closes at 310 s."""
    book = opened(COAT, WIPE)
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(70, ev.StepFinished("Coat", (A,), Turn(), MARKS))
    return book


def levelling() -> Book:
    """A is in hand again from 200 s on."""
    book = laid()
    book.press(200, ev.WorkStarted("Coat", (A,), LEVEL))
    return book


def laying() -> Book:
    """B is laid from 80 s on, while A waits."""
    book = laid()
    book.press(80, ev.WorkStarted("Coat", (B,), Turn()))
    return book


def asks(book: Book, at_s: float) -> str:
    try:
        rules.clock_off(book.scene(at_s))
    except Asks as question:
        return str(question)
    return ""


@pytest.mark.parametrize(
    ("book", "at_s", "names"),
    [
        (laid(), 100, "bonnet left"),
        (laid(), 311, "bonnet left"),
        (laid(), 310 + HOUR - 1, "bonnet left"),
        (levelling(), 210, "bonnet left"),
        (laying(), 90, "bonnet left, bonnet right"),
    ],
)
def test_clocking_off_with_a_film_in_play_asks(book: Book, at_s: float, names: str) -> None:
    assert asks(book, at_s) == f"A film is still in play on {names}. Clock off all the same?"
    assert [one.name for one in in_play(book.job(), us(at_s))] == names.split(", ")


def test_clocking_off_asks_no_more_once_the_film_was_given_up() -> None:
    assert asks(laid(), 310 + HOUR) == ""


def test_a_film_in_the_hands_of_another_is_not_asked_about() -> None:
    book = laid()
    book.press(90, ev.ClockedOn(), worker="mate")
    assert asks(book, 95) != ""
    book.press(100, ev.WorkStarted("Coat", (A,), LEVEL), worker="mate")
    assert asks(book, 110) == ""
    book.press(120, ev.WorkPutDown("Coat", (A,), LEVEL), worker="mate")
    assert asks(book, 130) != ""


def left(book: Book, at_s: float) -> list[tuple[str, str, int]]:
    found = account(book.shift(), book.jobs(), us(at_s)).left
    assert {one.job for one in found} <= {JOB}
    return [(one.stage, one.section, one.closes_us - us(0)) for one in found]


SECOND = 1_000_000


@pytest.mark.parametrize("book", [laid(), levelling()])
def test_an_account_tells_the_film_left_in_play_at_the_end(book: Book) -> None:
    assert left(book, 220) == [], "the shift goes on"
    book.do(220, rules.clock_off, over=OVER)
    assert left(book, 230) == [("Coat", A, 310 * SECOND)]
    # What becomes of it later does not change what was left.
    book.press(240, ev.ClockedOn(), worker="mate")
    book.press(250, ev.WorkStarted("Coat", (A,), LEVEL), worker="mate")
    book.press(260, ev.StepFinished("Coat", (A,), LEVEL), worker="mate")
    assert book.odd() == []
    assert left(book, 999) == [("Coat", A, 310 * SECOND)]


def test_a_film_being_laid_is_left_too_and_one_that_is_off_is_not() -> None:
    book = laying()
    book.do(90, rules.clock_off, over=OVER)
    # B closes 300 s after its first touch at 80 s.
    assert left(book, 100) == [("Coat", A, 310 * SECOND), ("Coat", B, 380 * SECOND)]
    book = levelling()
    book.press(260, ev.StepFinished("Coat", (A,), LEVEL))
    book.do(270, rules.clock_off)
    assert left(book, 280) == []


def test_a_film_that_was_skipped_or_given_up_or_handed_over_is_not_left() -> None:
    book = laid()
    book.press(80, ev.SectionSkipped("Coat", (A,), "it rains"))
    book.do(90, rules.clock_off)
    assert left(book, 100) == []
    book = laid()
    book.do(310 + HOUR, rules.clock_off)
    assert left(book, 9999) == []
    book = laid()
    book.do(80, rules.close_job, JOB, {"unfinished": "x"})
    book.do(90, rules.clock_off)
    assert left(book, 100) == []


def test_a_shift_never_clocked_off_tells_the_film_of_its_last_press() -> None:
    book = laid()
    assert left(book, 40 * HOUR) == [("Coat", A, 310 * SECOND)]


def outcomes(book: Book, at_s: float) -> list[tuple[str, int]]:
    return [(one.outcome, one.off_us // SECOND) for one in asked(book.job(), (), us(at_s))]


def test_a_window_runs_on_paper_while_its_film_is_in_play() -> None:
    book = laid()
    assert outcomes(book, 100) == [("running", 0)]
    assert outcomes(book, 310 + HOUR - 1) == [("running", HOUR - 1)]
    assert outcomes(book, 310 + HOUR) == [("left", 0)]
    book.do(80, rules.close_job, JOB, {"unfinished": "x"})
    assert outcomes(book, 100) == [("left", 0)]


def test_the_record_and_the_day_tell_the_film_left_in_play() -> None:
    book = laying()
    book.do(90, rules.clock_off, over=OVER)
    shifts, now_us = {"me 1": book.shift()}, us(2 * HOUR)
    said = record_text(record(book.job(), shifts, book.jobs(), now_us, rows=book.rows), 0)
    date = day_text(day("2026-09-21", "UTC", shifts, book.jobs(), now_us), 0)
    # us(0) is 14:13:20; A closes at 310 s, B at 380 s.
    line = "Left with a film in play: Coat, bonnet left, bonnet right; closes 14:18 to 14:19"
    assert line in " ".join(said.split())
    assert line in " ".join(date.split())
    assert "never taken up" in said and "still running" not in said
