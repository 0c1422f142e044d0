"""What is left of a job by its plan, reckoned by hand."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.hours.planned import planned_left_us
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, FALLOUT, POLISH, WIPE

ONE_LAYER = replace(COAT, layers=1, gap=None)


def minutes(book: Book, at_s: float) -> float:
    """What the plan leaves of it, in minutes."""
    job = book.job()
    return planned_left_us(job, job.stages, us(at_s)) / 60e6


def take(book: Book, at_s: float, say: str, section: str = "") -> None:
    move = next(
        m
        for m in book.moves(at_s)
        if m.act == "take up" and m.say == say and (not section or section in m.sections)
    )
    book.do(at_s, rules.take_up, move)


def test_work_without_waits_is_its_minutes_stage_after_stage() -> None:
    # Two sections of 20 + 10 minutes, and one of 5.
    assert minutes(opened(POLISH, WIPE), 0) == 65.0


def test_a_step_over_all_counts_once() -> None:
    # Three sprays of 1.5 minutes and one rinse of 3.
    assert minutes(opened(FALLOUT), 0) == 7.5
    one = replace(FALLOUT, sections=("left",))
    assert minutes(opened(one), 0) == 4.5


def test_waits_are_no_work() -> None:
    # One layer on three sections: 3 x 4.5 minutes of hands.
    assert minutes(opened(ONE_LAYER), 0) == 13.5
    assert minutes(opened(COAT), 0) == 27.0


def test_what_is_in_hand_counts_for_what_its_plan_leaves() -> None:
    book = opened(POLISH)
    take(book, 0, "cut")
    assert minutes(book, 60 * 15) == 45.0
    # Over its plan it counts for nothing more, never for less than nothing.
    assert minutes(book, 60 * 50) == 40.0


def test_what_one_press_takes_up_has_its_minutes_together() -> None:
    wash = Stage("Wash", ("roof", "left", "right", "rear"), (Work("wash", 5.0),), press="stage")
    book = opened(wash, WIPE)
    take(book, 0, "wash")
    assert minutes(book, 60 * 12) == 8.0 + 5.0
    assert minutes(book, 60 * 30) == 5.0


def test_what_was_put_down_has_what_was_done_of_it_behind_it() -> None:
    book = opened(POLISH)
    take(book, 0, "cut")
    book.do(60 * 15, rules.take_break, "rest")
    assert minutes(book, 60 * 15) == 45.0
    # The hands are off it: nothing of it is done meanwhile.
    assert minutes(book, 60 * 40) == 45.0
    take(book, 60 * 40, "cut")
    assert minutes(book, 60 * 42) == 43.0
    book.do(60 * 43, rules.put_down)
    assert minutes(book, 60 * 50) == 42.0
    # Its next step, and a section done again, begin at nothing.
    take(book, 60 * 50, "cut")
    take(book, 60 * 52, "finish")
    assert minutes(book, 60 * 52) == 40.0


def test_what_is_done_or_left_out_is_not_left() -> None:
    book = opened(POLISH)
    book.do(0, changes.skip, JOB, "Polish", ("wing",), "no time")
    assert minutes(book, 0) == 30.0
    take(book, 0, "cut")
    take(book, 60, "finish")
    book.do(120, rules.take_break, "rest", None, True)
    assert minutes(book, 120) == 0
