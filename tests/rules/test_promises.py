"""Promises that were moved or can be kept no longer: asked about once, until somebody was told."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.ahead.foreseen import by_the_plan
from cartclock.engine.ahead.promises import PromiseAsked, promise_question, promise_questions
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.record.dealings import dealings
from cartclock.engine.rules import rules
from cartclock.engine.rules.promises import tell_promise
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused
from cartclock.engine.until import lasting
from tests.kit.book import JOB, Book, us
from tests.kit.plans import POLISH, opening

WHO = Sealed("who", "0" * 64)
NAMES = {"who": "Ada Example"}
HOUR = 3600


def promised(in_s: float | None) -> Book:
    """A job of polishing, promised for so many seconds from its opening on."""
    book = Book()
    at_us = None if in_s is None else us(in_s)
    book.press(0, replace(opening(POLISH), promised_us=at_us), ev.ClockedOn())
    return book


def amended(in_s: float | None) -> ev.JobAmended:
    return ev.JobAmended("promised_us", promised_us=None if in_s is None else us(in_s))


def asked(book: Book, at_s: float) -> list[str]:
    return [one.cause for one in _questions(book, us(at_s))]


def _questions(book: Book, now_us: Instant) -> tuple[PromiseAsked, ...]:
    jobs = book.jobs()
    return promise_questions(jobs.values(), by_the_plan(jobs, book.shift()), now_us)


def test_a_promise_that_is_moved_is_asked_about_until_somebody_was_told() -> None:
    book = promised(9 * HOUR)
    assert asked(book, 10) == []
    book.press(20, amended(10 * HOUR))
    assert asked(book, 30) == ["moved"]
    # She was told before the new time was typed.
    book.press(15, ev.PromiseTold("moved", us(10 * HOUR), WHO))
    assert asked(book, 50) == []
    # Another promise is another question, also one that was promised before, or none.
    for at_s, then_s in ((60, 9 * HOUR), (80, None)):
        book.press(at_s, amended(then_s))
        assert asked(book, at_s + 1) == ["moved"]
        told = book.press(at_s + 2, ev.PromiseTold("moved", amended(then_s).promised_us))
        assert asked(book, at_s + 3) == []
    book.press(90, ev.PressStruck(told))
    assert asked(book, 91) == ["moved"]
    book.press(100, ev.JobClosed())
    assert asked(book, 101) == []
    texts = [one.text for one in dealings(book.job(), lambda s: NAMES[s.ref] if s else "")]
    assert texts == [
        "Tue 22 Sep 2026 00:13, moved: told Ada Example",
        "Mon 21 Sep 2026 23:13, moved: nobody told",
    ]


def test_nobody_was_told_before_the_job_was_opened() -> None:
    with pytest.raises(Refused, match="The job was not opened by then"):
        tell_promise(promised(HOUR).scene(10), "none", ev.PromiseTold("moved"))


def test_a_first_promise_and_the_same_one_again_are_not_moved() -> None:
    book = promised(None)
    book.press(10, amended(9 * HOUR))
    book.press(20, amended(9 * HOUR))
    assert asked(book, 30) == []


def test_one_that_can_be_kept_no_longer_is_asked_about_from_that_instant_on() -> None:
    book = promised(2 * HOUR)
    found = lasting(lambda now_us: _questions(book, Instant(now_us)), us(10))
    assert found.at(us(10)) == ()
    # It is looked at once a minute.
    assert us(10) < found.until_us <= us(70)
    minutes = [at_s for at_s in range(10, 2 * HOUR, 60) if asked(book, at_s)]
    # An hour of polishing by the plan: whoever begins with half of it left is hardly ever done.
    assert HOUR < minutes[0] < 1.6 * HOUR
    assert minutes == list(range(minutes[0], 2 * HOUR, 60))
    assert asked(book, minutes[0]) == ["not kept"]
    (question,) = _questions(book, us(minutes[0]))
    said = [promise_question(question, us(at_s), "UTC") for at_s in (minutes[0], 2 * HOUR)]
    assert said == [
        "the promise of 16:13 can hardly be kept: who was told?",
        "the promised time of 16:13 is past: who was told?",
    ]
    book.press(2 * HOUR, ev.PromiseTold("not kept", us(2 * HOUR), WHO))
    assert asked(book, 3 * HOUR) == []
    # That it is moved afterwards is a question of its own, and so is the new time.
    book.press(3 * HOUR, amended(3 * HOUR + 60))
    assert asked(book, 3 * HOUR) == ["moved"]
    book.press(3 * HOUR + 1, ev.PromiseTold("moved", us(3 * HOUR + 60), WHO))
    assert asked(book, 3 * HOUR + 2) == ["not kept"]
    assert set(book.jobs()) == {JOB}


@pytest.mark.parametrize(("promised_s", "found"), [(2 * HOUR, ["not kept"]), (3 * HOUR, [])])
def test_what_is_done_in_time_is_not_asked_about_while_it_waits_to_be_fetched(
    promised_s: int, found: list[str]
) -> None:
    book = promised(promised_s)
    at_s = 2 * HOUR
    while move := next((m for m in book.moves(at_s) if m.act == "take up"), None):
        book.do(at_s, rules.take_up, move)
        at_s += 600
    book.do(at_s, rules.take_break, "rest", None, True)
    assert 2 * HOUR < at_s < 3 * HOUR
    assert asked(book, 4 * HOUR) == found
