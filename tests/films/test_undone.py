"""What is not done in front of a coat: asked about before a layer, once, by panel."""

from __future__ import annotations

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.films.undone import UNDONE, undone
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.record.trail import trail
from cartclock.engine.rules import changes, rules
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, WIPE

A, B, ROOF = "bonnet left", "bonnet right", "roof"
SECOND = Turn(1, 2, 0)
PANELS = {"bonnet left": "bonnet", "bonnet right": "bonnet"}
CUT = Stage("Cut", (A, B, ROOF, "door"), (Work("cut", 5.0),), panels=PANELS)
FINISH = Stage("Finish", ("bonnet", "roof", "door"), (Work("finish", 5.0),))
COATING = replace(COAT, kind="coat")
FINE = ev.ReadingTaken(air_c=22.0, rh=50.0, panel_c=22.0)


def car(*stages: Stage) -> Book:
    """A job of these stages with the gate met."""
    book = opened(*(stages or (CUT, FINISH, COATING)))
    book.press(1, FINE)
    return book


def up(*names: str, turn: Turn | None = None, stage: str = "Coat") -> Move:
    return Move("take up", JOB, stage, names, turn or Turn())


def done(book: Book, at_s: float, stage: str, *names: str) -> None:
    """These sections are worked through, all steps, with nothing left behind."""
    for name in names:
        book.press(at_s, ev.WorkStarted(stage, (name,), Turn()))
        book.press(at_s, ev.StepFinished(stage, (name,), Turn()))


def layer(book: Book, at_s: float, name: str, number: int = 1, **over: str) -> None:
    """One layer on a section, without a window behind any of its steps."""
    for step in (0, 2, 3):
        turn = Turn(1, number, step)
        started = ev.WorkStarted("Coat", (name,), turn, over if step == 0 else {})
        book.press(at_s, started)
        book.press(at_s, ev.StepFinished("Coat", (name,), turn))


def question(book: Book, at_s: float, move: Move, **over: str) -> str:
    """What is asked about what is not done; "" if nothing is asked at all."""
    try:
        rules.take_up(book.scene(at_s), move, over)
    except Asks as asks:
        assert asks.rule_id == UNDONE
        return str(asks)
    return ""


def test_the_stages_in_front_are_counted_in_order_and_the_panel_itself_is_named() -> None:
    book = car()
    done(book, 5, "Cut", A)
    assert question(book, 10, up(B)) == (
        "Not done before the coat: Cut 3, Finish 3; on bonnet itself Cut, Finish. "
        "Coat all the same?"
    )
    done(book, 20, "Cut", B)
    done(book, 20, "Finish", "bonnet")
    assert question(book, 30, up(B)) == (
        "Not done before the coat: Cut 2, Finish 2. Coat all the same?"
    )
    assert [(one.stage, len(one.sections)) for one in undone(book.job(), "Coat")] == [
        ("Cut", 2), ("Finish", 2),
    ]  # fmt: skip


def test_several_panels_are_named_and_of_many_stages_the_first_ones() -> None:
    more = [replace(WIPE, name=f"Stage {number}") for number in range(6)]
    book = car(*more, COATING)
    assert question(book, 10, up(A)) == (
        "Not done before the coat: Stage 0 1, Stage 1 1, Stage 2 1, Stage 3 1 and 2 more. "
        "Coat all the same?"
    )
    both = question(car(FINISH, COATING), 10, up(A, ROOF))
    assert "; on bonnet itself Finish, on roof itself Finish." in both


def test_left_out_and_cut_in_two_is_not_missing() -> None:
    book = car(CUT, COATING)
    book.do(5, changes.split, JOB, "Cut", "door", ("door top", "door bottom"))
    assert "Cut 5" in question(book, 10, up(A))
    book.do(20, changes.skip, JOB, "Cut", (A, B, ROOF, "door top", "door bottom"), "not needed")
    assert question(book, 30, up(A)) == ""


def test_a_stage_behind_the_coat_is_not_asked_about_and_one_added_in_front_is() -> None:
    book = car(COATING, WIPE)
    assert question(book, 10, up(A)) == ""
    book.press(20, ev.StageAdded(replace(WIPE, name="Second wipe"), ""))
    assert "Second wipe 1" in question(book, 30, up(A))


