"""What is asked in a quiet moment and at clocking off."""

from __future__ import annotations

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift_events import BreakKind
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.hours.questions import Question, questions
from tests.kit.book import Book, opened, us
from tests.kit.plans import COAT, WEARING, WIPE, opening

MIN = 60
A = "bonnet left"


def asked(book: Book, at_s: float) -> list[tuple[str, float, float, str, str]]:
    """(kind, from s, to s, was, guess) of each question."""
    found = questions(book.shift(), book.jobs(), us(at_s))
    return [
        (q.kind, (q.from_us - us(0)) / 1e6, (q.to_us - us(0)) / 1e6, q.was, q.guess) for q in found
    ]


def day(*events: Struct, at_s: float = 0) -> Book:
    """A shift in which these events are told at `at_s`, with the wipe still to do."""
    book = opened(WIPE)
    if events:
        book.press(at_s, *events)
    return book


def test_a_fresh_shift_asks_nothing() -> None:
    assert asked(day(), 5 * MIN) == []


# The program did not run.


@pytest.mark.parametrize(
    ("on", "was"),
    [
        (ev.WorkStarted("Wipe", ("whole car",), Turn()), "Wipe, whole car"),
        (ev.OtherWorkStarted("fetching"), "fetching"),
        (ev.DrinkTaken(200), "nothing in hand"),
    ],
)
def test_a_gap_is_asked_with_what_was_on(on: Struct, was: str) -> None:
    book = day(on)
    book.press(900, ev.GapFound(us(300), us(900)), by="machine")
    assert asked(book, 900) == [("gap", 300, 900, was, "as it stood")]


