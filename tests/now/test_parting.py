"""What stays in the terminal after the screens were left. Times are of the cart's own zone."""

from __future__ import annotations

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.parting import COME_BACK, parting_text
from tests.kit.book import Book, us
from tests.kit.plans import COAT, opening

# The book begins on 2026-09-21 at 14:13:20 UTC.
ZONE = "UTC"
LEFT = ("bonnet left",)


def said(book: Book, at_s: float) -> str:
    shift = book.shift() if any(row.kind == "ClockedOn" for row in book.rows) else None
    shifts = {} if shift is None else {shift.id: shift}
    text = parting_text(book.jobs(), shift, shifts, us(at_s), ZONE)
    assert text.endswith(f" {COME_BACK}")
    return text.removesuffix(f" {COME_BACK}")


def test_before_there_is_anything() -> None:
    assert said(Book(), 0) == "Off the clock, no open jobs."


def test_off_the_clock() -> None:
    book = Book()
    book.press(0, opening(COAT))
    assert said(book, 0) == "Off the clock, 1 open job."


def test_what_is_in_hand() -> None:
    book = Book()
    book.press(0, opening(COAT))
    book.press(0, ev.ClockedOn())
    assert said(book, 60) == "On the clock since 14:13, nothing in hand."
    book.press(60, ev.WorkStarted("Coat", LEFT, Turn()))
    assert said(book, 70) == "On the clock since 14:13, in hand: apply bonnet left."
    assert said(book, 86_400).startswith("On the clock since Mon 21 Sep 14:13, in hand")


@pytest.mark.parametrize(
    ("event", "doing"),
    [
        (ev.BreakTaken("meal"), "on a break (meal)"),
        (ev.OtherWorkStarted("phone"), "at other work (phone)"),
    ],
)
def test_what_is_done_instead(event: ev.BreakTaken | ev.OtherWorkStarted, doing: str) -> None:
    book = Book()
    book.press(0, opening(COAT))
    book.press(0, ev.ClockedOn())
    book.press(60, event)
    assert said(book, 70) == f"On the clock since 14:13, {doing}."


@pytest.mark.parametrize(
    ("at_s", "mark"),
    [
        (130, "bonnet left opens 14:16, closes 14:19."),
        (190, "bonnet left closes 14:19."),
        (400, "bonnet left closed 14:19."),
    ],
)
def test_a_film_that_runs_on_names_its_mark(at_s: float, mark: str) -> None:
    book = Book()
    book.press(0, opening(COAT))
    book.press(0, ev.ClockedOn())
    book.press(60, ev.WorkStarted("Coat", LEFT, Turn()))
    book.press(120, ev.StepFinished("Coat", LEFT, Turn(), Marks(60, 100, 300)))
    assert said(book, at_s) == f"On the clock since 14:13, nothing in hand. {mark}"


def test_over_night_the_gap_is_the_next_mark() -> None:
    book = Book()
    book.press(0, opening(COAT))
    book.press(0, ev.ClockedOn())
    gap = COAT.gap
    assert gap is not None
    slept = Marks(gap.opens_s, gap.due_s, gap.closes_s)
    for step, marks in ((0, Marks(60, 100, 300)), (2, None), (3, slept)):
        turn = Turn(1, 1, step)
        book.press(60 + 100 * step, ev.WorkStarted("Coat", LEFT, turn))
        book.press(120 + 100 * step, ev.StepFinished("Coat", LEFT, turn, marks))
    book.press(500, ev.ClockedOff())
    text = said(book, 600)
    assert book.odd() == []
    assert text.startswith("Off the clock, 1 open job. Coat, bonnet left: layer 2 opens Mon 21 Sep")
