"""A rest that was called: taking it, working on all the same, and what is written of either."""

from __future__ import annotations

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Turn
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, opened
from tests.kit.plans import COAT, WIPE

REST = Move("rest", minutes=15, why="rest")
WORK = Move("take up", JOB, "Wipe", ("whole car",))


def test_taking_the_rest_puts_down_what_is_in_hand() -> None:
    book = opened(WIPE)
    book.do(10, rules.take_up, WORK)
    assert book.do(70, rules.take_up, REST, rest_called=True) == [
        ev.WorkPutDown("Wipe", ("whole car",), Turn()),
        ev.BreakTaken("heat", 900),
    ]


def test_a_section_that_has_had_its_minutes_counts_as_finished() -> None:
    book = opened(WIPE)
    book.do(10, rules.take_up, WORK)
    assert book.do(10 + 300, rules.take_up, REST, rest_called=True) == [
        ev.StepFinished("Wipe", ("whole car",), Turn()),
        ev.BreakTaken("heat", 900),
    ]


def test_no_film_is_begun_by_a_rest() -> None:
    book = opened(COAT)
    book.do(10, rules.take_up, Move("take up", JOB, "Coat", ("roof",)))
    # A rest is on the screen over a film only for somebody unwell. It is long over its minutes,
    # but whether it is laid only the worker sees.
    book.press(1999, ev.FeltUnwell(("dizziness",)))
    assert book.do(2000, rules.take_up, REST)[0] == ev.WorkPutDown("Coat", ("roof",), Turn())


def test_working_on_is_asked_and_the_reason_stands_in_the_log() -> None:
    book = opened(WIPE)
    with pytest.raises(Asks, match="A rest is called for") as asks:
        rules.take_up(book.scene(10), WORK, rest_called=True)
    assert asks.value.rule_id == "rest_due"
    over = {"rest_due": "one panel left"}
    assert book.do(10, rules.take_up, WORK, over, rest_called=True)[:1] == [
        ev.RestOverruled("one panel left")
    ]


def test_standing_by_a_window_is_no_work_and_not_asked() -> None:
    book = opened(WIPE)
    book.do(10, rules.take_up, WORK)
    assert book.do(20, rules.take_up, Move("end", why="end"), rest_called=True)
