"""What can be taken up next, and in which order."""

from __future__ import annotations

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.moves import as_if_finished, finishing
from cartclock.engine.plan.plan import Stage
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, FALLOUT, POLISH, WIPE, opening

A, B, ROOF = "bonnet left", "bonnet right", "roof"
LEVEL = Turn(1, 1, 2)

Said = tuple[str, str, str, str]


def said(moves: tuple[Move, ...]) -> list[Said]:
    """(act, verb, sections, why) of each move."""
    return [(m.act, m.say, "+".join(m.sections), m.why) for m in moves]


def first(book: Book, at_s: float, worker: str = "me") -> Said:
    return said(book.moves(at_s, worker))[0]


def laid(book: Book, name: str, from_s: float, to_s: float, marks: Marks | None = None) -> None:
    """One coat applied on a section, with its window behind."""
    book.press(from_s, ev.WorkStarted("Coat", (name,), Turn()))
    book.press(to_s, ev.StepFinished("Coat", (name,), Turn(), marks or Marks(60, 100, 300)))


def test_off_the_clock_there_is_nothing_to_take_up() -> None:
    assert opened(COAT, on=False).moves(0) == ()
    book = opened(COAT)
    assert len(book.moves(10)) == 3
    book.press(20, ev.ClockedOff())
    assert book.moves(30) == ()


# Windows.


def test_late_comes_first_then_what_is_ready_by_its_closing() -> None:
    book = opened(COAT)
    laid(book, A, 0, 10, Marks(60, 100, 900))
    laid(book, B, 10, 20, Marks(60, 100, 500))
    assert said(book.moves(100)) == [
        ("take up", "level", B, "window"),
        ("take up", "level", A, "window"),
        ("take up", "apply", ROOF, "order"),
    ]
    laid(book, ROOF, 20, 30, Marks(10, 20, 80))
    assert [move[2:] for move in said(book.moves(99.999))] == [
        (ROOF, "window"), (B, "window"), (A, "window"),
    ]  # fmt: skip
    assert [move[2:] for move in said(book.moves(600))] == [
        (ROOF, "late"), (B, "late"), (A, "window"),
    ]  # fmt: skip


def test_a_window_is_late_from_the_moment_it_closes() -> None:
    book = opened(COAT)
    laid(book, A, 0, 10)
    assert first(book, 299.999999) == ("take up", "level", A, "window")
    assert first(book, 300) == ("take up", "level", A, "late")


@pytest.mark.parametrize(
    ("opens_s", "wanted"),
    [
        (89, [("stand by", A, "window"), ("take up", B, "order")]),
        (90, [("stand by", A, "window"), ("take up", B, "order")]),
        (91, [("take up", B, "order"), ("take up", ROOF, "order"), ("take up", A, "early")]),
    ],
)
def test_stand_by_what_opens_before_the_next_section_could_be_finished(
    opens_s: int, wanted: list[tuple[str, str, str]]
) -> None:
    """Applying takes 90 s."""
    book = opened(COAT)
    laid(book, A, 0, 10, Marks(opens_s, 120, 500))
    found = [(act, names, why) for act, _, names, why in said(book.moves(10))]
    assert found[: len(wanted)] == wanted
    assert ("take up", A, "early") in found


@pytest.mark.parametrize(("seen_s", "opens_s"), [(62, 62), (80, 70)])
def test_a_film_seen_ready_before_its_mark_is_open_for_the_eye_decides(
    seen_s: int, opens_s: int
) -> None:
    book = opened(COAT)
    laid(book, ROOF, 0, 10)
    laid(book, A, 11, 12)
    laid(book, B, 13, 14)
    assert first(book, 61)[0] == "stand by"
    book.press(seen_s, ev.WindowSeen("Coat", (ROOF,), LEVEL))
    window = next(one for one in book.job().running if one.section == ROOF)
    assert (window.opens_us, window.opens_mark_us) == (us(opens_s), us(70))
    assert (window.state(us(opens_s - 1)), window.state(us(opens_s))) == ("WAIT", "READY")
    assert first(book, seen_s) == ("take up", "level", ROOF, "window")


def test_only_the_window_that_opens_first_is_stood_by() -> None:
    book = opened(COAT)
    laid(book, A, 0, 10, Marks(80, 90, 500))
    laid(book, B, 10, 20, Marks(60, 70, 500))
    assert [(act, names) for act, _, names, _ in said(book.moves(20))] == [
        ("stand by", B), ("take up", ROOF), ("take up", A), ("take up", B),
    ]  # fmt: skip


