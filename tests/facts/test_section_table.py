"""Every cell of the section's table, and the law of the film."""

from __future__ import annotations

import re

import pytest
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import job_after
from cartclock.engine.facts.section import (
    SECTION_TABLE,
    Section,
    Window,
    next_turn,
    wait_after,
    work_of,
)
from cartclock.engine.facts.turn import Marks, Turn
from tests.kit.book import JOB, Book, opened, row_at, us, without_odd
from tests.kit.plans import COAT, FALLOUT, POLISH
from tests.kit.samples import FIRST

A = "bonnet left"
MARKS = Marks(60, 100, 300)
LAST = Turn(1, 2, 3)

# What becomes of a section; "-": the event cannot be. The result of a finished step, where it
# can be, has three tests of its own below.
WORDS = """
                todo      in hand   held      waiting   done    left out  cut in two
WorkStarted     in hand   -         in hand   in hand   -       -         -
WorkPutDown     -         held      -         -         -       -         -
StepFinished    -         waiting   -         -         -       -         -
WindowSeen      -         -         -         waiting   -       -         -
MarksRevised    -         -         -         waiting   -       -         -
SectionSkipped  left out  -         left out  left out  -       -         -
SectionReopened -         -         -         -         todo    todo      -
SectionSplit    cut in two  -       -         -         -       -         -
ProductUsed     todo      in hand   held      waiting   done    left out  -
WaterTouched    todo      in hand   held      waiting   done    left out  -
SectionChecked  -         -         -         -         done    -         -
"""
STATES = ["todo", "in hand", "held", "waiting", "done", "left out", "cut in two"]
CELLS = [
    (state, kind, word)
    for line in WORDS.strip().splitlines()[1:]
    for kind, *_ in [line.split()]
    for state, word in zip(STATES, re.split(r"  +", line.replace(kind, "", 1).strip()), strict=True)
]


def start(book: Book, at_s: float, turn: Turn = FIRST, *names: str) -> None:
    book.press(at_s, ev.WorkStarted("Coat", names or (A,), turn))


def finish(
    book: Book, at_s: float, turn: Turn = FIRST, marks: Marks | None = None, *names: str
) -> None:
    book.press(at_s, ev.StepFinished("Coat", names or (A,), turn, marks))


def section_in(state: str) -> Book:
    """A book whose section A is in that state, by events that really lead there."""
    book = opened(COAT)
    match state:
        case "in hand":
            start(book, 10)
        case "held":
            start(book, 10)
            book.press(20, ev.WorkPutDown("Coat", (A,), Turn()))
        case "waiting":
            start(book, 10)
            finish(book, 20, Turn(), MARKS)
        case "done":
            turns = [Turn(1, 1, 0), Turn(1, 1, 2), Turn(1, 1, 3), Turn(1, 2, 0), Turn(1, 2, 2)]
            for index, turn in enumerate([*turns, LAST]):
                start(book, 10 + index, turn)
                finish(book, 10 + index, turn)
        case "left out":
            book.press(10, ev.SectionSkipped("Coat", (A,)))
        case "cut in two":
            book.press(10, ev.SectionSplit("Coat", A, ("a1", "a2")))
    assert book.odd() == []
    assert book.job().sections["Coat", A].state == state
    return book


def event_for(kind: str, turn: Turn) -> Struct:
    """An event of that kind which fits the section's turn, so that only its state decides."""
    match kind:
        case "StepFinished":
            return ev.StepFinished("Coat", (A,), turn, MARKS)
        case "MarksRevised":
            return ev.MarksRevised("Coat", (A,), turn, Marks(1, 2, 3))
        case "SectionReopened":
            return ev.SectionReopened("Coat", (A,), Turn(turn.pass_ + 1, 1, 0))
        case "SectionSplit":
            return ev.SectionSplit("Coat", A, ("a1", "a2"))
        case "ProductUsed":
            return ev.ProductUsed("Coat", (A,), turn, {"coat": 10.0})
        case "SectionChecked":
            return ev.SectionChecked("Coat", (A,), "fine")
        case "SectionSkipped" | "WaterTouched":
            return ev.KINDS[kind].event("Coat", (A,))
        case _:
            return ev.KINDS[kind].event("Coat", (A,), turn)


