"""The watch over the worker: when a rest is due, called, put off or waiting for the film."""

from __future__ import annotations

import pytest

from cartclock.engine.body.pace import Pace
from cartclock.engine.body.rest_words import pace_line, short_pace_line
from cartclock.engine.body.watch import (
    SHORT_CAUTION,
    Watch,
    body_notices,
    body_remarks,
    climate_lines,
    drink_text,
    watch,
)
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift_events import OtherKind
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Plan, Stage, Tool, Vibration, Work
from tests.kit.book import Book, opened
from tests.kit.plans import COAT, WIPE, opening

A = "bonnet left"
# Over the limit after twenty minutes of medium work, with work time left in the hour.
HOT = ev.ReadingTaken(air_c=35, rh=40)
HOUR = 3600


def hot(*facts: tuple[float, ev.RestCalled | ev.RestOverruled], hours: float = 1.5) -> Watch:
    """Wiping in a carport at 35 C since clocking on, with these facts by the second."""
    book = opened(COAT, WIPE)
    book.press(0, HOT)
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(HOUR, HOT)
    for at_s, fact in facts:
        book.press(at_s, fact)
    return seen(book, hours * HOUR)


def seen(book: Book, at_s: float) -> Watch:
    scene = book.scene(at_s)
    assert scene.shift is not None
    return watch(scene.shift, scene.jobs, scene.now_us)


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
    assert (
        "A rest is due and was put off; it will be called again." in body_notices(found, ())
    ) is (state == "overruled")


def test_the_rest_waits_for_an_open_film_and_names_it() -> None:
    book = opened(COAT, WIPE)
    book.press(0, ev.ReadingTaken(air_c=40, rh=40))
    book.press(0, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(HOUR - 60, ev.ReadingTaken(air_c=40, rh=40))
    book.press(HOUR, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 2 * HOUR)))
    found = seen(book, HOUR + 60)
    assert found.rest == "after the film"
    said = body_notices(found, [A])
    assert any("as soon as the film is done: bonnet left. Lay no new one." in one for one in said)


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
    assert "unknown: R" in pace_line(found.pace)
    assert short_pace_line(found.pace) == "heat and gate unknown: R"
    assert climate_lines(found) == ()
    assert drink_text(found.water) == ""
    assert SHORT_CAUTION not in body_remarks(found)


def test_every_line_with_a_figure_says_that_it_is_an_estimate() -> None:
    first, second = climate_lines(hot())
    assert "WBGT" in first and "heat index" in first
    assert second.endswith("screening estimate, 30 min old")
    assert SHORT_CAUTION in body_remarks(hot())


def test_the_heat_index_is_told_in_the_unit_of_the_settings() -> None:
    # Chart of the US NWS: 100 F at 40 % is 109 F, which is 43 C.
    book = Book()
    book.press(0, opening(WIPE))
    book.press(0, ev.ClockedOn())
    book.press(0, ev.ReadingTaken(air_c=37.78, rh=40.0))
    found = seen(book, 60)
    assert "heat index 43 C, danger" in climate_lines(found)[0]
    assert "heat index 109 F, danger" in climate_lines(found, "F")[0]


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        (ev.ReadingTaken(air_c=31.0), "air 31.0 C, humidity missing: no figure without it (R)"),
        (ev.ReadingTaken(rh=40.0), "humidity 40 %, air missing: no figure without it (R)"),
    ],
)
def test_a_reading_without_a_figure_says_what_it_lacks(reading: ev.ReadingTaken, said: str) -> None:
    book = Book()
    book.press(0, opening(WIPE))
    book.press(0, ev.ClockedOn())
    book.press(0, reading)
    assert climate_lines(seen(book, 30)) == (said,)


@pytest.mark.parametrize("air_c", [20, 27, 31, 34, 38, 45, 55])
@pytest.mark.parametrize("rh", [5, 30, 60, 95])
@pytest.mark.parametrize("meter", [None, 28.4], ids=["estimate", "meter"])
def test_the_lines_fit_their_columns(air_c: float, rh: float, meter: float | None) -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=air_c, rh=rh, wbgt_c=meter, place="outdoor shade"))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    for at_s in (60, 2000, 3500, 5000):
        found = seen(book, at_s)
        assert all(len(line) <= 78 for line in (*climate_lines(found), *climate_lines(found, "F")))
        room = 78 - len(drink_text(found.water)) - 1
        assert len(pace_line(found.pace, room)) <= room or found.pace.why_none
        # Of an old reading that is said in front, and takes two columns more.
        assert len(short_pace_line(found.pace)) <= (26 if found.pace.why_none else 24)
        assert len(drink_text(found.water)) <= 16


def test_the_lines_speak_fahrenheit_if_the_worker_does() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=35, rh=40, wbgt_c=28.0))
    found = seen(book, 60)
    assert climate_lines(found)[0].startswith("WBGT 28.0 C by meter")
    assert climate_lines(found, "F")[0].startswith("WBGT 82.4 F by meter")


