"""Where the time of a shift goes, to the microsecond."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift_events import BreakKind, GapAnswer
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.hours.breaks import BreakClass
from cartclock.engine.hours.partition import BreakTime, Piece, breaks, partition, sums
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Asks, Refused
from tests.kit.book import JOB, T0_US, Book, opened, row_at, us
from tests.kit.plans import COAT, FALLOUT, WIPE, opening

A, B = "bonnet left", "bonnet right"
MARKS = Marks(60, 100, 300)

Said = tuple[Any, ...]


def said(pieces: list[Piece]) -> list[Said]:
    """(from s, to s, kind, what or stage) of each piece."""
    return [
        ((p.start_us - T0_US) / 1e6, (p.end_us - T0_US) / 1e6, p.kind, p.what or p.stage)
        for p in pieces
    ]


def in_hand() -> Book:
    """A coat is being laid from 100 s on."""
    book = opened(COAT)
    book.press(100, ev.WorkStarted("Coat", (A,), Turn()))
    return book


def filmed(ended_s: float | None = None, taken: bool = True) -> Book:
    """A coat laid from 100 to 190 s: opens at 250, closes at 400; ended then, if it is."""
    book = in_hand()
    book.press(190, ev.StepFinished("Coat", (A,), Turn(), MARKS))
    if ended_s is not None and taken:
        book.press(ended_s, ev.WorkStarted("Coat", (A,), Turn(1, 1, 2)))
    elif ended_s is not None:
        book.press(ended_s, ev.SectionSkipped("Coat", (A,)))
    return book


def test_each_kind_of_piece() -> None:
    book = opened(WIPE)
    book.press(10, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(20, ev.StepFinished("Wipe", ("whole car",), Turn()), ev.BreakTaken("meal"))
    book.press(50, ev.BreakEnded(), ev.OtherWorkStarted("phone", JOB))
    book.press(60, ev.OtherWorkEnded())
    book.press(70, ev.GapJudged(us(61), us(63), "off"), ev.GapJudged(us(63), us(66), "not known"))
    book.press(80, ev.ClockedOff())
    assert said(book.pieces(999)) == [
        (0, 10, "unassigned", ""),
        (10, 20, "hands", "Wipe"),
        (20, 50, "break", "meal"),
        (50, 60, "other", "phone"),
        (60, 61, "unassigned", ""),
        (61, 63, "off", ""),
        (63, 66, "not known", ""),
        (66, 80, "unassigned", ""),
    ]
    whole = book.pieces(999)
    assert (whole[1].job, whole[1].sections, whole[3].job) == (JOB, ("whole car",), JOB)
    assert partition(book.shift(), book.jobs(), us(999), us(50)) == whole[3:]


@pytest.mark.parametrize(
    ("book", "stood_to_s", "after"),
    [
        pytest.param(filmed(), 400, [(400, 600, "unassigned", "")], id="closes"),
        pytest.param(filmed(220), 220, [(220, 600, "hands", "Coat")], id="taken"),
        pytest.param(filmed(220, taken=False), 220, [(220, 600, "unassigned", "")], id="skipped"),
        pytest.param(
            filmed(450),
            400,
            [(400, 450, "unassigned", ""), (450, 600, "hands", "Coat")],
            id="taken late",
        ),
    ],
)
def test_standing_by_from_the_last_touch_until_it_closes_or_ends(
    book: Book, stood_to_s: float, after: list[Said]
) -> None:
    before = [(0, 100, "unassigned", ""), (100, 190, "hands", "Coat")]
    assert said(book.pieces(600)) == [*before, (190, stood_to_s, "standing by", "Coat"), *after]


def test_a_film_without_width_or_a_gap_is_not_stood_by() -> None:
    book = in_hand()
    book.press(190, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 70, 80)))
    assert said(book.pieces(300))[2:] == [(190, 300, "unassigned", "")]
    book = opened(COAT)
    for at_s, step in ((1, 0), (2, 2), (3, 3)):
        book.press(at_s, ev.WorkStarted("Coat", (A,), Turn(1, 1, step)))
        gap = Marks(3600, 7200, 86400) if step == 3 else None
        book.press(at_s + 1, ev.StepFinished("Coat", (A,), Turn(1, 1, step), gap))
    assert said(book.pieces(9))[-1] == (4, 9, "unassigned", "")
    assert book.job().running[0].kind == "gap"


def test_what_is_held_is_not_stood_by() -> None:
    book = in_hand()
    book.press(130, ev.WorkPutDown("Coat", (A,), Turn()))
    book.press(150, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(190, ev.StepFinished("Coat", (A,), Turn(), MARKS))
    assert said(book.pieces(200))[2] == (130, 150, "unassigned", "")


def test_revised_marks_move_the_close() -> None:
    book = filmed()
    book.press(200, ev.MarksRevised("Coat", (A,), Turn(1, 1, 2), Marks(60, 100, 200)))
    assert said(book.pieces(600))[2:] == [
        (190, 300, "standing by", "Coat"), (300, 600, "unassigned", ""),
    ]  # fmt: skip


def test_a_window_leaves_breaks_and_work_what_they_are() -> None:
    book = filmed()
    book.press(200, ev.BreakTaken("rest"))
    book.press(230, ev.BreakEnded(), ev.OtherWorkStarted("fetching"))
    book.press(260, ev.OtherWorkEnded(), ev.WorkStarted("Coat", (B,), Turn()))
    assert said(book.pieces(500))[2:] == [
        (190, 200, "standing by", "Coat"),
        (200, 230, "break", "rest"),
        (230, 260, "other", "fetching"),
        (260, 500, "hands", "Coat"),
    ]


def test_standing_by_goes_to_the_job_whose_window_closes_first() -> None:
    book = opened(COAT)
    book.press(0, opening(FALLOUT, number=2), job="job-2")
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(20, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)))
    book.press(30, ev.WorkStarted("Fallout", ("left",), Turn()), job="job-2")
    book.press(40, ev.StepFinished("Fallout", ("left",), Turn(), Marks(20, 30, 60)), job="job-2")
    stood = [p for p in book.pieces(500) if p.kind == "standing by"]
    assert [(p.job, p.stage, p.length_us / 1e6) for p in stood] == [
        (JOB, "Coat", 10), ("job-2", "Fallout", 50), (JOB, "Coat", 220),
    ]  # fmt: skip
    assert sums(book.pieces(500))["standing by", "", JOB, "Coat"] == 230_000_000


def test_windows_of_a_job_not_touched_in_the_shift_are_not_stood_by() -> None:
    book = filmed()
    book.press(0, ev.ClockedOn(), worker="mate")
    assert said(book.pieces(300, "mate 1")) == [(0, 300, "unassigned", "")]


@pytest.mark.parametrize(
    ("was", "kind", "what"),
    [
        ("rest", "break", "rest"), ("away", "break", "away"), ("driving", "other", "driving"),
        ("off", "off", ""), ("not known", "not known", ""),
    ],
)  # fmt: skip
def test_answers_override_and_cut(was: GapAnswer, kind: str, what: str) -> None:
    book = filmed(300)
    book.press(400, ev.GapJudged(us(150), us(320), was))
    pieces = book.pieces(400)
    assert said(pieces) == [
        (0, 100, "unassigned", ""),
        (100, 150, "hands", "Coat"),
        (150, 320, kind, what),
        (320, 400, "hands", "Coat"),
    ]
    assert [p.told for p in pieces] == [False, False, True, False]


def test_a_later_answer_covers_an_earlier_one() -> None:
    book = opened(WIPE)
    book.press(100, ev.GapJudged(us(10), us(50), "meal"))
    book.press(110, ev.GapJudged(us(20), us(60), "phone"))
    book.press(120, ev.GapJudged(us(30), us(40), "as it stood"))
    assert said(book.pieces(100)) == [
        (0, 10, "unassigned", ""),
        (10, 20, "break", "meal"),
        (20, 30, "other", "phone"),
        (30, 40, "unassigned", ""),
        (40, 60, "other", "phone"),
        (60, 100, "unassigned", ""),
    ]


def test_answers_outside_the_shift_count_for_nothing() -> None:
    book = opened(WIPE)
    book.press(50, ev.ClockedOff())
    book.press(90, ev.GapJudged(us(-40), us(0), "meal"), ev.GapJudged(us(50), us(80), "off"))
    assert said(book.pieces(900)) == [(0, 50, "unassigned", "")]


def test_lengths_of_zero_leave_no_piece() -> None:
    book = opened(COAT)
    book.press(0, ev.WorkStarted("Coat", (A,), Turn()), ev.WorkPutDown("Coat", (A,), Turn()))
    assert book.pieces(0) == []
    book.press(9, ev.BreakTaken("rest"), ev.BreakEnded())
    assert said(book.pieces(9)) == [(0, 9, "unassigned", "")]
    assert said(book.pieces(5)) == [(0, 9, "unassigned", "")]


@pytest.mark.parametrize(
    "begin",
    [
        pytest.param(datetime(2026, 6, 10, 23, 30, tzinfo=UTC), id="midnight UTC"),
        pytest.param(datetime(2026, 3, 29, 0, 30, tzinfo=UTC), id="clocks go forward in Berlin"),
        pytest.param(datetime(2026, 10, 25, 0, 30, tzinfo=UTC), id="clocks go back in Berlin"),
    ],
)
def test_days_and_clock_changes_move_no_length(begin: datetime) -> None:
    at_s = begin.timestamp() - T0_US / 1e6
    book = Book()
    book.press(at_s, opening(WIPE), ev.ClockedOn(zone="Europe/Berlin"))
    book.press(at_s + 600, ev.BreakTaken("rest"))
    book.press(at_s + 1500, ev.BreakEnded())
    book.press(at_s + 7200, ev.ClockedOff())
    lengths = [(p.kind, p.length_us // 1_000_000) for p in book.pieces(0)]
    assert lengths == [("unassigned", 600), ("break", 900), ("unassigned", 5700)]


@pytest.mark.parametrize(
    ("what", "minutes", "answer", "asked", "counts"),
    [
        pytest.param("rest", 15, None, "counted", "counted", id="29 CFR 785.18 rest"),
        pytest.param("meal", 30, None, "not counted", "not counted", id="29 CFR 785.19(a) meal"),
        pytest.param("meal", 25, None, "ask", "ask", id="29 CFR 785.19(a) short meal"),
        pytest.param("meal", 25, True, "ask", "counted", id="29 CFR 785.19(a) answered yes"),
        pytest.param("meal", 30, True, "not counted", "counted", id="the answer holds"),
        pytest.param("rest", 15, False, "counted", "not counted", id="the answer holds, too"),
        pytest.param("away", 90, None, "ask", "ask", id="29 CFR 785.16 away"),
    ],
)
def test_breaks_are_classed(
    what: BreakKind, minutes: int, answer: bool | None, asked: BreakClass, counts: BreakClass
) -> None:
    book = opened(WIPE)
    book.press(60, ev.BreakTaken(what))
    book.press(60 + minutes * 60, ev.BreakEnded())
    if answer is not None:
        book.press(9000, ev.BreakJudged(us(60), answer), ev.BreakJudged(us(59), not answer))
        book.press(9001, ev.BreakJudged(us(60 + minutes * 60), not answer))
    found = breaks(book.shift(), book.jobs(), us(9999))
    assert found == [BreakTime(us(60), us(60 + minutes * 60), what, True, asked, counts)]


def test_minding_a_window_is_a_duty_and_no_rule_set_judges_nothing() -> None:
    book = filmed()
    book.press(399, ev.BreakTaken("meal"))
    book.press(399 + 2400, ev.BreakEnded())
    (found,) = breaks(book.shift(), book.jobs(), us(9999))
    assert found == BreakTime(us(399), us(399 + 2400), "meal", False, "counted", "counted")
    book.rows[0:2] = [book.rows[0], row_at(ev.ClockedOn(rule_set="none"), 0, 1)]
    (found,) = breaks(book.shift(), book.jobs(), us(9999))
    assert (found.relieved, found.asked) == (False, "not judged")


# Whatever a worker does, the pieces are the time on the clock without holes.

ACTS = st.sampled_from(["next", "next", "second", "meal", "phone", "down", "judge", "off"])


@settings(max_examples=60)
@given(st.lists(st.tuples(ACTS, st.integers(0, 400)), min_size=5, max_size=25))
def test_pieces_are_exactly_the_time_on_the_clock(acts: list[tuple[str, int]]) -> None:
    book, at_s = opened(FALLOUT, COAT), 0.0
    for act, seconds in acts:
        at_s += seconds + 0.000_001
        try:
            match act:
                case "next" | "second":
                    for move in book.moves(at_s)[act == "second" :][:1]:
                        book.do(at_s, rules.take_up, move)
                case "meal":
                    book.do(at_s, rules.take_break, "meal")
                case "phone":
                    book.do(at_s, rules.start_other, "phone")
                case "down":
                    book.do(at_s, rules.put_down)
                case "judge":
                    book.do(at_s, rules.judge_gap, us(at_s - seconds), us(at_s), "away")
                case "off":
                    book.do(at_s, rules.clock_off)
        except (Refused, Asks):
            pass
        shift = book.shift()
        end_us = us(at_s) if shift.off_us is None else shift.off_us
        pieces = book.pieces(at_s)
        assert sum(sums(pieces).values()) == end_us - us(0)
        assert all(one.end_us == other.start_us for one, other in pairwise(pieces))
        assert all(piece.length_us > 0 for piece in pieces)
