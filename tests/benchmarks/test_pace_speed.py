"""How long the advice of one repaint takes after a shift of six hundred events."""

from __future__ import annotations

import statistics
import sys
from collections.abc import Callable
from itertools import count

import pytest

from cartclock.engine.body.rest_words import pace_line
from cartclock.engine.body.watch import body_notices, climate_lines, watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Stage, Work
from tests.kit.book import Book, us
from tests.kit.cost import in_loops, processor_s
from tests.kit.plans import opening

SECTIONS = tuple(f"section {n}" for n in range(280))
POLISH = Stage("Polish", SECTIONS, (Work("polish", 2.0),), effort_by={"section 7": "heavy"})
EVENTS, EVERY_S = 600, 100
# Of a known loop (`tests.kit.cost`); 1.2 was reached, half of it for the two hours ahead and what
# each rest would buy. It is reckoned every ten seconds at most, and after a press.
MOST_LOOPS = 1.8


def long_shift() -> tuple[Shift, dict[str, Job], int]:
    """A shift of twelve hours and more, in the sun, with a reading every half hour."""
    book = Book()
    book.press(0, opening(POLISH))
    book.press(0, ev.ClockedOn("carport"))
    at_s = 0
    for number, section in enumerate(SECTIONS):
        if number % 18 == 0:
            air_c = 30.0 + number / 50
            book.press(at_s, ReadingTaken(air_c=air_c, rh=40.0, place="sun"))
        if number % 40 == 39:
            book.press(at_s, ev.BreakTaken("heat"))
            at_s += 900
            book.press(at_s, ev.BreakEnded())
        book.press(at_s, ev.WorkStarted("Polish", (section,), Turn()))
        at_s += EVERY_S
        if number < len(SECTIONS) - 1:
            book.press(at_s, ev.StepFinished("Polish", (section,), Turn()))
        if number % 10 == 0:
            book.press(at_s, ev.DrinkTaken(240))
    assert book.odd() == []
    shift = book.shift()
    assert len([row for row in book.rows if row.shift == shift.id]) >= EVENTS
    return shift, book.jobs(), us(at_s)


def repainted() -> Callable[[], None]:
    """The advice of one repaint, every verdict and every sentence of it; each time a second of job
    time on."""
    shift, jobs, now_us = long_shift()
    rest_place = ReadingTaken(air_c=26.0, rh=50.0)
    seconds = count()

    def advice() -> None:
        found = watch(shift, jobs, now_us + next(seconds) * 1_000_000, rest_place)
        said = (pace_line(found.pace), *climate_lines(found), *body_notices(found, ()))
        assert found.pace.band == "over"
        assert len(said) > 3

    return advice


def test_a_repaint_is_not_held_up() -> None:
    assert in_loops(repainted(), rounds=9) < MOST_LOOPS


@pytest.mark.long
def test_print_how_long_a_verdict_takes(capsys: pytest.CaptureFixture[str]) -> None:
    advice = repainted()
    took = sorted(processor_s(advice) * 1000 for _ in range(300))
    with capsys.disabled():
        sys.stdout.write(
            f"\nadvice of one repaint, {EVENTS} events, processor: median "
            f"{statistics.median(took):.2f} ms, least {took[0]:.2f}, most {took[-1]:.2f}\n"
        )
    assert in_loops(advice, rounds=60) < MOST_LOOPS
