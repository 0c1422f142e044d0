"""What no reading says: the sun by the hour, roof and clothes; and the air of the hour ahead."""

from __future__ import annotations

import datetime
from itertools import pairwise
from typing import Any

import pytest
from msgspec.structs import replace

from cartclock.engine.body.budget import RISE_C, RISE_F, Air
from cartclock.engine.body.climate import climate
from cartclock.engine.body.exposure import climates, loads
from cartclock.engine.body.outlook import air_ahead
from cartclock.engine.body.surroundings import Surroundings, usual_longitude
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.facts.turn import Turn
from tests.figures.check_values import rows
from tests.kit.book import Book, us
from tests.kit.plans import WIPE, opening

HOURS = rows("sun_by_hour")
HOUR_S = 3600
NOON = datetime.datetime(2026, 6, 21, 12, tzinfo=datetime.UTC)


def at(hour: float, day: datetime.datetime = NOON) -> float:
    """Seconds from the book's beginning to an hour of a day in UTC."""
    return day.timestamp() - us(0) / 1e6 + (hour - 12) * HOUR_S


def begun(from_s: float, **on: Any) -> Book:
    book = Book()
    book.press(from_s, opening(WIPE))
    book.press(from_s, ev.ClockedOn("carport", **on))
    return book


def ahead(book: Book, at_s: float) -> Air:
    shift, now_us = book.shift(), us(at_s)
    found = [one for one in climates(shift) if one.at_us <= now_us]
    made = air_ahead(found, found[-1], Surroundings(shift), now_us, None)
    assert made is not None
    return made


@pytest.mark.parametrize("row", HOURS, ids=[f"{r['lat']} {r['clock_h']} h" for r in HOURS])
def test_wbgt_by_the_hour_by_a_second_reckoner(row: dict[str, str]) -> None:
    """Liljegren 2008 with the light of Haurwitz 1945 and the sun of NOAA's equations."""
    day = datetime.datetime.fromisoformat(row["date"]).replace(tzinfo=datetime.UTC, hour=12)
    at_s = at(float(row["clock_h"]) - float(row["utc_offset_h"]), day)
    where = {"latitude": float(row["lat"]), "longitude": float(row["lon"])}
    around = Surroundings(begun(at_s, **where).shift())
    for place, column in (
        ("outdoor shade", "wbgt_shade_c"), ("cloud", "wbgt_cloud_c"), ("sun", "wbgt_sun_c"),
    ):  # fmt: skip
        words: Any = {"place": place, "moving": "not said"}
        reading = ReadingTaken(air_c=float(row["air_c"]), rh=float(row["rh"]), **words)
        # The sun stands still for ten minutes, which is worth some hundredths.
        found = climate(us(at_s), reading, around.around(us(at_s), reading)).wbgt_c
        assert found == pytest.approx(float(row[column]), abs=0.2), place


def test_the_sun_moves_and_the_reading_does_not() -> None:
    book = begun(at(6))
    book.press(at(6), ReadingTaken(air_c=24.0, rh=50.0, place="sun"))
    around = Surroundings(book.shift())
    reading = climates(book.shift())[0].reading
    hours = [
        climate(us(0), reading, around.around(us(at(h)), reading)).wbgt_c for h in range(6, 13)
    ]
    assert all(a is not None and b is not None and b > a for a, b in pairwise(hours))
    night = climate(us(0), reading, around.around(us(at(0)), reading))
    shade = climate(us(0), replace(reading, place="outdoor shade"))
    assert (night.wbgt_c, night.adjusted_f) == (shade.wbgt_c, shade.adjusted_f)


def test_the_account_of_a_morning_in_the_sun_follows_it_by_ten_minutes() -> None:
    book = begun(at(7))
    book.press(at(7), ReadingTaken(air_c=24.0, rh=50.0, place="sun"))
    book.press(at(7), ev.WorkStarted("Wipe", ("whole car",), Turn()))
    found = loads(book.shift(), book.jobs(), us(at(7.9)))
    assert [one.end_us - one.start_us for one in found[:2]] == [600_000_000] * 2
    warm = [one.wbgt_c for one in found]
    assert all(a is not None and b is not None and b > a for a, b in pairwise(warm))


def test_without_a_place_the_middle_of_the_time_zone_stands_in_our_own_judgement() -> None:
    around = Surroundings(begun(0, zone="Europe/Berlin").shift())
    assert (around.told, around.latitude, around.longitude) == (False, 40.0, 15.0)
    assert usual_longitude(us(0), "America/New_York") == -75.0
    assert usual_longitude(us(0), "no such zone") == 0.0
    told = Surroundings(begun(0, latitude=48.5, longitude=9.0).shift())
    assert (told.told, told.latitude, told.longitude) == (True, 48.5, 9.0)


