"""Breaks that follow on one another are one period (29 CFR 785.18 and .19 speak of the period)."""

from __future__ import annotations

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.hours.partition import breaks
from cartclock.engine.hours.questions import questions
from tests.kit.book import Book, opened, us
from tests.kit.plans import WIPE

MINUTE = 60


def rested(*taken: tuple[ev.BreakKind, int], between_s: float = 0) -> Book:
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
    taken: tuple[tuple[ev.BreakKind, int], ...], between_s: float, said: list[str]
) -> None:
    book = rested(*taken, between_s=between_s)
    assert counts(book) == said
    asked = questions(book.shift(), book.jobs(), us(6 * 3600))
    assert sum(one.kind == "break" for one in asked) == said.count("ask")


def test_the_answer_holds() -> None:
    book = rested(("rest", 19), ("heat", 19))
    book.press(5 * 3600, ev.BreakJudged(us(601), True))
    assert counts(book) == ["counted", "ask"]
