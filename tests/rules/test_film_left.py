"""One press begins a break or other work: work is put down by it and goes on after it, as it was;
a film is left only by whoever said so.

How long a break is and when a film closes are invented. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.rules import rules
from cartclock.engine.rules.film_left import FILM_LEFT
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, POLISH, WIPE

A, B, ROOF = "bonnet left", "bonnet right", "roof"
LEVEL = Turn(1, 1, 2)
MARKS = Marks(60, 100, 300)
BEGIN: dict[str, Callable[..., rules.Drafts]] = {
    "break": lambda scene, **more: rules.take_break(scene, "rest", 900, **more),
    "call": lambda scene, **more: rules.start_other(scene, "phone", JOB, **more),
    "mixing": lambda scene, **more: rules.start_other(scene, "water and mixing", JOB, **more),
}
anything = pytest.mark.parametrize("begin", BEGIN.values(), ids=BEGIN)


def polishing() -> Book:
    """Hands on the second section of the second stage since 10 s, the first ones untouched."""
    book = opened(WIPE, POLISH)
    book.press(10, ev.WorkStarted("Polish", ("wing",), Turn()))
    return book


def applying() -> Book:
    """A film is being laid since 10 s: it closes at 310 s."""
    book = opened(COAT)
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    return book


def waiting() -> Book:
    """A flashes: its film closes at 310 s."""
    book = applying()
    book.press(20, ev.StepFinished("Coat", (A,), Turn(), MARKS))
    return book


def levelling() -> Book:
    book = waiting()
    book.press(90, ev.WorkStarted("Coat", (A,), LEVEL))
    return book


def sentence(book: Book, at_s: float, begin: Callable[..., rules.Drafts], **more: object) -> str:
    with pytest.raises(Asks) as asks:
        begin(book.scene(at_s), **more)
    assert asks.value.rule_id == FILM_LEFT
    return str(asks.value)


# Work.


@anything
def test_one_press_begins_it_and_one_takes_up_again_what_was_in_hand(
    begin: Callable[..., rules.Drafts],
) -> None:
    book = polishing()
    put_down, _began = book.do(60, begin)
    assert put_down == ev.WorkPutDown("Polish", ("wing",), Turn())
    assert len({row.press for row in book.rows if row.at_us == us(60)}) == 1
    again = book.moves(600)[0]
    assert (again.stage, again.sections, again.why) == ("Polish", ("wing",), "held")
    assert book.do(600, rules.take_up, again)[1:] == [ev.WorkStarted("Polish", ("wing",), Turn())]


@anything
def test_what_was_taken_up_together_goes_on_together(begin: Callable[..., rules.Drafts]) -> None:
    book = opened(POLISH)
    book.press(10, ev.WorkStarted("Polish", ("door", "wing"), Turn()))
    book.do(60, begin)
    assert book.moves(600)[0].sections == ("door", "wing")


def test_it_goes_on_also_after_a_call_a_break_and_an_end() -> None:
    book = polishing()
    book.do(60, rules.start_other, "phone", JOB)
    book.do(100, rules.take_break, "meal", 1800)
    book.do(1900, rules.take_up, Move("end", why="end"))
    assert book.moves(1910)[0].sections == ("wing",)


def test_what_was_put_down_for_its_own_sake_waits_for_the_order() -> None:
    book = polishing()
    book.do(60, rules.put_down)
    book.do(70, rules.start_other, "phone", JOB)
    assert book.moves(100)[0].stage == "Wipe"


def test_what_somebody_else_took_up_meanwhile_is_not_offered_again() -> None:
    book = polishing()
    book.press(0, ev.ClockedOn(), worker="mate")
    book.do(60, rules.start_other, "phone", JOB)
    book.press(70, ev.WorkStarted("Polish", ("wing",), Turn()), worker="mate")
    assert book.moves(100)[0].stage == "Wipe"


def test_the_film_that_waits_comes_before_the_work_that_was_put_down() -> None:
    book = opened(POLISH, COAT)
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(20, ev.StepFinished("Coat", (A,), Turn(), MARKS))
    book.press(30, ev.WorkStarted("Polish", ("wing",), Turn()))
    book.do(40, rules.start_other, "phone", JOB)
    assert [(m.stage, m.sections) for m in book.moves(100)[:2]] == [
        ("Coat", (A,)), ("Coat", (B,)),
    ]  # fmt: skip


# The film in hand.


@anything
def test_a_film_in_hand_is_put_down_only_by_whoever_said_so(
    begin: Callable[..., rules.Drafts],
) -> None:
    # 14:13:20 in UTC and 310 s.
    asked = "The film on bonnet left is half done and closes at 14:18. Put it down all the same?"
    assert sentence(applying(), 20, begin) == asked
    assert sentence(levelling(), 120, begin) == asked
    over = {FILM_LEFT: "the mate levels it"}
    *_down, began = levelling().do(120, begin, over=over)
    assert began.over == over  # type: ignore[attr-defined]  # both kinds have it


@anything
def test_a_late_film_in_hand_is_asked_about_as_well(begin: Callable[..., rules.Drafts]) -> None:
    late = "The film on bonnet left is half done and closed at 14:18. Put it down all the same?"
    assert sentence(levelling(), 400, begin) == late


def test_a_film_that_is_finished_by_the_press_is_not_asked_about() -> None:
    assert levelling().do(120, rules.start_other, "phone", JOB, finish=True)[0] == (
        ev.StepFinished("Coat", (A,), LEVEL)
    )
    assert applying().do(30, rules.start_other, "phone", JOB, finish=True)


@anything
def test_several_films_are_named_and_counted(begin: Callable[..., rules.Drafts]) -> None:
    book = opened(replace(COAT, sections=("a", "b", "c", "d", "e")))
    book.press(10, ev.WorkStarted("Coat", ("a", "b", "c", "d", "e"), Turn()))
    assert sentence(book, 20, begin).startswith("The film on a, b, c and 2 more is half done")


# The film that waits.


def test_a_break_that_is_over_after_the_film_closes_is_asked_about() -> None:
    def rest(planned_s: int | None) -> Callable[..., rules.Drafts]:
        return lambda scene, **more: rules.take_break(scene, "rest", planned_s, **more)

    asked = "The film on bonnet left closes at 14:18. Leave it all the same?"
    assert sentence(waiting(), 30, rest(281)) == asked
    assert sentence(waiting(), 400, rest(60)).startswith("The film on bonnet left closed at 14:18.")
    assert waiting().do(30, rules.take_break, "rest", 280)
    # How long a call takes nobody knows, and its film rings.
    assert waiting().do(30, rules.take_break, "away")
    assert waiting().do(30, rules.start_other, "phone", JOB)
    # An hour past its close it is given up.
    assert waiting().do(310 + 3600, rules.take_break, "rest", 900)


def test_a_film_that_the_press_lays_is_asked_about_as_one_that_waits() -> None:
    finished: Callable[..., rules.Drafts] = lambda scene: rules.take_break(  # noqa: E731  # one press
        scene, "rest", 900, True
    )
    assert sentence(applying(), 30, finished).endswith("Leave it all the same?")


def test_the_film_of_a_mate_keeps_nobody_from_a_break() -> None:
    book = opened(COAT)
    book.press(0, ev.ClockedOn(), worker="mate")
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()), worker="mate")
    book.press(20, ev.StepFinished("Coat", (A,), Turn(), MARKS), worker="mate")
    assert book.do(30, rules.take_break, "meal", 1800) == [ev.BreakTaken("meal", 1800)]


@anything
def test_whoever_is_unwell_leaves_any_film_unasked(begin: Callable[..., rules.Drafts]) -> None:
    for book, at_s in ((applying(), 20), (levelling(), 120), (waiting(), 30)):
        book.press(at_s, ev.FeltUnwell(("dizziness",)))
        assert book.do(at_s, begin)


def test_after_the_rest_of_somebody_unwell_films_are_asked_about_again() -> None:
    book = opened(COAT)
    book.press(5, ev.FeltUnwell(("cramps",)))
    book.do(6, rules.take_break, "rest", 1800)
    book.do(2000, rules.take_up, Move("end", why="end"))
    book.press(2010, ev.WorkStarted("Coat", (A,), Turn()))
    assert sentence(book, 2020, BEGIN["call"])
