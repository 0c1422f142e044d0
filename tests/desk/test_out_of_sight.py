"""Started again, the bench has only open jobs and newest shifts in sight; the rest still counts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from cartclock.engine.ahead.foreseen import prospect
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift import Other
from cartclock.engine.press import Press
from cartclock.engine.rules import changes, rules
from tests.kit.day import Day, refused
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


def test_a_press_of_yesterday_is_struck_alone_after_a_restart(day: Day) -> None:
    day.take(10 * MINUTE)
    day.bench.do(rules.take_break, "meal")
    skip = day.bench.do(changes.skip, day.job, "Iron", ("left wheel",)).press
    day.clock.wind(HOUR)
    day.bench.do(rules.clock_off)
    day.clock.wind(12 * HOUR)
    day.bench.do(rules.clock_on, ev.ClockedOn())
    day.again().strike(skip)
    assert day.bench.jobs[day.job].sections["Iron", "left wheel"].state == "todo"
    assert day.whole()


def test_undo_after_a_restart_still_means_the_newest_press(day: Day) -> None:
    day.clock.wind(60)
    day.bench.do(rules.clock_off)
    closing = day.bench.do(rules.close_job, day.job, {"unfinished": "sold"}).press
    assert day.again().undo().rows[0].event == ev.PressStruck(closing.seq)
    assert day.bench.jobs[day.job].state == "open"


def test_a_strike_of_an_old_press_is_known_after_a_restart(day: Day) -> None:
    note = day.bench.do(rules.note_job, day.job, ev.DamageNoted("roof", "dent")).press
    day.bench.strike(note)
    day.bench.do(rules.close_job, day.job, {"unfinished": "sold"})
    day.clock.wind(60)
    day.bench.do(rules.clock_off)
    day.clock.wind(12 * HOUR)
    day.bench.do(rules.clock_on, ev.ClockedOn())
    assert str(refused(lambda: day.again().strike(note))) == f"Press {note} is struck already."
    day.again().restore(note)
    assert [row.press for row in day.bench.jobs[day.job].facts] == [note]


def test_shifts_out_of_sight_cannot_be_overlapped(day: Day) -> None:
    day.clock.wind(HOUR)
    day.bench.do(rules.clock_off)
    day.clock.wind(HOUR)
    again = day.bench.do(rules.clock_on, ev.ClockedOn()).press
    day.clock.wind(HOUR)
    no = refused(lambda: day.again().move(again, day.bench.now_us - 150 * MINUTE_US))
    assert "the shift before is not over" in str(no)


def test_undoing_the_clocking_on_brings_the_shift_before_back_in_sight(day: Day) -> None:
    for _ in range(2):
        day.clock.wind(HOUR)
        day.bench.do(rules.clock_off)
        day.clock.wind(HOUR)
        day.bench.do(rules.clock_on, ev.ClockedOn())
    yesterday = sorted(day.bench.shifts.values(), key=lambda shift: shift.on_us)[-2]
    day.again().undo()
    assert day.bench.shift() == yesterday


@pytest.mark.parametrize("seed", range(6))
def test_of_two_shifts_begun_at_one_instant_the_one_that_is_on_counts(
    tmp_path: Path, seed: int
) -> None:
    day = Day(tmp_path, seed=seed)
    day.bench.do(rules.clock_off)
    on = day.bench.do(rules.clock_on, ev.ClockedOn()).rows[0].shift
    day.clock.wind(60)
    shift = day.bench.shift()
    assert shift is not None and (shift.id, shift.state) == (on, "free")
    day.bench.do(rules.start_other, "phone")
    assert day.again().shift().doing == Other("phone", "")  # type: ignore[union-attr]  # a shift is on
    day.bench.close()


def test_what_stands_in_the_way_is_told_whole_though_its_shift_was_out_of_sight(day: Day) -> None:
    day.take(10 * MINUTE)
    day.bench.do(rules.take_break, "meal")
    day.clock.wind(10 * MINUTE)
    (back,) = [move for move in day.bench.moves() if move.act == "end"]
    # This press says nothing of the job, but it needs the break that does.
    ended = day.bench.do(rules.take_up, back).press
    day.bench.do(rules.clock_off)
    day.clock.wind(12 * HOUR)
    day.bench.do(rules.clock_on, ev.ClockedOn())
    no = refused(lambda: day.again().strike(Press(day.bench.log.origin, 0)))
    assert ended in no.standing
    day.bench.strike(Press(day.bench.log.origin, 0), "", no.standing)
    assert day.job not in day.bench.jobs
    assert day.whole()


def test_a_press_that_concerns_no_job_and_no_shift_can_be_moved(day: Day) -> None:
    day.bench.undo()
    day.clock.wind(MINUTE)
    said = day.bench.say_time(day.bench.now_us + MINUTE_US)
    assert (said.rows[0].job, said.rows[0].shift) == ("", "")
    day.clock.wind(MINUTE)
    at_us = day.again().now_us
    moved = day.bench.move(said.press, at_us)
    assert moved.rows[0].event == ev.PressMoved(said.press.seq, at_us)


@pytest.mark.parametrize("seed", range(6))
def test_two_shifts_begun_at_one_instant_stand_in_the_way_of_no_correction(
    tmp_path: Path, seed: int
) -> None:
    day = Day(tmp_path, seed=seed)
    day.bench.do(rules.clock_off)
    day.bench.do(rules.clock_on, ev.ClockedOn())
    day.clock.wind(MINUTE)
    drink = day.bench.do(rules.note_shift, ev.DrinkTaken(200)).press
    assert day.bench.undo().rows[0].event == ev.PressStruck(drink.seq)
    day.bench.close()


def test_a_strike_of_a_press_that_concerns_nothing_is_known_after_a_restart(day: Day) -> None:
    day.bench.undo()
    day.clock.wind(MINUTE)
    said = day.bench.say_time(day.bench.now_us + MINUTE_US).press
    day.again().strike(said)
    no = refused(lambda: day.again().strike(said))
    assert str(no) == f"Press {said} is struck already."
    assert day.again().restore(said).rows[0].event == ev.PressRestored(said.seq)


def test_in_the_morning_it_is_known_how_hot_yesterday_was_whoever_was_there(day: Day) -> None:
    day.bench.do(rules.note_shift, ev.ReadingTaken(air_c=31.0, rh=60.0))
    day.clock.wind(9 * HOUR)
    day.bench.do(rules.clock_off)
    day.clock.wind(14 * HOUR)
    day.bench.do(rules.clock_on, day.bench.shift().on)

    def air_c(bench: Bench) -> float:
        of = bench.moment().parts.ahead.of
        assert of.before is not None
        heat = prospect(of, bench.now_us).around.heat
        assert heat is not None
        air = heat.air_at(bench.now_us)
        assert air is not None
        return air.wbgt_c

    there = air_c(day.bench)
    assert there > 20
    assert air_c(day.again()) == there
    assert day.whole()


def test_a_question_of_an_earlier_shift_is_answered_there_and_nowhere_else(day: Day) -> None:
    day.clock.wind(15 * MINUTE)
    day.bench.do(rules.clock_off)
    day.clock.wind(HOUR)
    day.bench.do(rules.clock_on, ev.ClockedOn())
    (one,) = day.bench.put_off()
    assert (one.question.kind, one.question.to_us - one.question.from_us) == (
        "nothing",
        15 * MINUTE_US,
    )
    bench = day.again()
    assert bench.put_off() == (one,)
    stretch = (one.question.from_us, one.question.to_us)
    # On the shift that goes on there is no such stretch.
    refused(lambda: bench.do(rules.judge_gap, *stretch, "phone"))
    told = bench.answer(one.shift, rules.judge_gap, *stretch, "phone")
    assert told.rows[0].shift == one.shift
    assert bench.put_off() == ()
    assert day.whole()
    bench = day.again()
    assert bench.put_off() == ()
    bench.undo()
    assert bench.put_off() == (one,)
    assert day.whole()


def test_a_question_is_not_asked_for_ever(day: Day) -> None:
    day.clock.wind(15 * MINUTE)
    day.bench.do(rules.clock_off)
    day.clock.wind(6 * 24 * HOUR)
    day.bench.do(rules.clock_on, ev.ClockedOn())
    assert len(day.bench.put_off()) == 1
    day.clock.wind(24 * HOUR)
    assert day.again().put_off() == ()