def test_a_cooler_place_is_told_where_it_buys_minutes() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=35, rh=40))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    # Moderate work at 35 C and 40 % RH by the RAL: resting in the same garage about 21 minutes
    # of work an hour, at 26 C and 50 % 42.6 (our own reckoning from NIOSH 2016-106).
    assert "21 min work an hour, 42 resting at 26 C" in "\n".join(climate_lines(seen(book, 60)))


def test_minutes_of_rest_are_never_rounded_down() -> None:
    pace: Pace = hot().pace
    assert pace.rest_minutes * 60 >= pace.rest_s > (pace.rest_minutes - 1) * 60


def test_symptoms_override_every_number() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=15, rh=40))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    assert seen(book, 60).rest == "none"
    book.press(60, ev.FeltUnwell(("dizziness",)))
    found = seen(book, 120)
    assert (found.rest, found.pace.rule) == ("due", "you do not feel well")
    assert found.pace.rest_s >= 1800
    assert body_notices(found, ())[0].startswith("Dizziness, 1 min ago: if it gets worse")
    book.press(180, ev.WorkPutDown("Wipe", ("whole car",), Turn()))
    book.press(180, ev.BreakTaken("heat", 1800))
    book.press(1980, ev.BreakEnded())
    rested = seen(book, 2000)
    assert rested.rest == "none"
    assert rested.unwell is not None
    assert seen(book, 60 + 2 * HOUR).unwell is None


@pytest.mark.parametrize(
    ("what", "says"),
    [("moving the car", "the car was moved"), ("phone", "")],
    ids=["moved", "on the phone"],
)
def test_a_reading_is_offered_after_the_car_was_moved(what: OtherKind, says: str) -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=22, rh=40))
    book.press(10, ev.OtherWorkStarted(what))
    book.press(600, ev.OtherWorkEnded())
    wanted = seen(book, 700).reading_wanted
    assert says in wanted if says else wanted == ""
    book.press(700, ev.ReadingTaken(air_c=22, rh=40))
    assert seen(book, 800).reading_wanted == ""


def test_a_reading_is_offered_after_a_break() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=22, rh=40))
    book.press(10, ev.BreakTaken("meal", 1800))
    assert seen(book, 700).reading_wanted == ""
    book.press(1810, ev.BreakEnded())
    assert "before the break" in seen(book, 1900).reading_wanted


def test_a_tool_in_hand_is_told_against_a_hundred_points_and_beyond_them_as_over_the_value() -> (
    None
):
    machine = Tool("p", "Polisher", Vibration(4.5, 1.5, 0.8), 84)
    polish = Stage("Polish", ("bonnet",), (Work("polish", 30, tool="p"),))
    book = Book()
    plan = Plan("polish", (polish, WIPE), tools=(machine,))
    book.press(0, ev.JobOpened(plan, "", 1, "bottle green estate"))
    book.press(0, ev.ClockedOn())
    assert climate_lines(seen(book, 10)) == ()
    book.press(10, ev.WorkStarted("Polish", ("bonnet",), Turn()))
    (line,) = climate_lines(seen(book, 3610))
    # a = 6.0 m/s2 for 0.8 h: (6.0/2.5)^2 x 0.8/8 x 100 = 57.6 points (HSE ready-reckoner);
    # 84 dB(A) for 0.8 h of 10.08 h: 7.9 % (NIOSH, 3 dB exchange).
    assert (
        line
        == "Polisher, vibration: under the action value (58 points of 100), noise: 8 % of a day"
    )
    # 1.4 h and 5.6 h at it: 101 and 403 points (HSE ready-reckoner; action 100, limit 400).
    for minutes, value in (
        (106, "action value (102 points of 100)"),
        (420, "limit value (403 points of 400)"),
    ):
        (line,) = climate_lines(seen(book, 10 + minutes * 60))
        assert f"vibration: over the {value}" in line
    book.press(26_000, ev.StepFinished("Polish", ("bonnet",), Turn()))
    assert climate_lines(seen(book, 26_100)) == ()


def test_a_check_in_that_is_overdue_says_how_long_and_calls_nobody() -> None:
    book = opened(WIPE)
    book.press(0, ev.CheckedIn(900))
    assert body_notices(seen(book, 899), ()) == ()
    (said,) = body_notices(seen(book, 900 + 125), ())
    assert said.startswith("I am well (J): due 2:05 ago.")
    assert "never calls anybody" in said


def test_a_reading_in_the_break_is_not_from_before_it() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=22, rh=40))
    book.press(10, ev.BreakTaken("meal", 1800))
    book.press(1800, ev.ReadingTaken(air_c=24, rh=40))
    book.press(1810, ev.BreakEnded())
    assert seen(book, 1900).reading_wanted == ""
