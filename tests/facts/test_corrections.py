"""Corrections by example: what is taken back, put back or moved, and what stands in the way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from cartclock.engine.desk.bench import Bench, Pressed
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Break, Free, Hands
from cartclock.engine.facts.turn import Turn
from cartclock.engine.press import Press
from cartclock.engine.rules import changes, rules
from tests.kit.day import Day, believed, refused
from tests.kit.reckoner import SECOND_US

MINUTE_US = 60 * SECOND_US
MINUTE = 60
HOUR = 3600


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    """A job of washing and wheels, nothing done yet."""
    day = Day(tmp_path, plan=1)
    yield day
    day.bench.close()


def end(day: Day) -> Pressed:
    (move,) = [m for m in day.bench.moves() if m.act == "end"]
    return day.bench.do(rules.take_up, move)


def at(bench: Bench, seq: int) -> Press:
    """The press of that number."""
    return Press(bench.log.origin, seq)


def fill_in(day: Day) -> Pressed:
    now_us = day.bench.now_us
    stretch = (now_us - 30 * MINUTE_US, now_us - 6 * MINUTE_US)
    return day.bench.do(changes.fill_in, day.job, "Wash", ("roof", "sides"), *stretch)


def test_a_strike_that_stands_on_others_offers_to_strike_them_too(day: Day) -> None:
    first, second, third = day.take(60), day.take(60), day.take(60)
    before, head = believed(day), day.bench.log.head
    no = refused(lambda: day.bench.strike(first))
    assert f"at press {second} (finished: " in str(no)
    assert no.standing == (second, third)
    assert (believed(day), day.bench.log.head) == (before, head)
    struck = day.bench.strike(first, "never touched it", no.standing)
    assert [row.event for row in struck.rows] == [
        ev.PressStruck(press.seq, "never touched it") for press in (first, second, third)
    ]
    assert day.bench.shift().doing == Free()  # type: ignore[union-attr]  # a shift is on
    assert day.whole()


def test_striking_the_clocking_on_takes_the_whole_shift_but_not_what_needs_none(day: Day) -> None:
    day.take(60)
    note = day.bench.do(rules.note_job, day.job, ev.DamageNoted("roof", "dent")).press
    drink = day.bench.do(rules.note_shift, ev.DrinkTaken(200)).press
    no = refused(lambda: day.bench.strike(day.clock_on))
    assert drink in no.standing and note not in no.standing
    day.bench.strike(day.clock_on, "", no.standing)
    assert [row.event for row in day.bench.jobs[day.job].facts] == [ev.DamageNoted("roof", "dent")]
    assert day.bench.shift() is None


@pytest.mark.parametrize(
    ("correct", "sentence"),
    [
        (lambda b: b.strike(at(b, 2)), "Press 2 is struck already."),
        (lambda b: b.strike(at(b, 1), "", (at(b, 2),)), "Press 2 is struck already."),
        (lambda b: b.strike(at(b, 3)), "A strike is taken back by restoring the press it struck."),
        (lambda b: b.restore(at(b, 3)), "A strike is taken back by restoring the press it struck."),
        (lambda b: b.restore(at(b, 1)), "Press 1 stands."),
        (lambda b: b.strike(at(b, 99)), "There is no press 99."),
        (lambda b: b.move(at(b, 2), b.now_us), "Press 2 is struck; restore it first."),
        (lambda b: b.move(at(b, 1), b.now_us + 1), "A press cannot lie ahead."),
        (lambda b: b.do_as("me", -1, rules.put_down), "A press cannot lie ahead."),
    ],
)
def test_a_correction_that_corrects_nothing_is_refused(
    day: Day, correct: Callable[[Any], Pressed], sentence: str
) -> None:
    assert day.take(60).seq == 2
    assert day.bench.undo().press.seq == 3
    head = day.bench.log.head
    assert str(refused(lambda: correct(day.bench))) == sentence
    assert day.bench.log.head == head


def test_a_restore_names_what_was_done_instead(day: Day) -> None:
    pause = day.bench.do(rules.take_break, "meal").press
    day.clock.wind(60)
    day.bench.undo()
    work = day.take(60)
    no = refused(lambda: day.bench.restore(pause))
    assert no.standing == (work,)
    assert f"at press {work} (took up: " in str(no)
    day.bench.strike(work)
    day.bench.restore(pause)
    assert day.bench.shift().doing == Break("meal", None)  # type: ignore[union-attr]  # a shift is on


def test_a_restore_that_cannot_be_at_all_offers_nothing(day: Day) -> None:
    first, second = day.take(60), day.take(60)
    day.bench.strike(first, "", (second,))
    no = refused(lambda: day.bench.restore(second))
    assert f"at press {second} " in str(no)
    assert second not in no.standing


def test_a_move_to_where_it_cannot_be_does_not_offer_to_strike_what_is_moved(day: Day) -> None:
    day.clock.wind(HOUR)
    day.take(60)
    second = day.take(60)
    no = refused(lambda: day.bench.move(second, day.bench.now_us - 30 * MINUTE_US))
    assert f"at press {second} " in str(no)
    assert second not in no.standing


def test_a_moved_press_takes_all_its_rows_along(day: Day) -> None:
    day.take(10 * MINUTE)
    day.take(10 * MINUTE)
    press = day.bench.do(rules.take_break, "meal").press
    day.clock.wind(10 * MINUTE)
    day.bench.move(press, day.bench.now_us - 15 * MINUTE_US)
    assert day.minutes() == {("hands", "Wash"): 15, ("break", "meal"): 15}
    assert day.whole()


def test_the_last_move_that_stands_counts(day: Day) -> None:
    day.clock.wind(HOUR)
    press = day.take()
    for minutes in (50, 40, 30):
        day.bench.move(press, day.bench.now_us - minutes * MINUTE_US)
    assert day.minutes()["hands", "Wash"] == 30
    day.bench.undo()
    assert day.minutes()["hands", "Wash"] == 40


def test_a_move_across_what_needs_it_is_refused(day: Day) -> None:
    day.clock.wind(HOUR)
    work = day.take(10 * MINUTE)
    put_down = day.bench.do(rules.put_down).press
    day.clock.wind(10 * MINUTE)
    no = refused(lambda: day.bench.move(work, day.bench.now_us - 5 * MINUTE_US))
    assert f"at press {put_down} " in str(no)
    assert day.whole()


def test_nothing_of_a_moved_press_may_lie_ahead(day: Day) -> None:
    day.clock.wind(HOUR)
    filled = fill_in(day).press
    no = refused(lambda: day.bench.move(filled, day.bench.now_us))
    assert str(no) == "A press cannot lie ahead."
    day.clock.wind(5)
    day.bench.do(rules.take_break, "meal")
    assert day.whole()


def test_fill_in_and_undo_leave_the_sections_as_they_were(day: Day) -> None:
    day.clock.wind(HOUR)
    before = believed(day)
    told = fill_in(day)
    assert day.minutes() == {("unassigned", ""): 36, ("hands", "Wash"): 24}
    assert all(stint.shared for stint in day.bench.jobs[day.job].stints)
    day.bench.move(told.press, day.bench.now_us - 40 * MINUTE_US)
    assert day.bench.jobs[day.job].stints[0].first_us == day.bench.now_us - 40 * MINUTE_US
    day.bench.undo()
    day.bench.undo()
    assert believed(day) == before


def test_fill_in_across_other_things_names_them(day: Day) -> None:
    day.clock.wind(40 * MINUTE)
    pause = day.bench.do(rules.take_break, "rest").press
    day.clock.wind(5 * MINUTE)
    back = end(day).press
    day.clock.wind(15 * MINUTE)
    no = refused(lambda: fill_in(day))
    assert no.standing == (pause, back)
    day.bench.strike(pause, "", (back,))
    assert len(fill_in(day).rows) == 8


def test_a_late_entry_names_what_stands_in_its_way(day: Day) -> None:
    day.clock.wind(30 * MINUTE)
    work = day.take(10 * MINUTE)
    before, head = believed(day), day.bench.log.head
    late: tuple[Any, ...] = ("me", 15 * MINUTE_US, rules.take_break, "meal")
    no = refused(lambda: day.bench.do_as(*late))
    assert no.standing == (work,)
    assert f"at press {work} (took up: " in str(no)
    assert (believed(day), day.bench.log.head) == (before, head)
    day.bench.strike(work)
    day.bench.do_as(*late)
    assert day.minutes() == {("unassigned", ""): 25, ("break", "meal"): 15}


def test_a_late_entry_ends_what_was_in_hand_then(day: Day) -> None:
    day.take(30 * MINUTE)
    day.bench.do_as("me", 10 * MINUTE_US, rules.start_other, "phone")
    assert day.minutes() == {("hands", "Wash"): 20, ("other", "phone"): 10}
    assert day.whole()


def test_clocking_on_late_into_the_shift_before_is_refused(day: Day) -> None:
    day.clock.wind(HOUR)
    day.bench.do(rules.clock_off)
    day.clock.wind(HOUR)
    again = day.bench.do(rules.clock_on, ev.ClockedOn()).press
    day.clock.wind(HOUR)
    no = refused(lambda: day.bench.move(again, day.bench.now_us - 150 * MINUTE_US))
    assert "the shift before is not over" in str(no)
    late: tuple[Any, ...] = ("me", 150 * MINUTE_US, rules.clock_on, ev.ClockedOn())
    assert str(refused(lambda: day.bench.do_as(*late))) == "You are on the clock already."
    day.bench.do(rules.clock_off)
    assert day.whole()


def test_clocking_off_late_is_refused_if_work_came_after(day: Day) -> None:
    day.clock.wind(30 * MINUTE)
    work = day.take(10 * MINUTE)
    no = refused(lambda: day.bench.do_as("me", 20 * MINUTE_US, rules.clock_off))
    assert no.standing == (work,)
    day.bench.do_as("me", 5 * MINUTE_US, rules.clock_off)
    assert day.minutes() == {("unassigned", ""): 30, ("hands", "Wash"): 5}


def test_each_worker_takes_back_what_is_theirs(day: Day) -> None:
    mine = day.take(60)
    day.bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn())
    theirs = day.take(60, "helper")
    assert day.bench.undo().rows[0].event == ev.PressStruck(mine.seq)
    assert day.bench.shift("helper").doing == Hands(  # type: ignore[union-attr]  # a shift is on
        day.job, "Iron", ("left wheel",), Turn()
    )
    assert day.bench.undo("helper").rows[0].event == ev.PressStruck(theirs.seq)
    assert day.whole()


def test_one_worker_may_correct_the_other(day: Day) -> None:
    mine = day.take(60)
    day.bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn())
    struck = day.bench.strike(mine, "that was I", worker="helper")
    assert struck.rows[0].worker == "helper"
    assert day.bench.shift().doing == Free()  # type: ignore[union-attr]  # a shift is on
    assert day.bench.shift("helper").doing == Free()  # type: ignore[union-attr]  # a shift is on


def test_what_the_other_built_on_stands_in_the_way_too(day: Day) -> None:
    for seconds in (60, 60):
        day.take(seconds)
    finished = day.bench.do(rules.start_other, "phone", finish=True).press
    day.clock.wind(60)
    day.bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn())
    day.bench.do_as("helper", 0, changes.redo, day.job, "Wash", ("roof",))
    redone = at(day.bench, day.bench.log.head.seq)
    no = refused(lambda: day.bench.strike(finished))
    assert redone in no.standing
    day.bench.strike(finished, "", no.standing)
    assert day.whole()


def test_two_workers_do_not_take_one_section(day: Day) -> None:
    day.take(60)
    day.bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn())
    before = day.bench.jobs[day.job].sections["Wash", "roof"]
    assert all("roof" not in move.sections for move in day.bench.moves("helper"))
    mine = Move("take up", day.job, "Wash", ("roof", "sides"), before.turn)
    no = refused(lambda: day.bench.do_as("helper", 0, rules.take_up, mine))
    assert str(no) == "roof is in the hands of me."


def test_moving_what_another_program_just_wrote_is_refused_by_sentence(day: Day) -> None:
    other = Bench.open(day.path, day.clock)
    press = other.do(rules.note_shift, ev.DrinkTaken(240)).press
    other.close()
    assert "wrote meanwhile" in str(refused(lambda: day.bench.move(press, day.bench.now_us)))
