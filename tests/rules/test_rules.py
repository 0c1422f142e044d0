"""One press of each action: the events it writes, and when it asks.

What each refusal says stands in `test_sentences`.
"""

from __future__ import annotations

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, FALLOUT, WIPE, opening
from tests.kit.samples import FIRST, SEALED

A, B, ROOF = "bonnet left", "bonnet right", "roof"
LEVEL, SECOND = Turn(1, 1, 2), Turn(1, 2, 0)
MARKS, GAP = Marks(60, 100, 300), Marks(3600, 7200, 86400)


def move(*names: str, turn: Turn = FIRST, stage: str = "Coat", job: str = JOB) -> Move:
    return Move("take up", job, stage, names, turn)


def started(*names: str, turn: Turn = FIRST, **over: str) -> ev.WorkStarted:
    return ev.WorkStarted("Coat", names, turn, over)


def in_hand(*names: str) -> Book:
    """At 10 s the worker applies the coat on these."""
    book = opened(COAT, WIPE)
    book.press(10, started(*names))
    return book


def wiping() -> Book:
    """At 10 s the worker wipes the whole car, which leaves no film."""
    book = opened(WIPE)
    book.press(10, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    return book


def waiting() -> Book:
    """A flashes: opens at 80 s, closes at 310 s."""
    book = in_hand(A)
    book.press(20, ev.StepFinished("Coat", (A,), Turn(), MARKS))
    return book


def gapped(step_3: bool = True) -> Book:
    """A is through layer 1 at 40 s, its gap opens at 3640 s; or its last step is in hand."""
    book = opened(COAT)
    for at_s, step in ((10, 0), (20, 2)):
        book.press(at_s, started(A, turn=Turn(1, 1, step)))
        book.press(at_s + 10, ev.StepFinished("Coat", (A,), Turn(1, 1, step)))
    book.press(30, started(A, turn=Turn(1, 1, 3)))
    if step_3:
        book.press(40, ev.StepFinished("Coat", (A,), Turn(1, 1, 3), GAP))
    return book


# What each press writes.


def test_taking_up_from_nothing() -> None:
    assert opened(COAT).do(5, rules.take_up, move(A)) == [started(A)]


def test_taking_up_finishes_what_is_in_hand_and_books_its_products() -> None:
    assert in_hand(A).do(90, rules.take_up, move(B)) == [
        ev.StepFinished("Coat", (A,), Turn(), MARKS),
        ev.ProductUsed("Coat", (A,), Turn(), {"coat": 15.0}),
        started(B),
    ]


def test_taking_up_without_finishing_puts_down() -> None:
    assert in_hand(A).do(90, rules.take_up, move(B), finish=False) == [
        ev.WorkPutDown("Coat", (A,), Turn()),
        started(B),
    ]


@pytest.mark.parametrize(
    ("on", "ended"),
    [
        (ev.BreakTaken("rest"), ev.BreakEnded()),
        (ev.OtherWorkStarted("phone"), ev.OtherWorkEnded()),
    ],
)
def test_taking_up_ends_a_break_and_other_work(on: Struct, ended: Struct) -> None:
    book = opened(COAT)
    book.press(5, on)
    assert book.do(9, rules.take_up, move(A)) == [ended, started(A)]


def test_standing_by_and_ending_only_end() -> None:
    stand_by = replace(move(A), act="stand by")
    finished = [
        ev.StepFinished("Coat", (A,), Turn(), MARKS),
        ev.ProductUsed("Coat", (A,), Turn(), {"coat": 15.0}),
    ]
    assert in_hand(A).do(90, rules.take_up, stand_by) == finished
    assert in_hand(A).do(90, rules.take_up, Move("end", why="end")) == finished
    book = waiting()
    book.press(30, ev.BreakTaken("rest"))
    assert book.do(40, rules.take_up, stand_by) == [ev.BreakEnded()]


def test_taking_up_a_window_and_the_next_step_of_what_is_in_hand() -> None:
    book = waiting()
    assert book.do(90, rules.take_up, move(A, turn=LEVEL)) == [started(A, turn=LEVEL)]
    buff = Turn(1, 1, 3)
    assert book.do(99, rules.take_up, move(A, turn=buff)) == [
        ev.StepFinished("Coat", (A,), LEVEL),
        started(A, turn=buff),
    ]
    assert book.job().windows[0].ended_us == us(90)


@pytest.mark.parametrize(("names", "amount"), [((A,), 15.0), ((A, B), 25.0), ((A, B, ROOF), 35.0)])
def test_priming_goes_on_the_first_of_the_stage(names: tuple[str, ...], amount: float) -> None:
    """10 a section, 15 for the first."""
    book = in_hand(*names)
    assert ev.ProductUsed("Coat", names, Turn(), {"coat": amount}) in book.do(
        90, rules.take_up, Move("end", why="end")
    )


def test_priming_once_per_layer_and_none_without_first() -> None:
    book = waiting()
    assert book.do(30, rules.take_up, move(B)) == [started(B)]
    assert book.do(90, rules.take_up, move(A, turn=LEVEL))[1] == ev.ProductUsed(
        "Coat", (B,), Turn(), {"coat": 10.0}
    )
    book = gapped()
    book.do(3700, rules.take_up, move(A, turn=SECOND))
    assert book.do(3800, rules.take_up, Move("end", why="end"))[1] == ev.ProductUsed(
        "Coat", (A,), SECOND, {"coat": 15.0}
    )
    book = opened(FALLOUT)
    book.do(0, rules.take_up, move("left", "right", stage="Fallout"))
    assert book.do(9, rules.take_break, "rest", finish=True)[1] == ev.ProductUsed(
        "Fallout", ("left", "right"), Turn(), {"fallout": 120.0}
    )


def test_breaks_and_other_work_put_down_or_finish() -> None:
    rest = ev.BreakTaken("rest", 600)
    down = ev.WorkPutDown("Wipe", ("whole car",), Turn())
    assert wiping().do(90, rules.take_break, "rest", 600) == [down, rest]
    assert wiping().do(90, rules.put_down) == [down]
    assert wiping().do(90, rules.start_other, "phone", JOB) == [
        down, ev.OtherWorkStarted("phone", JOB),
    ]  # fmt: skip
    book = wiping()
    assert book.do(90, rules.take_break, "rest", 600, finish=True) == [
        ev.StepFinished("Wipe", ("whole car",), Turn()), rest,
    ]  # fmt: skip
    assert book.do(99, rules.take_break, "meal") == [ev.BreakEnded(), ev.BreakTaken("meal")]
    assert book.do(100, rules.start_other, "phone") == [
        ev.BreakEnded(), ev.OtherWorkStarted("phone"),
    ]  # fmt: skip
    assert book.do(101, rules.start_other, "phone", JOB) == [
        ev.OtherWorkEnded(), ev.OtherWorkStarted("phone", JOB),
    ]  # fmt: skip


def test_clocking_on_and_off() -> None:
    book = Book()
    assert book.do(0, rules.clock_on, ev.ClockedOn("yard")) == [ev.ClockedOn("yard")]
    assert book.do(9, rules.clock_off) == [ev.ClockedOff()]
    assert book.do(20, rules.clock_on, ev.ClockedOn()) == [ev.ClockedOn()]
    assert book.shift("me 2").state == "free"
    over = {"window_open": "the mate takes it"}
    assert in_hand(A).do(90, rules.clock_off, over=over) == [
        ev.WorkPutDown("Coat", (A,), Turn()), ev.ClockedOff(over),
    ]  # fmt: skip
    assert waiting().do(30, rules.clock_off, over=over) == [ev.ClockedOff(over)]
    assert gapped().do(50, rules.clock_off) == [ev.ClockedOff()]


def test_jobs_open_close_and_reopen() -> None:
    book = Book()
    assert book.do(0, rules.open_job, JOB, opening(WIPE)) == [opening(WIPE)]
    book.do(1, rules.clock_on, ev.ClockedOn())
    book.do(2, rules.take_up, move("whole car", stage="Wipe"))
    assert book.do(9, rules.close_job, JOB) == [
        ev.StepFinished("Wipe", ("whole car",), Turn()), ev.JobClosed(),
    ]  # fmt: skip
    assert book.do(10, rules.reopen_job, JOB, "sills") == [ev.JobReopened("sills")]
    over = {"unfinished": "called away"}
    assert in_hand(A).do(90, rules.close_job, JOB, over)[-1] == ev.JobClosed(over)


def test_notes_seen_windows_and_answers() -> None:
    book = waiting()
    note, drink = ev.NoteWritten(SEALED), ev.DrinkTaken(250)
    assert book.do(30, rules.note_shift, drink) == [drink]
    assert book.do(31, rules.note_job, JOB, note) == [note]
    assert book.do(90, rules.see, JOB, "Coat", A) == [ev.WindowSeen("Coat", (A,), LEVEL)]
    judged = ev.GapJudged(us(1), us(99), "meal")
    assert book.do(99, rules.judge_gap, us(1), us(99), "meal") == [judged]
    assert book.do(99, rules.judge_break, us(3), True) == [ev.BreakJudged(us(3), True)]
    book.press(99, ev.ProductUsed("Coat", (A,), Turn(), {"coat": 15.0}))
    less = ev.UseCorrected("coat", -15.0, "spilt none")
    assert book.do(99, rules.note_job, JOB, less) == [less]


def test_no_question_while_a_film_is_in_play() -> None:
    book = gapped()
    book.press(50, started(B), ev.StepFinished("Coat", (B,), Turn(), MARKS))
    assert book.do(340, rules.take_up, move(A, turn=SECOND))[-1] == started(A, turn=SECOND)
    # Late it is in play as well.
    assert rules.take_up(gapped_and_late().scene(355), move(A, turn=SECOND))


def gapped_and_late() -> Book:
    book = gapped()
    book.press(50, started(B), ev.StepFinished("Coat", (B,), Turn(), MARKS))
    return book


def test_the_question_is_asked_again_once_the_film_is_off() -> None:
    book = gapped_and_late()
    level = started(B, turn=Turn(1, 1, 2))
    book.press(120, level)
    book.press(350, ev.StepFinished("Coat", (B,), Turn(1, 1, 2)))
    with pytest.raises(Asks, match="its gap opens in 55 min"):
        book.do(350, rules.take_up, move(A, turn=SECOND))


def test_a_layer_too_early_is_laid_if_said_again() -> None:
    over = {"layer_early": "the label of the pack says 40 min"}
    early = gapped().do(50, rules.take_up, move(A, turn=SECOND), over=over)
    assert early == [started(A, turn=SECOND, **over)]
    assert gapped().do(3640, rules.take_up, move(A, turn=SECOND)) == [started(A, turn=SECOND)]


def test_a_layer_straight_from_the_hands_is_too_early_as_well() -> None:
    with pytest.raises(Asks, match="Layer 2 on bonnet left is early: its gap opens in 60 min"):
        gapped(step_3=False).do(40, rules.take_up, move(A, turn=SECOND))
