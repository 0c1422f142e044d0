"""Rests, meals, other work and nights between the hands and their work."""

from __future__ import annotations

import csv
import datetime
import random
from itertools import islice
from pathlib import Path

import pytest

from cartclock.engine.after.visits import Closed
from cartclock.engine.ahead.calendar import Night, Pause, WorkCalendar, WorkDay, nights_of
from cartclock.engine.dates import instant, local
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from tests.kit.rhythm import Rhythm

VECTORS = Path(__file__).parent / "vectors"
ZONE = "Europe/Berlin"
DAY = WorkDay(datetime.time(7, 30), datetime.time(18), ZONE)


def rows() -> list[dict[str, str]]:
    """The check values; the first line names the source."""
    lines = (VECTORS / "finish_with_breaks.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source: ")
    return list(csv.DictReader(lines[1:]))


def at(text: str) -> int:
    """An instant of the invented week."""
    return instant(f"2026-11-{text}", ZONE)


@pytest.mark.parametrize(
    "row", rows(), ids=lambda row: f"{row['work_min']} from {row['start_min']}"
)
def test_rests_and_meals_come_between(row: dict[str, str]) -> None:
    start = round(float(row["start_min"]) * MINUTE_US)
    pauses = [
        Pause(*(round(float(x) * MINUTE_US) for x in one.split(":")))
        for one in row["fixed(clock:len;..)"].split(";")
        if one
    ]
    cycle = None
    if row["cycle_work"]:
        cycle = tuple(round(float(row[f"cycle_{x}"]) * MINUTE_US) for x in ("work", "rest"))
    since = round(float(row["work_since_break"]) * MINUTE_US)
    calendar = WorkCalendar(pauses, Rhythm(lambda _at, _effort: cycle, since))
    found = calendar.worked(start, round(float(row["work_min"]) * MINUTE_US))
    assert found / MINUTE_US == pytest.approx(float(row["finish_min"]), abs=1e-6)


def test_what_is_taken_adds_up_to_the_time_that_went_by() -> None:
    cycle = (40 * MINUTE_US, 20 * MINUTE_US)
    calendar = WorkCalendar(
        [Pause(at("25 12:30"), 30 * MINUTE_US)],
        Rhythm(lambda _at, effort: cycle if effort == "heavy" else None),
        ratio=0.1,
    )
    start = at("25 11:00")
    end = calendar.worked(start, 60 * MINUTE_US, "heavy")
    end = calendar.worked(end, 60 * MINUTE_US, "light")
    assert calendar.taken == (20 * MINUTE_US, 30 * MINUTE_US, 0, 12 * MINUTE_US)
    assert end == start + 120 * MINUTE_US + sum(calendar.taken)


def test_a_meal_in_a_wait_costs_what_sticks_out() -> None:
    def done(start: str) -> int:
        calendar = WorkCalendar([Pause(at("25 12:30"), 30 * MINUTE_US)])
        return calendar.worked(at(start), 10 * MINUTE_US, free_us=at("25 12:20"))

    assert done("25 12:29") == at("25 13:09")
    assert done("25 12:45") == at("25 13:10")
    assert done("25 13:30") == at("25 13:40")


def test_no_meal_and_no_rest_while_a_film_is_in_play() -> None:
    cycle = (20 * MINUTE_US, 10 * MINUTE_US)
    calendar = WorkCalendar(
        [Pause(at("25 12:30"), 30 * MINUTE_US)], Rhythm(lambda _at, _effort: cycle)
    )
    end = calendar.worked(at("25 12:10"), 40 * MINUTE_US, held=True)
    assert end == at("25 12:50")
    # When it is off, the meal that is overdue comes in full, and stands for the rest.
    assert calendar.worked(end, 10 * MINUTE_US) == at("25 13:30")
    assert calendar.taken == (0, 30 * MINUTE_US, 0, 0)


