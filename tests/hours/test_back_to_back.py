"""Breaks that follow on one another are one period (29 CFR 785.18 and .19 speak of the period)."""

from __future__ import annotations

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift_events import BreakKind
from cartclock.engine.hours.partition import breaks
from cartclock.engine.hours.questions import questions
from tests.kit.book import Book, opened, us
from tests.kit.plans import WIPE

MINUTE = 60


def rested(*taken: tuple[BreakKind, int], between_s: float = 0) -> Book:
    """These breaks in minutes, one behind the other."""
    book, at_s = opened(WIPE), 600.0
    for what, minutes in taken:
        book.press(at_s, ev.BreakTaken(what))
        at_s += minutes * MINUTE
        book.press(at_s, ev.BreakEnded())
        at_s += between_s
    return book


def counts(book: Book) -> list[str]:
    return [one.counts for one in breaks(book.shift(), book.jobs(), us(6 * 3600))]


@pytest.mark.parametrize(
    ("taken", "between_s", "said"),
    [
        ((("rest", 19), ("meal", 19), ("heat", 19)), 0, ["ask"] * 3),
        ((("rest", 10), ("heat", 10)), 0, ["counted"] * 2),
        ((("rest", 10), ("heat", 11)), 0, ["ask"] * 2),
        # Work between them makes them two.
        ((("rest", 19), ("meal", 19)), 60, ["counted"] * 2),
        # A meal long enough stays one, whatever stands before it.
        ((("rest", 15), ("meal", 30)), 0, ["ask", "not counted"]),
    ],
)
def test_short_breaks_back_to_back_are_asked_about(
    taken: tuple[tuple[BreakKind, int], ...], between_s: float, said: list[str]
) -> None:
    book = rested(*taken, between_s=between_s)
    assert counts(book) == said
    asked = [
        one for one in questions(book.shift(), book.jobs(), us(6 * 3600)) if one.kind == "break"
    ]
    # Back to back they are one period, and one question.
    assert len(asked) == ("ask" in said)
    if asked:
        first = 600 + MINUTE * sum(minutes for _what, minutes in taken[: said.index("ask")])
        minutes = [m for (_what, m), answer in zip(taken, said, strict=True) if answer == "ask"]
        assert (asked[0].from_us, asked[0].to_us) == (us(first), us(first + MINUTE * sum(minutes)))


def test_breaks_with_work_between_them_are_asked_about_one_by_one() -> None:
    book = rested(("rest", 25), ("meal", 25), between_s=MINUTE)
    asked = [q.was for q in questions(book.shift(), {}, us(6 * 3600)) if q.kind == "break"]
    assert asked == ["break: rest", "break: meal"]


def test_a_period_of_breaks_is_asked_about_in_one_sentence() -> None:
    book = rested(("rest", 19), ("meal", 19), ("heat", 19))
    assert not [q for q in questions(book.shift(), {}, us(600 + 57 * MINUTE)) if q.kind == "break"]
    (one,) = (q for q in questions(book.shift(), {}, us(600 + 58 * MINUTE)) if q.kind == "break")
    assert (one.was, one.guess) == ("breaks: rest, meal, heat", "does not count")
    book = rested(("rest", 10), ("rest", 12))
    (one,) = (q for q in questions(book.shift(), {}, us(600 + 23 * MINUTE)) if q.kind == "break")
    assert (one.was, one.guess) == ("break: rest", "counts")


@pytest.mark.parametrize("within_s", [601, 600 + 20 * MINUTE, 600 + 57 * MINUTE - 1])
@pytest.mark.parametrize("counted", [True, False])
def test_one_answer_judges_the_whole_period(within_s: float, counted: bool) -> None:
    book = rested(("rest", 19), ("meal", 19), ("heat", 19))
    book.press(5 * 3600, ev.BreakJudged(us(within_s), counted))
    assert counts(book) == ["counted" if counted else "not counted"] * 3
    assert not [q for q in questions(book.shift(), book.jobs(), us(6 * 3600)) if q.kind == "break"]


def test_what_was_said_of_one_break_by_itself_stands_over_the_answer_for_the_period() -> None:
    book = rested(("rest", 19), ("heat", 19))
    book.press(5 * 3600, ev.BreakJudged(us(601), True))
    book.press(5 * 3600 + 1, ev.BreakJudged(us(600 + 20 * MINUTE), False))
    assert counts(book) == ["counted", "not counted"]


def test_an_answer_for_a_meal_beside_it_is_not_one_for_the_rest() -> None:
    book = rested(("rest", 15), ("meal", 30))
    book.press(5 * 3600, ev.BreakJudged(us(600 + 20 * MINUTE), True))
    assert counts(book) == ["ask", "counted"]
