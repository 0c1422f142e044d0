"""A film in play comes before everything but the body in danger."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.body.watch import watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.alarm import alarms, battery_alarm
from cartclock.engine.now.glance import glance
from cartclock.engine.now.moment import Facts, Moment, moment
from cartclock.engine.now.ringing import by_urgency
from cartclock.engine.plan.plan import Wait
from cartclock.engine.rules import rules
from cartclock.tui.told.in_view import job_in_view
from tests.kit.book import Book, opened, us
from tests.kit.day import Day
from tests.kit.plans import COAT, POLISH, WIPE

A, B = "bonnet left", "bonnet right"
LEVEL = Turn(1, 1, 2)
REST = Move("rest", minutes=15, why="rest")


def at(book: Book, at_s: float) -> Moment:
    """The moment of the first worker."""
    shifts: dict[str, Shift] = {"me": book.shift()}
    facts = Facts(len(book.rows), 0, book.jobs(), shifts, {"me": {}}, None, None)
    return moment(facts, "me", "", us(at_s), True)


def words(book: Book, at_s: float) -> list[str]:
    """The words on the clocks."""
    now = at(book, at_s)
    seen = glance(now.jobs, now.me.shift, now.now_us, now.me.moves[0], 0, now.me.watch)
    return [face.word for face in seen.faces]


def hot(levelling: bool = False) -> Book:
    """An hour of work at 36 C with one film laid at its end, which closes at 3900 s."""
    book = opened(COAT, WIPE)
    book.press(0, ev.ReadingTaken(air_c=36, rh=24))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(3500, ev.ReadingTaken(air_c=36, rh=24))
    book.press(3600, ev.StepFinished("Wipe", ("whole car",), Turn()))
    book.press(3600, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(3660, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)))
    if levelling:
        book.press(4000, ev.WorkStarted("Coat", (A,), LEVEL))
    return book


@pytest.mark.parametrize("at_s", [3700, 3899, 3901, 5000, 3900 + 3599])
def test_no_rest_stands_over_a_film_late_or_not(at_s: float) -> None:
    book = hot()
    now = at(book, at_s)
    assert now.me.watch is not None and now.me.watch.pace.resting_due
    assert "REST NOW" not in words(book, at_s)
    assert now.me.moves[0].act != "rest"
    assert not [alarm for alarm in now.alarms if alarm.urgency == "rest"]


def test_the_rest_is_called_when_the_film_is_given_up_an_hour_past_its_close() -> None:
    book = hot()
    book.press(5000, ev.ReadingTaken(air_c=36, rh=24))
    book.press(5000, ev.OtherWorkStarted("moving the car", ""))
    book.press(7300, ev.ReadingTaken(air_c=36, rh=24))
    assert at(book, 3900 + 3599).me.moves[0].act != "rest"
    assert at(book, 3900 + 3600).me.moves[0].act == "rest"


def test_no_rest_is_called_while_the_last_film_is_levelled() -> None:
    book = hot(levelling=True)
    assert "REST NOW" not in words(book, 4100)
    assert at(book, 4100).me.moves[0].act != "rest"
    book.press(4120, ev.StepFinished("Coat", (A,), LEVEL))
    assert words(book, 4121) == ["REST NOW"]
    assert at(book, 4121).me.moves[0].act == "rest"


def test_somebody_who_is_not_well_rests_before_any_film() -> None:
    book = hot(levelling=True)
    book.press(4050, ev.FeltUnwell(("dizziness",)))
    assert words(book, 4060) == ["REST NOW"]
    assert at(book, 4060).me.moves[0].act == "rest"
    assert at(book, 4060).alarms[0].urgency in ("rest", "emergency")


def test_an_alarm_speaks_of_the_film_before_everything_but_the_body() -> None:
    book = hot()
    book.press(3660, ev.CheckedIn(30))
    ready = alarms(book.jobs(), book.shift(), us(3725), watch(book.shift(), book.jobs(), us(3725)))
    named = [(alarm.key.split("/")[0], alarm.urgency) for alarm in ready]
    assert ready[0].film and ready[0].sentence == "bonnet left: level"
    assert ("well", "late") in named
    # A battery that is nearly empty is not louder than a film that is ready.
    assert by_urgency((battery_alarm("The battery is nearly empty."), *ready))[0].film
    book.press(3725, ev.FeltUnwell(("confusion",)))
    found = alarms(book.jobs(), book.shift(), us(3730), watch(book.shift(), book.jobs(), us(3730)))
    assert found[0].urgency == "emergency"


def test_no_press_names_a_closed_job(tmp_path: Path) -> None:
    day = Day(tmp_path, plan=2)
    for _ in range(3):
        day.take(60)
    day.bench.do(rules.take_up, next(m for m in day.bench.moves() if m.act == "close"))
    assert day.bench.jobs[day.job].state == "closed"
    first = day.job
    assert job_in_view(day.bench, REST) is None
    second = day.open_job(1)
    for chosen in (REST, Move("end", why="end"), None):
        found = job_in_view(day.bench, chosen)
        assert found is not None and found.id == second != first


def test_with_a_called_rest_a_press_names_the_job_held_last(tmp_path: Path) -> None:
    day = Day(tmp_path, plan=1)
    other = day.open_job(2)
    assert job_in_view(day.bench, REST) is None, "of two jobs nobody held either"
    wash = next(m for m in day.bench.moves() if m.job == day.job)
    polish = next(m for m in day.bench.moves() if m.job == other)
    for moved, held in ((wash, day.job), (polish, other), (wash, day.job)):
        move = next(m for m in day.bench.moves() if m.job == moved.job)
        day.bench.do(rules.take_up, move, finish=False)
        day.clock.wind(60)
        day.bench.do(rules.put_down)
        day.clock.wind(60)
        found = job_in_view(day.bench, REST)
        assert found is not None and found.id == held


def test_while_a_rest_waits_no_new_film_is_laid_by_default() -> None:
    book = hot()
    # The film is waited on, the next section could be laid: SPACE stands by.
    assert at(book, 3700).me.moves[0].act == "stand by"
    # It is being levelled: SPACE brings that to its end, and only then is the rest called.
    book.press(3800, ev.WorkStarted("Coat", (A,), LEVEL))
    levelling = at(book, 3810).me
    assert levelling.watch is not None and levelling.watch.rest == "after the film"
    assert levelling.moves[0].act == "end"
    assert [move.sections for move in levelling.moves if move.say == "apply"][:1] == [(B,)]
    book.press(3900, ev.StepFinished("Coat", (A,), LEVEL))
    assert book.odd() == []
    free = at(book, 3901).me
    assert free.watch is not None and free.watch.rest_now
    assert free.moves[0].act == "rest"


def test_another_film_that_waits_comes_before_the_rest_and_before_a_new_one() -> None:
    book = hot()
    book.press(3700, ev.WorkStarted("Coat", (B,), Turn()))
    first = at(book, 3720).me.moves[0]
    assert (first.act, first.sections) == ("take up", (A,))


def test_while_a_rest_waits_for_the_film_of_a_mate_no_new_one_is_laid_by_default() -> None:
    book = opened(WIPE, COAT, POLISH)
    book.press(0, ev.ReadingTaken(air_c=36, rh=24))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(3500, ev.ReadingTaken(air_c=36, rh=24))
    book.press(3550, ev.ClockedOn("carport"), worker="mate")
    book.press(3600, ev.StepFinished("Wipe", ("whole car",), Turn()))
    book.press(3600, ev.WorkStarted("Coat", (A,), Turn()), worker="mate")
    assert book.odd() == []
    now = at(book, 3620).me
    assert now.watch is not None and now.watch.rest == "after the film"
    assert now.moves[0].stage == "Polish"
    laid = [move.sections for move in now.moves if move.say == "apply"]
    assert (B,) in laid


def test_while_a_rest_waits_for_a_slow_film_nothing_is_taken_up_beside_it() -> None:
    slow = replace(COAT, steps=(COAT.steps[0], Wait("flash", 900, 1000, 3000), *COAT.steps[2:]))
    book = opened(POLISH, WIPE, slow)
    book.press(0, ev.ReadingTaken(air_c=36, rh=24))
    book.press(0, ev.SectionSkipped("Polish", ("door",)))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(3500, ev.ReadingTaken(air_c=36, rh=24))
    book.press(3600, ev.StepFinished("Wipe", ("whole car",), Turn()))
    book.press(3600, ev.WorkStarted("Coat", (A,), Turn()))
    # It is being laid: SPACE brings that to its end.
    laying = at(book, 3650).me
    assert laying.watch is not None and laying.watch.rest == "after the film"
    assert laying.moves[0].act == "end"
    book.press(3660, ev.StepFinished("Coat", (A,), Turn(), Marks(900, 1000, 3000)))
    waiting = at(book, 3700).me
    assert waiting.watch is not None and waiting.watch.rest == "after the film"
    assert (waiting.moves[0].act, waiting.moves[0].sections) == ("stand by", (A,))
    # Another film that closed meanwhile is worked, and not stood by beside the slow one.
    both = replace(slow, sections=(A, B))
    book = opened(WIPE, both)
    book.press(0, ev.ReadingTaken(air_c=36, rh=24))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(3500, ev.ReadingTaken(air_c=36, rh=24))
    book.press(3600, ev.StepFinished("Wipe", ("whole car",), Turn()))
    for at_s, name, marks in ((3600, A, Marks(60, 90, 200)), (3660, B, Marks(900, 1000, 3000))):
        book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()))
        book.press(at_s + 60, ev.StepFinished("Coat", (name,), Turn(), marks))
    late = at(book, 3900).me
    assert late.watch is not None and late.watch.rest == "after the film"
    assert (late.moves[0].act, late.moves[0].sections, late.moves[0].why) == (
        "take up",
        (A,),
        "late",
    )