def test_where_several_jobs_were_worked_a_question_names_its_own() -> None:
    book = day(ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(900, ev.GapFound(us(300), us(900)), by="machine")
    assert [was for *_, was, _ in asked(book, 900)] == ["Wipe, whole car"]
    book.press(901, ev.WorkPutDown("Wipe", ("whole car",), Turn()))
    book.press(902, replace(opening(WIPE), number=8), job="another")
    book.press(903, ev.WorkStarted("Wipe", ("whole car",), Turn()), job="another")
    number = book.job().opened.number
    assert [was for *_, was, _ in asked(book, 910)] == [f"job {number}, Wipe, whole car"]


def test_of_many_sections_a_question_says_how_many() -> None:
    book = opened(WEARING)
    book.press(0, ev.WorkStarted("Polish", WEARING.sections, Turn()))
    book.press(900, ev.GapFound(us(300), us(900)), by="machine")
    assert [was for *_, was, _ in asked(book, 900)] == ["Polish, all 5"]
    # Of a job that is not known here the log says no more.
    [question] = questions(book.shift(), {}, us(900))
    assert question.was == "Polish, 5 sections"


def test_what_was_answered_of_a_gap_from_either_end_is_not_asked_again() -> None:
    book = day(ev.OtherWorkStarted("fetching"))
    book.press(900, ev.GapFound(us(300), us(900)), by="machine")
    book.press(900, ev.GapJudged(us(300), us(450), "rest"))
    assert asked(book, 900) == [("gap", 450, 900, "fetching", "as it stood")]
    book.press(900, ev.GapJudged(us(700), us(900), "meal"))
    assert asked(book, 900) == [("gap", 450, 700, "fetching", "as it stood")]
    book.press(900, ev.GapJudged(us(450), us(700), "as it stood"))
    assert asked(book, 900) == []


def test_a_gap_in_a_break_needs_no_question() -> None:
    book = day(ev.BreakTaken("meal"))
    book.press(900, ev.GapFound(us(300), us(900)), by="machine")
    assert asked(book, 900) == []


def test_a_gap_over_several_spans_is_called_by_the_longest() -> None:
    book = day(ev.OtherWorkStarted("driving"))
    book.press(400, ev.OtherWorkEnded(), ev.BreakTaken("rest"))
    book.press(2000, ev.GapFound(us(300), us(900)), by="machine")
    assert asked(book, 2000) == [("gap", 300, 900, "break: rest", "as it stood")]


@pytest.mark.parametrize(
    ("from_s", "to_s", "left"),
    [(300, 900, False), (200, 1000, False), (301, 900, True), (300, 899, True)],
)
def test_an_answer_that_covers_a_gap_ends_the_question(from_s: int, to_s: int, left: bool) -> None:
    book = day(ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(900, ev.GapFound(us(300), us(900)), by="machine")
    book.press(1000, ev.GapJudged(us(from_s), us(to_s), "as it stood"))
    assert [kind for kind, *_ in asked(book, 1100)] == ["gap"] * left


def test_a_gap_is_asked_up_to_the_end_of_the_shift_only() -> None:
    book = day(ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(900, ev.GapFound(us(300), us(900)), by="machine")
    book.press(600, ev.WorkPutDown("Wipe", ("whole car",), Turn()), ev.ClockedOff(), entered_s=950)
    assert book.odd() == []
    assert asked(book, 2000) == [("gap", 300, 600, "Wipe, whole car", "as it stood")]


# Breaks between the rules.


@pytest.mark.parametrize(
    ("what", "minutes", "guess"),
    [
        pytest.param("meal", 25, "counts", id="29 CFR 785.19(a) 25 min meal"),
        pytest.param("rest", 45, "does not count", id="29 CFR 785.18 45 min rest"),
        pytest.param("away", 10, "does not count", id="29 CFR 785.16 10 min away"),
        pytest.param("rest", 20, None, id="29 CFR 785.18 20 min rest is counted"),
        pytest.param("meal", 30, None, id="29 CFR 785.19(a) 30 min meal is not counted"),
    ],
)
def test_breaks(what: BreakKind, minutes: int, guess: str | None) -> None:
    book = day(ev.BreakTaken(what))
    assert asked(book, minutes * MIN) == []
    book.press(minutes * MIN, ev.BreakEnded())
    wanted = [] if guess is None else [("break", 0, minutes * MIN, f"break: {what}", guess)]
    assert asked(book, minutes * MIN + 60) == wanted
    book.press(minutes * MIN + 99, ev.BreakJudged(us(0), False))
    assert asked(book, minutes * MIN + 120) == []


def test_a_break_that_the_shift_ended_in_is_asked() -> None:
    book = day(ev.BreakTaken("meal"))
    book.press(25 * MIN, ev.BreakEnded(), ev.ClockedOff())
    assert asked(book, 9999) == [("break", 0, 25 * MIN, "break: meal", "counts")]


# Nothing said.


@pytest.mark.parametrize(("minutes", "wanted"), [(9.99, False), (10, True)])
def test_ten_minutes_of_nothing_are_asked_when_they_are_over(minutes: float, wanted: bool) -> None:
    book = day()
    assert asked(book, minutes * MIN) == []
    book.press(minutes * MIN, ev.OtherWorkStarted("phone"))
    nothing = ("nothing", 0, minutes * MIN, "nothing in hand", "not known")
    assert asked(book, minutes * MIN + 1) == [nothing] * wanted
    book.press(minutes * MIN + 2, ev.GapJudged(us(0), us(minutes * MIN), "not known"))
    assert asked(book, minutes * MIN + 3) == []


def test_nothing_up_to_clocking_off_is_asked() -> None:
    book = day(ev.ClockedOff(), at_s=15 * MIN)
    assert asked(book, 15 * MIN) == [("nothing", 0, 15 * MIN, "nothing in hand", "not known")]


def test_said_as_it_stood_is_not_asked_again() -> None:
    book = day(ev.OtherWorkStarted("phone"), at_s=15 * MIN)
    book.press(16 * MIN, ev.GapJudged(us(0), us(15 * MIN), "as it stood"))
    assert asked(book, 17 * MIN) == []


def test_a_stretch_is_asked_once_as_a_gap() -> None:
    book = day()
    book.press(15 * MIN, ev.GapFound(us(60), us(15 * MIN)), by="machine")
    book.press(15 * MIN, ev.OtherWorkStarted("phone"))
    assert asked(book, 16 * MIN) == [("gap", 60, 15 * MIN, "nothing in hand", "as it stood")]


def test_standing_by_is_not_asked() -> None:
    book = opened(COAT)
    book.press(0, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(5, ev.StepFinished("Coat", (A,), Turn(), Marks(900, 900, 1800)))
    book.press(20 * MIN, ev.WorkStarted("Coat", (A,), Turn(1, 1, 2)))
    assert asked(book, 21 * MIN) == []


def test_at_most_eight_the_longest_first() -> None:
    book, at_s = day(), 0.0
    for index in range(10):
        at_s += (11 + index) * MIN
        book.press(at_s, ev.OtherWorkStarted("phone"))
        at_s += 1
        book.press(at_s, ev.OtherWorkEnded())
    found = questions(book.shift(), book.jobs(), us(at_s))
    lengths = [(q.to_us - q.from_us) // 60_000_000 for q in found]
    assert lengths == [20, 19, 18, 17, 16, 15, 14, 13]


def test_of_the_same_length_the_earlier_first() -> None:
    book = day(ev.BreakTaken("meal"))
    book.press(25 * MIN, ev.BreakEnded())
    book.press(50 * MIN, ev.BreakTaken("rest"))
    found = questions(book.shift(), book.jobs(), us(51 * MIN))
    assert found == (
        Question("break", us(0), us(25 * MIN), "break: meal", "counts"),
        Question("nothing", us(25 * MIN), us(50 * MIN), "nothing in hand", "not known"),
    )