def test_a_hot_roof_counts_until_a_globe_is_read() -> None:
    book = begun(0)
    book.press(0, ReadingTaken(air_c=33.0, rh=40.0))
    before = ahead(book, 60).wbgt_c
    book.press(60, ev.RoofSaid(True))
    assert ahead(book, 61).wbgt_c == before + 2.0
    # What was before it was said is judged as it was read.
    assert [load.wbgt_c for load in loads(book.shift(), book.jobs(), us(120))] == [
        before,
        before + 2.0,
    ]
    book.press(120, ReadingTaken(air_c=33.0, rh=40.0, globe_c=33.0))
    assert ahead(book, 121).wbgt_c == pytest.approx(before)
    book.press(180, ReadingTaken(air_c=33.0, rh=40.0))
    assert ahead(book, 181).wbgt_c == before


def test_clothes_count_from_when_they_were_said_and_add_to_every_wbgt() -> None:
    book = begun(0, clothing="polyolefin coverall")
    book.press(0, ReadingTaken(air_c=33.0, rh=40.0, wbgt_c=25.0))
    book.press(600, ev.ClothingSaid("work clothes"))
    assert [load.wbgt_c for load in loads(book.shift(), book.jobs(), us(900))] == [26.0, 25.0]
    assert Surroundings(book.shift()).clothes == ("polyolefin coverall", "work clothes")


def test_a_rise_between_two_readings_is_carried_on_and_never_a_fall_our_own_judgement() -> None:
    book = begun(at(9))
    book.press(at(9), ReadingTaken(air_c=28.0, rh=40.0))
    assert ahead(book, at(9) + 60).rise_c == 0.0
    book.press(at(9.5), ReadingTaken(air_c=30.0, rh=40.0))
    rising = ahead(book, at(9.5) + 60)
    assert 0 < rising.rise_c <= RISE_C
    assert 0 < rising.rise_f <= RISE_F
    # Late in the day it does not go on rising.
    late = begun(at(16))
    late.press(at(16), ReadingTaken(air_c=28.0, rh=40.0))
    late.press(at(16.5), ReadingTaken(air_c=30.0, rh=40.0))
    assert ahead(late, at(16.5) + 60).rise_c == 0.0
    book.press(at(10), ReadingTaken(air_c=27.0, rh=40.0))
    assert ahead(book, at(10) + 60).rise_c == 0.0


def test_what_a_rise_comes_to_at_a_time_does_not_move_with_the_clock() -> None:
    """It has gone on since the reading was taken, an hour at most; our own judgement."""
    book = begun(at(9))
    book.press(at(9), ReadingTaken(air_c=28.0, rh=40.0))
    book.press(at(9.5), ReadingTaken(air_c=30.0, rh=40.0))
    first, later = (ahead(book, at(9.5) + 60 * minutes) for minutes in (0, 20))
    assert later.guard_c == pytest.approx(first.guard_c + 20 * first.rise_c)
    assert later.guard_f == pytest.approx(first.guard_f + 20 * first.rise_f)
    assert (later.rise_c, later.bare) == (first.rise_c, first.bare)


def test_the_sun_rises_on_within_the_ten_minutes_in_which_it_stands_still() -> None:
    """What is reckoned for one later instant is the same all through them, and hardly leaps at
    the next ten; our own judgement.
    """
    book = begun(at(7))
    book.press(at(7), ReadingTaken(air_c=24.0, rh=50.0, place="sun"))
    found = [(minute, ahead(book, at(8) + 60 * minute)) for minute in (0, 3, 9, 10)]
    by_nine = [air.wbgt_c + air.guard_c + (60 - minute) * air.rise_c for minute, air in found]
    assert by_nine[:3] == pytest.approx([by_nine[0]] * 3)
    assert by_nine[3] == pytest.approx(by_nine[0], abs=0.06)
    assert found[0][1].rise_c > 0.01


def test_a_meter_is_neither_guarded_nor_carried_on() -> None:
    book = begun(at(9))
    book.press(at(9), ReadingTaken(air_c=28.0, rh=40.0, wbgt_c=22.0))
    book.press(at(9.5), ReadingTaken(air_c=30.0, rh=40.0, wbgt_c=25.0))
    found = ahead(book, at(9.5) + 60)
    assert found == found.bare