def test_marks_and_begin_by_of_a_move() -> None:
    book = opened(COAT)
    laid(book, A, 0, 10)
    move = book.moves(80)[0]
    assert (move.minutes, move.opens_us, move.closes_us) == (2.0, us(70), us(300))
    assert move.begin_by_us == us(180)
    assert book.moves(80)[1].begin_by_us is None
    assert replace(move, minutes=60.0).begin_by_us == us(70)


def test_no_later_stage_by_default_while_a_window_runs() -> None:
    book = opened(replace(FALLOUT, sections=("left",)), COAT)
    book.press(0, ev.WorkStarted("Fallout", ("left",), Turn()))
    book.press(90, ev.StepFinished("Fallout", ("left",), Turn(), Marks(3600, 3600, 7200)))
    assert [(act, names, why) for act, _, names, why in said(book.moves(90))] == [
        ("stand by", "left", "window"), ("take up", "left", "early"), ("take up", A, "order"),
    ]  # fmt: skip


def test_in_order_each_a_section_is_waited_for() -> None:
    book = opened(replace(FALLOUT, order="each"))
    book.press(0, ev.WorkStarted("Fallout", ("left",), Turn()))
    book.press(90, ev.StepFinished("Fallout", ("left",), Turn(), Marks(3600, 3600, 7200)))
    assert first(book, 90) == ("stand by", "rinse", "left", "window")
    book = opened(replace(FALLOUT, order="all"))
    book.press(0, ev.WorkStarted("Fallout", ("left",), Turn()))
    book.press(90, ev.StepFinished("Fallout", ("left",), Turn(), Marks(3600, 3600, 7200)))
    assert first(book, 90) == ("take up", "spray", "right", "order")


# A wave that stays a wave.


def forgotten(*stages: Stage) -> Book:
    """A wing that nobody polished, while A's film waits: it opens at 70 s."""
    book = opened(POLISH, *(stages or (COAT,)))
    book.press(0, ev.SectionSkipped("Polish", ("door",)))
    laid(book, A, 0, 10)
    return book


def test_while_a_film_is_in_play_the_next_moves_are_of_its_stage() -> None:
    book = forgotten()
    # Laying takes 90 s: until then the film opens and is stood by; nobody goes to the wing.
    assert [(act, names) for act, _, names, _ in said(book.moves(15))] == [
        ("stand by", A), ("take up", B), ("take up", ROOF), ("take up", A), ("take up", "wing"),
    ]  # fmt: skip
    assert [names for _, _, names, _ in said(book.moves(70))] == [A, B, ROOF, "wing"]
    # It is being levelled, and buffed: the film is in play until then.
    book.press(80, ev.WorkStarted("Coat", (A,), LEVEL))
    assert [names for _, _, names, _ in said(book.moves(90))][:2] == [A, B]
    book.press(100, ev.StepFinished("Coat", (A,), LEVEL))
    assert first(book, 110) == ("take up", "cut", "wing", "order")


def test_a_wave_gives_way_to_nothing_but_a_stage_with_a_film_of_its_own() -> None:
    book = forgotten(COAT, replace(FALLOUT, order="all"))
    assert [m.stage for m in book.moves(15)][:2] == ["Coat", "Coat"]
    book.press(20, ev.WorkStarted("Fallout", ("left",), Turn()))
    assert (book.moves(25)[0].stage, book.moves(25)[0].sections) == ("Coat", (A,))
    plain = [m for m in book.moves(25) if m.why == "order"]
    assert [(m.stage, m.sections[0]) for m in plain] == [
        ("Fallout", "right"), ("Fallout", "front"), ("Polish", "wing"), ("Coat", B),
    ]  # fmt: skip


def test_a_film_put_down_or_late_keeps_the_hands_at_its_stage() -> None:
    book = forgotten()
    book.press(80, ev.WorkStarted("Coat", (A,), LEVEL))
    book.press(90, ev.WorkPutDown("Coat", (A,), LEVEL))
    assert said(book.moves(100))[:2] == [
        ("take up", "level", A, "held"), ("take up", "apply", B, "order"),
    ]  # fmt: skip
    late = forgotten()
    assert said(late.moves(400))[:2] == [
        ("take up", "level", A, "late"), ("take up", "apply", B, "order"),
    ]  # fmt: skip
    # Given up an hour past its close it holds nobody.
    assert [m.stage for m in late.moves(300 + 3600)][:2] == ["Coat", "Polish"]


