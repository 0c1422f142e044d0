"""A shift that nobody clocked off ends with its last press."""

from __future__ import annotations

from cartclock.engine.facts import events as ev
from cartclock.engine.hours.account import account
from cartclock.engine.hours.questions import questions
from cartclock.engine.rules import rules
from tests.kit.book import Book, opened, us
from tests.kit.plans import COAT

HOUR = 3600
DAYS_136 = 136 * 24 * HOUR


def left() -> Book:
    """Ten minutes with a customer, then nobody pressed again but for a drink."""
    book = opened(COAT)
    book.do(60, rules.start_other, "customer")
    book.press(660, ev.OtherWorkEnded())
    book.press(900, ev.DrinkTaken(250))
    return book


def test_hours_of_a_shift_never_clocked_off_end_with_the_last_press() -> None:
    book = left()
    found = account(book.shift(), book.jobs(), us(DAYS_136))
    assert (found.end_us, found.never_off, found.off_us) == (us(900), True, None)
    assert sum(share.length_us for share in found.shares) == us(900) - us(0)


def test_a_shift_that_goes_on_ends_now() -> None:
    book = left()
    found = account(book.shift(), book.jobs(), us(900 + 15 * HOUR))
    assert (found.end_us, found.never_off) == (us(900 + 15 * HOUR), False)


def test_what_the_time_since_was_is_asked_at_clocking_off() -> None:
    book = left()
    book.press(DAYS_136 + 1, ev.ClockedOff())
    longest = questions(book.shift(), book.jobs(), us(DAYS_136 + 2))[0]
    assert (longest.kind, longest.from_us, longest.to_us) == ("nothing", us(660), us(DAYS_136 + 1))