def test_a_night_is_what_lies_between_two_working_days() -> None:
    found = list(islice(DAY.nights(at("25 12:00")), 2))
    assert found == [Night(at("25 18:00"), at("26 07:30")), Night(at("26 18:00"), at("27 07:30"))]
    # Before the day begins the night is not over, and a closed day is part of one.
    assert next(DAY.nights(at("25 03:00"))) == Night(at("24 18:00"), at("25 07:30"))
    closed = WorkDay(DAY.begins, DAY.ends, ZONE, Closed(frozenset([7])))
    assert next(closed.nights(at("28 12:00"))) == Night(at("28 18:00"), at("30 07:30"))
    # Who works at night sleeps by day.
    late = WorkDay(datetime.time(18), datetime.time(2), ZONE)
    assert next(late.nights(at("25 23:00"))) == Night(at("26 02:00"), at("26 18:00"))
    never = WorkDay(DAY.begins, DAY.ends, ZONE, Closed(frozenset(range(1, 8))))
    assert next(never.nights(at("25 12:00"))).to_us > at("25 12:00")


def test_a_night_is_as_long_as_the_clocks_make_it() -> None:
    saturday = instant("2026-10-24 12:00", ZONE)
    night = next(DAY.nights(saturday))
    assert night.to_us - night.from_us == 13.5 * HOUR_US + HOUR_US
    assert local(night.to_us, ZONE).time() == DAY.begins


def test_what_can_wait_is_begun_in_the_morning() -> None:
    def begun(start: str, minutes: int, left: int | None = None) -> int:
        calendar = WorkCalendar(nights=DAY.nights(at("25 12:00")))

        def ends_by(spare: WorkCalendar, until_us: int) -> bool:
            # Nothing that lies between the hands and it but nights.
            return left is not None and spare.worked(at(start), left * MINUTE_US) <= until_us

        return calendar.begun(at(start), minutes * MINUTE_US, ends_by)

    assert begun("25 16:00", 60) == at("25 16:00")
    assert begun("25 17:30", 50) == at("25 17:30")
    assert begun("25 17:30", 90) == at("26 07:30")
    assert begun("25 18:10", 5) == at("26 07:30")
    assert begun("26 05:00", 5) == at("26 07:30")
    # For little more than the rest of the day the worker stays.
    assert begun("25 17:30", 90, left=120) == at("25 17:30")
    assert begun("25 17:30", 90, left=240) == at("26 07:30")


def test_a_night_rests_the_hands_and_costs_its_length() -> None:
    cycle = (60 * MINUTE_US, 15 * MINUTE_US)
    calendar = WorkCalendar(
        [Pause(at("25 20:00"), 30 * MINUTE_US), Pause(at("26 12:30"), 30 * MINUTE_US)],
        Rhythm(lambda _at, _effort: cycle, 55 * MINUTE_US),
        nights=DAY.nights(at("25 12:00")),
    )
    begun = calendar.begun(at("25 17:50"), 60 * MINUTE_US)
    assert begun == at("26 07:30")
    assert calendar.overnight == [begun]
    assert calendar.taken.nights_us == begun - at("25 17:50")
    assert calendar.worked(begun, 60 * MINUTE_US) == at("26 08:30")


def test_who_is_still_at_it_behind_the_end_goes_on_for_as_long_again() -> None:
    def ends(now: str) -> int:
        return next(nights_of(DAY, at(now), at("25 07:30"), gone_home=False)).from_us

    # Up to the end nothing says that this day goes on for longer than others.
    assert ends("25 12:00") == ends("25 17:59") == ends("25 18:00") == at("25 18:00")
    assert ends("25 18:20") == at("25 18:40")
    assert ends("25 21:00") == at("25 22:00")


def test_more_work_is_not_done_sooner() -> None:
    rng = random.Random(4)
    for _ in range(200):
        start = at("25 08:00") + rng.randrange(8 * HOUR_US)
        lengths = sorted(rng.randrange(6 * HOUR_US) for _ in range(2))
        since = rng.randrange(50 * MINUTE_US)
        ends = [
            WorkCalendar(
                [Pause(at("25 12:30"), 30 * MINUTE_US)],
                Rhythm(lambda _at, _effort: (50 * MINUTE_US, 10 * MINUTE_US), since),
                0.15,
                DAY.nights(at("25 08:00")),
            ).worked(start, length)
            for length in lengths
        ]
        assert ends == sorted(ends)