def test_where_only_the_next_layer_is_left_what_was_forgotten_comes_first() -> None:
    book = opened(POLISH, replace(COAT, steps=COAT.steps[:3], sections=(A,)))
    laid(book, A, 0, 10)
    book.press(80, ev.WorkStarted("Coat", (A,), LEVEL))
    # The film is in play until it is levelled; then only layer 2 is left, and sleeps.
    assert first(book, 90) == ("take up", "cut", "door", "order")
    asleep = book.moves(90)[-2]
    assert (asleep.stage, asleep.turn, asleep.why) == ("Coat", Turn(1, 2, 0), "early")


def test_the_film_of_a_mate_calls_nobody_from_another_stage() -> None:
    book = opened(POLISH, COAT)
    book.press(0, ev.ClockedOn("carport"), worker="mate")
    for event in (
        ev.WorkStarted("Coat", (A,), Turn()),
        ev.StepFinished("Coat", (A,), Turn(), Marks(1800, 1900, 2900)),
    ):
        book.press(10, event, worker="mate")
    book.press(20, ev.WorkStarted("Polish", ("wing",), Turn()))
    assert first(book, 30) == ("take up", "cut", "door", "order")
    plain = [m.stage for m in book.moves(30) if m.why == "order"]
    assert plain[:2] == ["Polish", "Polish"]
    assert book.moves(30, "mate")[0].stage == "Coat"


# Held, gaps, layers.


def test_held_work_comes_before_the_order_but_behind_windows() -> None:
    book = opened(COAT)
    book.press(0, ev.WorkStarted("Coat", (ROOF,), Turn()))
    book.press(5, ev.WorkPutDown("Coat", (ROOF,), Turn()))
    assert said(book.moves(9))[:2] == [
        ("take up", "apply", ROOF, "held"), ("take up", "apply", A, "order"),
    ]  # fmt: skip
    laid(book, A, 10, 20)
    assert [move[2:] for move in said(book.moves(80))] == [
        (A, "window"), (ROOF, "held"), (B, "order"),
    ]  # fmt: skip


def gapped() -> Book:
    """A is through layer 1 at 40 s; its gap opens at 3640 s; the others are skipped."""
    book = opened(COAT, WIPE)
    for at_s, step in ((10, 0), (20, 2), (30, 3)):
        book.press(at_s, ev.WorkStarted("Coat", (A,), Turn(1, 1, step)))
        marks = Marks(3600, 7200, 86400) if step == 3 else None
        book.press(at_s + 10, ev.StepFinished("Coat", (A,), Turn(1, 1, step), marks))
    book.press(40, ev.SectionSkipped("Coat", (B, ROOF)))
    return book


def test_a_gap_sleeps_until_it_opens() -> None:
    book = gapped()
    assert said(book.moves(100)) == [
        ("stand by", "apply", A, "gap"),
        ("take up", "wipe", "whole car", "order"),
        ("take up", "apply", A, "early"),
    ]
    assert said(book.moves(3640 - 0.001))[0] == ("stand by", "apply", A, "gap")
    assert said(book.moves(3640)) == [
        ("take up", "apply", A, "order"), ("take up", "wipe", "whole car", "order"),
    ]  # fmt: skip
    assert book.moves(100)[0].opens_us == us(3640)
    # A gap that has closed is not LATE: the layer may still go on, and the eye decides.
    assert said(book.moves(99_999))[0] == ("take up", "apply", A, "order")


def test_of_two_gaps_the_one_that_opens_first_is_stood_by() -> None:
    book = opened(COAT)
    for at_s, name in ((10, B), (20, A)):
        for step in (0, 2, 3):
            turn = Turn(1, 1, step)
            book.press(at_s, ev.WorkStarted("Coat", (name,), turn))
            marks = Marks(3600, 7200, 86400) if step == 3 else None
            book.press(at_s, ev.StepFinished("Coat", (name,), turn, marks))
    book.press(30, ev.SectionSkipped("Coat", (ROOF,)))
    assert first(book, 40) == ("stand by", "apply", B, "gap")
    assert first(book, 3615) == ("take up", "apply", B, "order")


def test_what_is_left_of_a_layer_comes_before_the_sleeping_next() -> None:
    book = gapped()
    book.press(50, ev.SectionReopened("Coat", (B,), Turn(2, 1, 0)))
    assert [(act, names) for act, _, names, _ in said(book.moves(100))][:2] == [
        ("take up", B), ("stand by", A),
    ]  # fmt: skip


# Several jobs, workers, and what is in hand.


def two_jobs() -> Book:
    book = opened(POLISH)
    book.press(0, opening(WIPE, POLISH, number=2), job="job-2")
    return book