def test_what_the_press_finishes_is_done_and_what_it_puts_down_is_not() -> None:
    book = car(WIPE, COATING)
    book.press(10, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    assert question(book, 20, up(A)) == ""
    with pytest.raises(Asks, match="Wipe 1"):
        rules.take_up(book.scene(20), up(A), finish=False)


def test_in_the_hands_of_a_mate_it_is_not_done() -> None:
    book = car(WIPE, COATING)
    book.press(5, ev.ClockedOn("carport"), worker="mate")
    book.press(10, ev.WorkStarted("Wipe", ("whole car",), Turn()), worker="mate")
    assert "Wipe 1" in question(book, 20, up(A))


def test_answered_it_holds_for_the_layer_and_is_asked_again_for_the_next() -> None:
    book = car()
    layer(book, 10, A, **{UNDONE: "panel by panel"})
    for at_s, name in ((20, B), (30, ROOF)):
        assert question(book, at_s, up(name)) == ""
        layer(book, at_s, name)
    assert "Cut 4" in question(book, 40, up(A, turn=SECOND))
    layer(book, 50, A, 2, **{UNDONE: "panel by panel"})
    assert question(book, 60, up(B, turn=SECOND)) == ""


def test_a_layer_that_is_laid_again_is_asked_about_again() -> None:
    book = car()
    for at_s, number in ((10, 1), (20, 2)):
        layer(book, at_s, A, number, **{UNDONE: "panel by panel"})
    book.press(30, ev.SectionReopened("Coat", (A,), Turn(2, 1, 0), "high spot"))
    assert "Cut 4" in question(book, 40, up(A, turn=Turn(2, 1, 0)))


def test_an_answer_for_another_coat_or_to_another_question_is_none() -> None:
    book = car(CUT, replace(COATING, name="Base"), COATING)
    for at_s, stage, over in ((10, "Base", UNDONE), (20, "Coat", "coat_gate")):
        book.press(at_s, ev.WorkStarted(stage, (A,), Turn(), {over: "all the same"}))
        book.press(at_s, ev.StepFinished(stage, (A,), Turn()))
        assert book.odd() == []
        assert "Cut 4" in question(book, at_s + 5, up(B))


def test_a_film_that_dried_is_taken_off_without_the_question() -> None:
    book = car()
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(20, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)))
    assert question(book, 3 * 3600, up(A, turn=Turn(1, 1, 2))) == ""


def test_four_stages_are_all_named() -> None:
    more = [replace(WIPE, name=f"Stage {number}") for number in range(4)]
    assert question(car(*more, COATING), 10, up(A)) == (
        "Not done before the coat: Stage 0 1, Stage 1 1, Stage 2 1, Stage 3 1. Coat all the same?"
    )


def test_struck_the_answer_is_asked_for_again() -> None:
    book = car()
    press = book.press(10, ev.WorkStarted("Coat", (A,), Turn(), {UNDONE: "panel by panel"}))
    book.press(20, ev.PressStruck(press))
    assert question(book, 30, up(A))


@pytest.mark.parametrize(
    "event",
    [
        ev.WorkPutDown("Coat", (A,), Turn()),
        ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)),
    ],
    ids=["half laid", "laid"],
)
def test_a_film_that_was_begun_goes_on_without_the_question(event: Struct) -> None:
    book = car()
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(20, event)
    turn = book.job().sections["Coat", A].turn
    assert question(book, 100, up(A, turn=turn)) == ""


def test_nothing_is_asked_while_a_film_waits() -> None:
    book = car()
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(20, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)))
    assert question(book, 30, up(B)) == ""
    book.press(40, ev.WorkStarted("Coat", (A,), Turn(1, 1, 2)))
    book.press(50, ev.StepFinished("Coat", (A,), Turn(1, 1, 2)))
    assert "Cut 4" in question(book, 60, up(B)), "nobody has answered it yet"


def test_other_stages_are_not_asked_about() -> None:
    book = car()
    assert question(book, 10, up("door", stage="Finish")) == ""
    assert question(car(CUT, replace(COATING, kind="")), 10, up(A)) == ""


def test_the_reason_stands_in_the_record() -> None:
    book = car()
    book.do(10, rules.take_up, up(A), over={UNDONE: "not needed under this coat"})
    rows = book.rows
    (one,) = trail(book.job(), [book.shift()], book.jobs(), rows).overruled
    assert (one.at_us, one.rule, one.why) == (us(10), UNDONE, "not needed under this coat")
