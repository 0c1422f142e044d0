"""Films that were put down unfinished: their clock runs on the screen, and they are to be heard.

All figures are invented round numbers, reckoned by hand from a beginning at 14:13:20 UTC.
"""

from __future__ import annotations

import pytest

from cartclock.engine.body.watch import watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import SPENT_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.alarm import alarms
from cartclock.engine.now.faces import EXAMPLE_TIMES, Face, TimeTape, put_down_face
from cartclock.engine.now.glance import glance
from cartclock.engine.now.put_down import put_down_films
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import rules
from cartclock.engine.rules.film_left import FILM_LEFT
from tests.kit.book import Book, opened, us

LAID, TO_LEVEL = Turn(), Turn(step=2)
LEFT = {FILM_LEFT: "somebody else works it"}


def film(sections: tuple[str, ...] = ("door",), example: bool = False) -> Book:
    """A cart with one film to be laid: it closes 300 s after its first touch."""
    wait = Wait("flash", 60, 90, 300, "solvent", example=example)
    steps = (Work("apply", 1.0), wait, Work("level", 2.0))
    return opened(Stage("Coat", sections, steps, press="stage"))


def phoned(sections: tuple[str, ...] = ("door",), example: bool = False) -> Book:
    """Its laying was begun at second 0 and put down for a call at second 20."""
    book = film(sections, example)
    book.press(0, ev.WorkStarted("Coat", sections, LAID))
    book.do(20, rules.start_other, "phone", over=LEFT)
    assert book.odd() == []
    return book


def faces(book: Book, at_s: float) -> list[Face]:
    now_us = us(at_s)
    return [put_down_face(one, now_us) for one in put_down_films(book.jobs(), now_us)]


def face(book: Book, at_s: float) -> Face:
    (found,) = faces(book, at_s)
    return found


def test_a_film_put_down_for_a_call_runs_to_when_it_must_be_begun_anew() -> None:
    found = face(phoned(), 30)
    # A minute of work, done by 300: begun at 240.
    assert (found.word, found.clock, found.where, found.runs) == ("APPLY", "3:30", "door", "down")
    assert found.under == "put down wet; begin by then"
    assert found.second == ("closes in", "4:30")
    assert (found.field, found.shortly) == ("wait", "begin 14:17")
    assert isinstance(found.tape, TimeTape)
    assert [at_us for at_us, _said in found.tape.marks] == [us(240), us(300)]
    assert (found.tape.start_us, found.tape.opens_us) == (us(0), us(0))


def test_from_then_on_it_runs_to_its_close_and_then_up() -> None:
    book = phoned()
    assert face(book, 239).clock == "0:01"
    found = face(book, 240)
    assert (found.word, found.clock, found.field) == ("APPLY", "1:00", "ready")
    assert found.under == "put down wet; it closes then: begin now"
    assert found.second == ("closes at", "14:18")
    found = face(book, 307)
    assert (found.word, found.clock, found.runs, found.field) == ("LATE", "0:07", "up", "late")
    assert found.under == "since it closed: apply all the same"
    assert found.second == ("closed at", "14:18")


def test_a_film_whose_last_work_was_put_down_keeps_the_close_of_its_window() -> None:
    book = film()
    book.press(0, ev.WorkStarted("Coat", ("door",), LAID))
    book.press(40, ev.StepFinished("Coat", ("door",), LAID, Marks(60, 90, 300)))
    book.press(110, ev.WorkStarted("Coat", ("door",), TO_LEVEL))
    book.do(130, rules.take_break, "rest", over=LEFT)
    # Two minutes of levelling, done by 300: begun anew at 180.
    found = face(book, 150)
    assert (found.word, found.clock, found.second) == ("LEVEL", "0:30", ("closes in", "2:30"))


def test_sections_put_down_together_are_one_film_and_take_as_long_as_all_of_them() -> None:
    found = face(phoned(("door", "wing")), 30)
    assert found.where == "all 2"
    assert found.clock == "2:30"


def test_whose_times_are_from_no_label_says_so() -> None:
    assert face(phoned(example=True), 30).aside == EXAMPLE_TIMES
    assert face(phoned(), 30).aside == ""


def test_it_is_told_beside_the_call_and_above_it_once_it_presses() -> None:
    book = phoned()

    def words(at_s: float) -> list[str]:
        now_us = us(at_s)
        on = watch(book.shift(), book.jobs(), now_us)
        return [one.word for one in glance(book.jobs(), book.shift(), now_us, None, 0, on).faces]

    assert words(30) == ["PHONE", "APPLY"]
    assert words(250) == ["APPLY", "PHONE"]
    assert words(310) == ["LATE", "PHONE"]


@pytest.mark.parametrize(
    ("at_s", "rings"),
    [
        (239, []),
        (240, [("ready", "door: put down wet, apply")]),
        (300, [("late", "door: late, apply")]),
    ],
)
def test_it_is_to_be_heard_from_when_it_must_be_begun(
    at_s: float, rings: list[tuple[str, str]]
) -> None:
    book = phoned()
    heard = alarms(book.jobs(), book.shift(), us(at_s))
    assert [(one.urgency, one.sentence) for one in heard] == rings
    assert all(one.film for one in heard)


def test_it_is_over_when_it_is_taken_up_again_and_an_hour_past_its_close() -> None:
    book = phoned()
    spent_s = 300 + SPENT_US / SECOND_US
    assert len(faces(book, spent_s - 1)) == 1
    assert faces(book, spent_s) == []
    book.press(60, ev.WorkStarted("Coat", ("door",), LAID))
    assert faces(book, 70) == []


def test_work_without_a_film_that_was_put_down_has_no_clock() -> None:
    book = opened(Stage("Polish", ("door",), (Work("cut", 20.0),)))
    book.press(0, ev.WorkStarted("Polish", ("door",), LAID))
    book.do(20, rules.start_other, "phone", over=LEFT)
    assert faces(book, 30) == []