def test_jobs_by_number_and_the_one_touched_last_first() -> None:
    book = two_jobs()
    assert [(m.job, m.stage, m.sections[0]) for m in book.moves(0)] == [
        (JOB, "Polish", "door"), (JOB, "Polish", "wing"),
        ("job-2", "Wipe", "whole car"), ("job-2", "Polish", "door"),
    ]  # fmt: skip
    book.press(10, ev.WorkStarted("Wipe", ("whole car",), Turn()), job="job-2")
    assert [(m.job, m.stage) for m in book.moves(20)][:2] == [("job-2", "Polish")] * 2
    book.press(30, ev.StepFinished("Wipe", ("whole car",), Turn()), job="job-2")
    book.press(31, ev.BreakTaken("rest"))
    assert book.moves(40)[0].job == "job-2"
    book.press(50, ev.JobClosed(), job="job-2")
    assert {m.job for m in book.moves(60)} == {JOB, ""}


def test_a_vehicle_to_be_handed_over_comes_before_a_gap_of_another() -> None:
    book = gapped()
    book.press(60, ev.SectionSkipped("Wipe", ("whole car",)))
    book.press(70, opening(WIPE, number=2), job="job-2")
    book.press(80, ev.WorkStarted("Wipe", ("whole car",), Turn()), job="job-2")
    assert [(m.act, m.job) for m in book.moves(90)][:3] == [
        ("end", ""), ("close", "job-2"), ("stand by", JOB),
    ]  # fmt: skip
    book.press(100, ev.StepFinished("Wipe", ("whole car",), Turn()), job="job-2")
    assert [(m.act, m.job) for m in book.moves(110)][:2] == [
        ("close", "job-2"), ("stand by", JOB),
    ]  # fmt: skip


def test_a_window_of_another_job_comes_first() -> None:
    book = opened(COAT)
    book.press(0, opening(POLISH, number=2), job="job-2")
    laid(book, A, 0, 10)
    book.press(10, ev.WorkStarted("Polish", ("door",), Turn()), job="job-2")
    assert (book.moves(80)[0].job, book.moves(80)[0].why) == (JOB, "window")
    assert (book.moves(30)[0].job, book.moves(30)[0].act) == (JOB, "stand by")


def test_another_workers_section_is_left_out_but_not_its_window() -> None:
    book = opened(COAT)
    book.press(0, ev.ClockedOn(), worker="mate")
    book.press(0, ev.WorkStarted("Coat", (A,), Turn()))
    assert [m.sections for m in book.moves(5, "mate")] == [(B,), (ROOF,)]
    book.press(10, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)))
    assert first(book, 80, "mate") == ("take up", "level", A, "window")


def test_moves_are_reckoned_as_if_what_is_in_hand_were_finished() -> None:
    book = opened(COAT)
    book.press(0, ev.WorkStarted("Coat", (A,), Turn()))
    before = book.job()
    scene = book.scene(90)
    assert scene.shift is not None
    after = as_if_finished(scene.jobs, scene.shift, us(90))
    assert after[JOB].sections["Coat", A].state == "waiting"
    assert scene.jobs[JOB] == before
    hands = Hands(JOB, "Coat", (A,), Turn())
    wanted = ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300))
    assert finishing(before, hands) == wanted
    assert finishing(before, hands, shared=True) == replace(wanted, shared=True)


@pytest.mark.parametrize(
    ("event", "ends"),
    [
        (ev.WorkStarted("Wipe", ("whole car",), Turn()), True),
        (ev.BreakTaken("meal"), True),
        (ev.OtherWorkStarted("phone"), True),
        (ev.DrinkTaken(200), False),
    ],
)
def test_what_is_on_can_be_ended_last(event: Struct, ends: bool) -> None:
    book = opened(WIPE)
    book.press(10, event)
    found = said(book.moves(20))
    assert [move for move in found if move[0] == "end"] == [("end", "", "", "end")] * ends
    # Only handing over the vehicle, where nothing is left to do, stands behind it.
    behind = [move[0] for move in found[found.index(("end", "", "", "end")) + 1 :]] if ends else []
    assert behind in ([], ["close"])


def test_of_a_finished_job_only_handing_over_is_left() -> None:
    book = opened(WIPE)
    book.do(0, rules.take_up, book.moves(0)[0])
    book.do(300, rules.take_up, book.moves(300)[0])
    assert [move.act for move in book.moves(300)] == ["close"] and book.job().sections[
        "Wipe", "whole car"
    ].over
