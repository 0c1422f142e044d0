"""The bench and its clocks: dates, a wall clock that is set, a closed lid, a time not known."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cartclock.engine.dates import local
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.copies import Copies, forms
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from tests.kit.day import START_US, Day, flashing, refused
from tests.kit.reckoner import SECOND_US

MINUTE_US = 60 * SECOND_US
MINUTE = 60
HOUR = 3600
ROOT = Path(__file__).parents[2]


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    """A job of fallout remover and coat, nothing done yet."""
    day = Day(tmp_path)
    yield day
    day.bench.close()


# Clocks.


def test_a_wall_clock_set_back_moves_no_length(day: Day) -> None:
    day.bench.tick()
    window = flashing(day)
    on_the_clock = sum(day.minutes().values())
    now_us = day.bench.now_us
    day.clock.set_wall(-HOUR)
    assert day.bench.now_us == now_us
    day.clock.wind(60)
    assert day.bench.jobs[day.job].running == [window]
    assert sum(day.minutes().values()) == on_the_clock + 1
    rows = [told.rows[0] for told in day.bench.tick()]
    assert ev.ClockStepped(-HOUR * SECOND_US) in [row.event for row in rows]
    assert {row.by for row in rows} == {"machine"}
    day.take()
    assert day.bench.rows[-1].at_us == now_us + MINUTE_US
    assert day.bench.rows[-1].wall_us == now_us + MINUTE_US - HOUR * SECOND_US
    assert not day.bench.time_unsure


# Seconds by which a wall clock is set, one after the other.
SET_S = (HOUR, -2 * HOUR, 3650 * 24 * HOUR, -7300 * 24 * HOUR, 90, -36 * HOUR)


def worked(folder: Path, *set_s: float) -> tuple[object, ...]:
    """Rows with their job times, minutes and the end of a day whose clock is set before each press,
    or of one of which it is not."""
    folder.mkdir()
    day = Day(folder, plan=2)
    day.bench.tick()
    for number in range(6):
        day.clock.set_wall(set_s[number] if set_s else 0)
        if number % 3 == 1:
            day.bench.do(rules.take_break, "rest")
        else:
            day.take()
        day.clock.wind(MINUTE)
        day.bench.tick()
    rows = [row for row in day.bench.rows if row.kind != "ClockStepped"]
    assert len(day.bench.rows) - len(rows) == len(set_s) and len(rows) > 7
    assert day.whole() and not day.bench.time_unsure
    told = [(row.kind, row.at_us, row.entered_us) for row in rows]
    found = (told, day.minutes(), day.bench.now_us)
    day.bench.close()
    return found


def test_a_wall_clock_set_between_any_two_presses_moves_no_length(tmp_path: Path) -> None:
    """By hours and by years, forward and back, the day is the one with a clock that nobody sets."""
    as_ever = worked(tmp_path / "as ever")
    assert worked(tmp_path / "set", *SET_S) == as_ever
    assert worked(tmp_path / "set the other way", *(-step_s for step_s in SET_S)) == as_ever


def test_a_clock_that_is_only_slewed_says_nothing(day: Day) -> None:
    day.bench.tick()
    day.clock.wind(60)
    day.clock.set_wall(-4)
    assert day.bench.tick() == []


@pytest.mark.parametrize(
    ("start", "what"),
    [
        (datetime(2026, 9, 21, 23, 0, tzinfo=UTC), "midnight"),
        (datetime(2026, 10, 25, 0, 0, tzinfo=UTC), "the hour that comes twice in Berlin"),
        (datetime(2027, 3, 28, 0, 0, tzinfo=UTC), "the hour that is left out in Berlin"),
        (datetime(2026, 11, 1, 5, 0, tzinfo=UTC), "the hour that comes twice in New York"),
        (datetime(2027, 3, 14, 6, 0, tzinfo=UTC), "the hour that is left out in New York"),
        (datetime(2026, 12, 31, 23, 0, tzinfo=UTC), "the year"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_lengths_know_nothing_of_dates(tmp_path: Path, start: datetime, what: str) -> None:
    start_us = round(start.timestamp()) * SECOND_US
    day = Day(tmp_path, plan=2, start_us=start_us)
    day.take(50 * MINUTE)
    day.bench.do(rules.take_break, "meal")
    day.clock.wind(30 * MINUTE)
    day.again()
    day.take(50 * MINUTE)
    day.bench.do(rules.clock_off)
    assert day.minutes() == {("hands", "Polish"): 100, ("break", "meal"): 30}
    shift = day.bench.shift()
    assert shift is not None and shift.off_us == start_us + 130 * MINUTE_US
    day.bench.close()


# The lid.


def test_a_closed_lid_is_found_asked_about_and_answered(day: Day) -> None:
    day.bench.tick()
    day.take()
    for _ in range(10):
        day.clock.wind(MINUTE)
        day.bench.tick()
    from_us = day.bench.now_us
    day.clock.wind(42 * MINUTE)
    (found,) = day.bench.tick()
    assert found.rows[0].event == ev.GapFound(from_us, from_us + 42 * MINUTE_US)
    assert day.bench.tick() == []
    (asked,) = day.again().questions()
    assert (asked.kind, asked.from_us, asked.to_us) == ("gap", from_us, day.bench.now_us)
    assert "Fallout" in asked.was
    day.bench.do(rules.judge_gap, asked.from_us, asked.to_us - 12 * MINUTE_US, "meal")
    assert [q.kind for q in day.bench.questions()] == ["gap"]
    day.bench.do(rules.judge_gap, asked.from_us + 30 * MINUTE_US, asked.to_us, "as it stood")
    day.bench.do(rules.judge_gap, asked.from_us, asked.to_us, "as it stood")
    assert day.bench.questions() == ()
    day.bench.undo()
    day.bench.do(rules.judge_gap, asked.from_us, asked.to_us, "customer")
    assert day.bench.questions() == ()
    assert day.minutes() == {("hands", "Fallout"): 10, ("other", "customer"): 42}
    assert day.whole()


def test_a_window_goes_on_under_a_closed_lid(day: Day) -> None:
    window = flashing(day)
    day.clock.wind(20 * MINUTE)
    day.bench.tick()
    assert day.bench.jobs[day.job].running == [window]
    assert window.state(day.bench.now_us) == "LATE"


def test_three_minutes_say_nothing(day: Day) -> None:
    day.bench.tick()
    day.clock.wind(3 * MINUTE)
    assert day.bench.tick() == []
    day.clock.wind(3 * MINUTE + 1)
    assert len(day.bench.tick()) == 1


def test_a_program_that_did_not_run_is_found_from_its_last_sign_of_life(day: Day) -> None:
    day.take(10 * MINUTE)
    day.bench.beat()
    alive_us = day.bench.now_us
    day.clock.wind(30 * MINUTE)
    (found,) = day.again().wake()
    assert found.rows[0].event == ev.GapFound(alive_us, alive_us + 30 * MINUTE_US)
    assert day.again().wake() == []


def test_nobody_is_told_of_a_gap_off_the_clock(day: Day) -> None:
    day.bench.tick()
    day.bench.do(rules.clock_off)
    head = day.bench.log.head
    day.clock.wind(12 * HOUR)
    assert day.bench.tick() == [] and day.again().wake() == []
    assert day.bench.log.head == head


def test_each_worker_is_asked_about_a_gap(day: Day) -> None:
    day.bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn())
    day.bench.tick()
    day.clock.wind(HOUR)
    assert {told.rows[0].worker for told in day.bench.tick()} == {"me", "helper"}
    for worker in ("me", "helper"):
        (asked,) = day.bench.questions(worker)
        day.bench.do_as(worker, 0, rules.judge_gap, asked.from_us, asked.to_us, "not known")
        assert day.bench.questions(worker) == ()


def test_a_gap_that_began_before_the_shift_can_be_answered(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    bench = Bench.open(tmp_path / "log.db", clock)
    bench.wake()
    clock.wind(HOUR)
    bench.do(rules.clock_on, ev.ClockedOn())
    clock.wind(4 * MINUTE)
    bench.tick()
    (asked,) = bench.questions()
    bench.do(rules.judge_gap, asked.from_us, asked.to_us, "setting up")
    assert bench.questions() == ()
    bench.close()


# The time is not known.


def test_a_boot_with_an_earlier_wall_asks_for_the_time(day: Day) -> None:
    day.clock.wind(HOUR)
    day.take()
    last_us = day.bench.now_us
    day.clock.reboot("boot-2", -2 * HOUR)
    assert day.again().time_unsure
    assert day.bench.now_us == last_us
    day.clock.wind(MINUTE)
    told = day.bench.do(rules.put_down)
    assert (told.rows[0].at_us, told.rows[0].sure) == (last_us, False)
    day.clock.wind(MINUTE)
    # From the first row of this boot on its own clock counts again.
    assert day.bench.now_us == last_us + MINUTE_US
    assert day.again().time_unsure
    assert "cannot run back" in str(refused(lambda: day.bench.say_time(last_us)))
    true_us = last_us + 45 * MINUTE_US
    told = day.bench.say_time(true_us)
    assert [(row.event, row.at_us, row.sure) for row in told.rows] == [
        (ev.ClockJudged(), true_us, True)
    ]
    assert not day.bench.time_unsure
    day.clock.wind(MINUTE)
    assert day.again().now_us == true_us + MINUTE_US
    assert not day.bench.time_unsure
    assert day.whole()


def test_the_time_once_said_stays_said_without_a_shift(day: Day) -> None:
    day.bench.undo()
    day.clock.reboot("boot-2", -HOUR)
    day.bench.do(rules.note_job, day.job, ev.DamageNoted("roof", "dent"))
    assert day.again().time_unsure
    day.bench.say_time(day.bench.now_us + MINUTE_US)
    assert not day.bench.time_unsure
    assert not day.again().time_unsure


DAY_S = 24 * HOUR


@pytest.mark.parametrize(
    ("on_clock", "ahead_s", "asked"),
    [
        (True, 35 * HOUR, False),
        (True, 37 * HOUR, True),
        (False, 29 * DAY_S, False),
        (False, 31 * DAY_S, True),
        (False, 10 * 365 * DAY_S, True),
    ],
)
def test_a_boot_far_ahead_asks_for_the_time(
    day: Day, on_clock: bool, ahead_s: int, asked: bool
) -> None:
    if not on_clock:
        day.bench.undo()
    # The program went on without a press: the heartbeat tells until when.
    day.clock.wind(6 * HOUR)
    day.bench.beat()
    alive_us = day.bench.now_us
    day.clock.reboot("boot-2", ahead_s)
    again = day.again()
    again.wake()
    assert again.time_unsure is asked
    assert again.now_us == (alive_us if asked else alive_us + ahead_s * SECOND_US)
    if asked:
        # Whatever is pressed before the answer is not dated by that clock.
        again.do(rules.note_job, day.job, ev.DamageNoted("roof", "dent"))
        assert again.log.all_rows()[-1].at_us == alive_us
        assert again.is_far(alive_us + ahead_s * SECOND_US)
        true_us = alive_us + 12 * HOUR * SECOND_US
        assert again.say_time(true_us).rows[-1].at_us == true_us
        day.clock.wind(MINUTE)
        assert day.again().now_us == true_us + MINUTE_US and not day.bench.time_unsure


def test_a_boot_with_a_later_wall_asks_nothing(day: Day) -> None:
    now_us = day.bench.now_us
    day.clock.reboot("boot-2", HOUR)
    assert not day.again().time_unsure
    assert day.bench.now_us == now_us + HOUR * SECOND_US


@pytest.mark.parametrize("zone", ["America/St_Johns", "Pacific/Kiritimati", "UTC"])
def test_a_zone_that_is_another_in_mid_job_moves_no_length(tmp_path: Path, zone: str) -> None:
    """As where the laptop is carried into another zone, or the settings name another."""
    day = Day(tmp_path, plan=2)
    day.take(50 * MINUTE)
    day.bench.do(rules.clock_off)
    day.again()
    day.clock.wind(HOUR)
    day.bench.do(rules.clock_on, ev.ClockedOn("carport", zone=zone))
    day.take(40 * MINUTE)
    day.bench.do(rules.clock_off)
    shift, ends_us = day.bench.shift(), day.bench.now_us
    assert shift is not None and shift.off_us == shift.on_us + 40 * MINUTE_US
    shop = Shop(day.bench.log)
    for said in ("Europe/Berlin", zone):
        copies = Copies(shop, Settings(zone=said), tmp_path, lambda: ends_us)
        for document, handle in (("record", "1"), ("day", f"{local(shift.on_us, said):%Y-%m-%d}")):
            for form in forms(document):
                assert copies.copy(document, handle, form), (document, form)
        totals = json.loads(copies.copy("record", "1", "json"))["totals"]
        assert totals == {"clock_us": 90 * MINUTE_US, "own_us": 90 * MINUTE_US}
    assert day.whole()
    day.bench.close()