@pytest.mark.parametrize(
    ("state", "kind", "word"), CELLS, ids=[f"{state}, {kind}" for state, kind, _ in CELLS]
)
def test_cell(state: str, kind: str, word: str) -> None:
    before = section_in(state).job()
    row = row_at(event_for(kind, before.sections["Coat", A].turn), 30, 99)
    after, _odd = job_after(before, row)
    if word == "-":
        assert [odd.row for odd in after.odd] == [row]
        assert A in after.odd[0].why
        assert without_odd(after) == before
    else:
        assert after.odd == []
        assert after.sections["Coat", A].state == word.replace("_", " ")
        assert after != before


def test_table_names_no_other_state_and_no_other_event() -> None:
    assert set(SECTION_TABLE) == set(STATES)
    named = {kind for cells in SECTION_TABLE.values() for kind in cells}
    assert named == {kind for _, kind, word in CELLS if word != "-"}


@pytest.mark.parametrize(
    ("turn", "marks", "state", "following"),
    [
        (Turn(1, 1, 0), MARKS, "waiting", Turn(1, 1, 2)),
        (Turn(1, 1, 0), None, "todo", Turn(1, 1, 2)),
        (Turn(1, 1, 2), None, "todo", Turn(1, 1, 3)),
        (Turn(1, 1, 3), Marks(3600, 7200, 86400), "waiting", Turn(1, 2, 0)),
        (Turn(1, 1, 3), None, "todo", Turn(1, 2, 0)),
        (LAST, None, "done", LAST),
    ],
)
def test_finished_step_leads_on(
    turn: Turn, marks: Marks | None, state: str, following: Turn
) -> None:
    book = opened(COAT)
    for earlier in [Turn(1, 1, 0), Turn(1, 1, 2), Turn(1, 1, 3), Turn(1, 2, 0), Turn(1, 2, 2)]:
        if earlier < turn:
            start(book, 10, earlier)
            finish(book, 10, earlier)
    start(book, 20, turn)
    finish(book, 30, turn, marks)
    section = book.job().sections["Coat", A]
    assert book.odd() == []
    assert (section.state, section.turn, section.worker) == (state, following, "")
    assert (section.first_us, section.finished_us) == (None, us(30))
    assert (section.window is None) == (marks is None)


def test_marks_behind_the_last_step_cannot_be() -> None:
    book = opened(POLISH)
    for at_s, turn in ((1, Turn(1, 1, 0)), (3, Turn(1, 1, 1))):
        book.press(at_s, ev.WorkStarted("Polish", ("door",), turn))
        marks = MARKS if turn.step else None
        book.press(at_s + 1, ev.StepFinished("Polish", ("door",), turn, marks))
    assert book.job().odd[0].why == "nothing follows that could be waited for"
    assert book.job().sections["Polish", "door"].state == "in hand"


@pytest.mark.parametrize("kind", ["WorkStarted", "WorkPutDown", "StepFinished", "WindowSeen"])
@pytest.mark.parametrize("turn", [Turn(2, 1, 0), Turn(1, 2, 0), Turn(1, 1, 2), Turn(1, 1, 1)])
def test_another_turn_cannot_be(kind: str, turn: Turn) -> None:
    state = {"WorkStarted": "todo", "WindowSeen": "waiting"}.get(kind, "in hand")
    before = section_in(state).job()
    if turn == before.sections["Coat", A].turn:
        turn = Turn()
    after, _odd = job_after(before, row_at(ev.KINDS[kind].event("Coat", (A,), turn), 30))
    assert [odd.why for odd in after.odd] == [f"{A} is at another turn"]
    assert without_odd(after) == before


# The law of the film.


def film(first_s: float, last_s: float, marks: Marks = MARKS) -> Window:
    book = opened(COAT)
    start(book, first_s)
    finish(book, last_s, Turn(), marks)
    (window,) = book.job().running
    return window


def test_film_opens_after_the_last_touch_and_closes_after_the_first() -> None:
    window = film(100, 190)
    assert (window.kind, window.turn) == ("flash", Turn(1, 1, 2))
    assert (window.first_us, window.last_us) == (us(100), us(190))
    assert (window.opens_us, window.due_us, window.closes_us) == (us(250), us(290), us(400))


@pytest.mark.parametrize(
    ("now_us", "state"),
    [
        (us(190), "WAIT"),
        (us(250) - 1, "WAIT"),
        (us(250), "READY"),
        (us(400) - 1, "READY"),
        (us(400), "LATE"),
        (us(9000), "LATE"),
    ],
)
def test_film_state(now_us: int, state: str) -> None:
    assert film(100, 190).state(now_us) == state


