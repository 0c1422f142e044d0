"""The watch over the worker: when a rest is due, called, put off or waiting for the film."""

from __future__ import annotations

import pytest

from engine.job import events as ev
from engine.job.acclimatization import Acclimatization
from engine.job.events import Marks, Turn
from engine.job.pace import Pace
from engine.job.watch import (
    Watch,
    body_notices,
    climate_line,
    heat_line,
    rest_minutes,
    watch,
)
from tests.kit.book import Book, opened
from tests.kit.plans import COAT, WIPE

NOT_USED = Acclimatization(False, "Nobody said.", 0, 20, "")
A = "bonnet left"
HOUR = 3600


def hot(*facts: tuple[float, ev.RestCalled | ev.RestOverruled], hours: float = 1.5) -> Watch:
    """Wiping in a carport at 40 C since clocking on, with these facts by the second."""
    book = opened(COAT, WIPE)
    book.press(0, ev.ReadingTaken(air_c=40, rh=40))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(HOUR, ev.ReadingTaken(air_c=40, rh=40))
    for at_s, fact in facts:
        book.press(at_s, fact)
    return seen(book, hours * HOUR)


def seen(book: Book, at_s: float) -> Watch:
    scene = book.scene(at_s)
    assert scene.shift is not None
    return watch(scene.shift, scene.jobs, scene.now_us, NOT_USED)


CALLED = (1.4 * HOUR, ev.RestCalled("NIOSH limit", 900))


def test_a_rest_is_due_until_it_is_told_and_then_called() -> None:
    assert hot().rest == "due"
    assert hot(CALLED).rest == "called"


@pytest.mark.parametrize(
    ("minutes_ago", "state"), [(14, "overruled"), (16, "due")], ids=["just now", "long ago"]
)
def test_an_overruled_rest_is_let_alone_for_a_while(minutes_ago: int, state: str) -> None:
    overruled = (1.5 * HOUR - minutes_ago * 60, ev.RestOverruled("one panel left"))
    call = (1.1 * HOUR, ev.RestCalled("NIOSH limit", 900))
    found = hot(call, overruled)
    assert found.rest == state
    assert ("A rest is due and was put off." in body_notices(found, ())) is (state == "overruled")


def test_the_rest_waits_for_an_open_film_and_names_it() -> None:
    book = opened(COAT, WIPE)
    book.press(0, ev.ReadingTaken(air_c=40, rh=40))
    book.press(0, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(HOUR - 60, ev.ReadingTaken(air_c=40, rh=40))
    book.press(HOUR, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 2 * HOUR)))
    found = seen(book, HOUR + 60)
    assert found.rest == "after the film"
    said = body_notices(found, [A])
    assert "Rest is due as soon as the window is done: bonnet left." in said


def test_in_a_break_no_rest_is_due() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=40, rh=40))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(HOUR - 60, ev.ReadingTaken(air_c=40, rh=40))
    book.press(HOUR, ev.WorkPutDown("Wipe", ("whole car",), Turn()))
    book.press(HOUR, ev.BreakTaken("heat", 900))
    assert seen(book, HOUR + 60).rest == "none"


def test_without_a_reading_there_is_no_verdict() -> None:
    book = opened(WIPE)
    found = seen(book, 60)
    assert found.pace.band == ""
    assert "no verdict" in heat_line(found.pace)
    assert climate_line(found.pace) == ""


def test_every_line_with_a_figure_says_that_it_is_an_estimate() -> None:
    line = climate_line(hot().pace)
    assert "WBGT" in line and "heat index" in line
    assert line.endswith("screening estimate")


def test_minutes_of_rest_are_never_rounded_down() -> None:
    pace: Pace = hot().pace
    assert rest_minutes(pace) * 60 >= pace.rest_s > (rest_minutes(pace) - 1) * 60
