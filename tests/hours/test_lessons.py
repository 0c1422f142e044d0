"""What a job teaches, and how hands were kept from it: held against the standard library."""

from __future__ import annotations

from math import log
from statistics import fmean, geometric_mean, pvariance

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.hours.interruptions import Interruption, interruptions
from cartclock.engine.hours.lessons import (
    LEAST_SECONDS,
    JobLessons,
    Lesson,
    added_up,
    lessons,
    usual,
)
from cartclock.engine.hours.usual import LEAST_MEASURED, Timed, Usual
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, Book, opened, us

DOORS = Stage("Doors", ("one", "two", "three", "four"), (Work("polish", 20.0),))
POLISHED = ("Doors", "polish", 0)


def take(book: Book, at_s: float, worker: str = "me") -> None:
    """Takes up the next door."""
    move = next(m for m in book.moves(at_s, worker) if m.act == "take up")
    book.do(at_s, rules.take_up, move, worker=worker)


def taught(book: Book) -> tuple[Lesson, ...]:
    return lessons(book.job(), [book.shift(s) for s in book.job().shifts])


def test_a_job_teaches_the_mean_and_the_spread_of_the_logarithms() -> None:
    book = opened(DOORS)
    for at_s in (0, 100, 340, 760):
        take(book, at_s)
    (found,) = taught(book)
    seconds = (100.0, 240.0, 420.0)
    assert found == Lesson(
        worker="me",
        step=POLISHED,
        planned_s=1200.0,
        n=3,
        ln_seconds=pytest.approx(fmean(map(log, seconds))),
        ln_variance=pytest.approx(pvariance(list(map(log, seconds)))),
        seconds=pytest.approx(760.0),
        last_us=us(760),
    )
    assert found.ln_ratio == pytest.approx(log(geometric_mean(seconds) / 1200))
    assert usual([found]) == Usual(pytest.approx(geometric_mean(seconds)), 3)


@pytest.mark.parametrize(("at_s", "pieces"), [(59, 2), (60, 3)])
def test_a_key_that_was_pressed_twice_teaches_nothing(at_s: int, pieces: int) -> None:
    """Of twenty minutes one is the least that counts."""
    book = opened(DOORS)
    for one_s in (0, at_s, at_s + 900, at_s + 1800):
        take(book, one_s)
    (found,) = taught(book)
    assert found.n == pieces
    assert (found.ln_seconds > log(899)) == (pieces == 2)


def test_each_worker_learns_of_the_own_hands_and_nothing_of_what_is_done_again() -> None:
    book = opened(DOORS)
    book.press(0, ev.ClockedOn("carport"), worker="helper")
    take(book, 0)
    take(book, 10, "helper")
    take(book, 300)
    take(book, 500, "helper")
    assert [(one.worker, one.n, one.seconds) for one in taught(book)] == [
        ("helper", 1, 490.0),
        ("me", 1, 300.0),
    ]
    book.do(600, rules.take_break, "rest", None, True)
    before = taught(book)
    book.do(700, changes.redo, JOB, "Doors", ("one",), "holograms")
    take(book, 800)
    book.do(900, rules.take_break, "rest", None, True)
    assert taught(book) == before


def test_a_plan_without_minutes_teaches_seconds_but_no_ratio() -> None:
    book = opened(replace(DOORS, steps=(Work("polish", 0.0),)))
    take(book, 0)
    take(book, 90)
    (found,) = taught(book)
    assert (found.planned_s, found.ln_ratio, found.seconds) == (0.0, None, 90.0)
    assert JobLessons(JOB, "a plan", "", us(90), (found,)).measured == {}


def test_a_job_nobody_worked_on_teaches_nothing() -> None:
    assert taught(opened(DOORS)) == ()
    assert usual([]) is None


def test_jobs_count_by_their_pieces_and_too_few_say_nothing() -> None:
    def job(*seconds: float) -> tuple[Lesson, ...]:
        return added_up(Timed("me", POLISHED, us(n), one) for n, one in enumerate(seconds))

    few = job(*[60.0] * (LEAST_MEASURED - 1))
    assert usual(few) is None
    assert usual([*few, *job(90.0, 120.0)]) == Usual(
        pytest.approx(geometric_mean([60, 60, 90, 120])), 4
    )
    # A slip of the finger counts for a second, or it alone would decide.
    assert usual(job(0.001, 100.0, 100.0)) == Usual(
        pytest.approx(geometric_mean([LEAST_SECONDS, 100, 100])), 3
    )


def test_other_work_and_own_rests_interrupt_and_meals_and_heat_do_not() -> None:
    book = opened(DOORS)
    take(book, 0)
    book.do(600, rules.start_other, "phone", JOB)
    take(book, 720)
    # It names no job: it is of the one that was in hand.
    book.do(900, rules.start_other, "phone")
    take(book, 960)
    book.do(1000, rules.take_break, "rest", None, True)
    take(book, 1300)
    book.do(1400, rules.take_break, "meal", None, True)
    take(book, 3200)
    book.do(3300, rules.take_break, "heat", None, True)
    found = interruptions(book.job(), [book.shift()])
    assert found.hands_us == {"me": 1_020_000_000}
    assert found.kinds == (
        Interruption("me", "phone", 2, 180_000_000, pytest.approx(2.0**2 + 1.0**2)),
        Interruption("me", "rest", 1, 300_000_000, pytest.approx(5.0**2)),
    )


def test_what_is_of_no_job_is_of_the_one_that_was_in_hand() -> None:
    book = opened(DOORS)
    book.do(10, rules.start_other, "customer")
    take(book, 70)
    book.do(200, rules.put_down)
    other = replace(book.job(), id="another job")
    (mine,) = interruptions(book.job(), [book.shift()]).kinds
    assert (mine.what, mine.length_us) == ("customer", 60_000_000)
    assert interruptions(other, [book.shift()]).kinds == ()