@pytest.mark.parametrize(("last_s", "too_big"), [(339, False), (340, True), (500, True)])
def test_film_without_width_is_too_big(last_s: float, too_big: bool) -> None:
    assert film(100, last_s).too_big is too_big


def test_gap_counts_from_the_last_touch_only() -> None:
    book = section_in("todo")
    for at_s, turn in ((10, Turn(1, 1, 0)), (20, Turn(1, 1, 2)), (30, Turn(1, 1, 3))):
        start(book, at_s, turn)
        marks = Marks(3600, 7200, 86400) if turn.step == 3 else None
        finish(book, at_s + 8, turn, marks)
    (window,) = book.job().running
    assert (window.kind, window.first_us, window.last_us) == ("gap", us(38), us(38))
    assert (window.opens_us, window.closes_us) == (us(38 + 3600), us(38 + 86400))


def test_marks_are_those_of_the_event_until_they_are_revised() -> None:
    book = opened(COAT)
    start(book, 10)
    finish(book, 20, Turn(), Marks(5, 6, 70))
    assert book.job().running[0].opens_us == us(25)
    book.press(21, ev.MarksRevised("Coat", (A,), Turn(1, 1, 2), Marks(8, 9, 90)))
    (window,) = book.job().running
    assert (window.opens_us, window.due_us, window.closes_us) == (us(28), us(29), us(100))
    assert (window.first_us, window.last_us, window.seen_us) == (us(10), us(20), None)


def test_holding_and_resuming_keeps_the_first_touch() -> None:
    book = opened(COAT)
    start(book, 100)
    book.press(130, ev.WorkPutDown("Coat", (A,), Turn()))
    assert book.job().sections["Coat", A].first_us == us(100)
    start(book, 150)
    finish(book, 190, Turn(), MARKS)
    job = book.job()
    assert (job.running[0].first_us, job.running[0].closes_us) == (us(100), us(400))
    assert [(stint.first_us, stint.last_us) for stint in job.stints] == [(us(100), us(190))]


def test_seen_stays_with_the_window_and_taking_up_ends_it() -> None:
    book = section_in("waiting")
    book.press(85, ev.WindowSeen("Coat", (A,), Turn(1, 1, 2)))
    start(book, 90, Turn(1, 1, 2))
    job = book.job()
    assert job.running == []
    (window,) = job.windows
    assert (window.seen_us, window.ended_us, window.taken) == (us(85), us(90), True)
    assert job.sections["Coat", A].first_us == us(90)


def test_skipping_ends_the_window_untaken() -> None:
    book = section_in("waiting")
    book.press(90, ev.SectionSkipped("Coat", (A,), "rain"))
    job = book.job()
    (window,) = job.windows
    assert (window.ended_us, window.taken) == (us(90), False)
    section = job.sections["Coat", A]
    assert (section.window, section.first_us, section.why) == (None, None, "rain")
    assert section.over and job.running == [] and job.id == JOB


def test_what_follows_in_a_stage() -> None:
    turns, turn = [Turn()], next_turn(COAT, Turn())
    while turn is not None:
        turns.append(turn)
        turn = next_turn(COAT, turn)
    assert [(t.layer, t.step) for t in turns] == [(1, 0), (1, 2), (1, 3), (2, 0), (2, 2), (2, 3)]
    waits = [wait_after(COAT, t) for t in turns]
    flash, gap = ("flash", Marks(60, 100, 300)), ("gap", Marks(3600, 7200, 86400))
    assert waits == [flash, None, gap, flash, None, None]
    assert wait_after(FALLOUT, Turn()) == ("dwell", Marks(120, 180, 300))
    assert work_of(COAT, Turn(1, 1, 2)).say == "level"
    for step in (-1, 1, 4):
        with pytest.raises(KeyError):
            work_of(COAT, Turn(1, 1, step))


def test_untouched_means_never_begun() -> None:
    def section(state: str) -> Section:
        return section_in(state).job().sections["Coat", A]

    assert [state for state in STATES if section(state).untouched] == ["todo"]
    assert [state for state in STATES if section(state).over] == ["done", "left out", "cut in two"]
    book = section_in("done")
    book.press(90, ev.SectionReopened("Coat", (A,), Turn(2, 1, 0)))
    assert not book.job().sections["Coat", A].untouched
