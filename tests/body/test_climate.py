"""What a reading says of the heat, and what it must not say."""

from __future__ import annotations

import math
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.body.climate import Around, Climate, air_speed, climate, speaks_of_heat
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.facts.shift_events import AirMovement, ReadingPlace
from cartclock.engine.figures import heat
from cartclock.engine.figures.air import fahrenheit
from tests.figures.check_values import rows
from tests.kit.book import us

CHART = rows("heat_index_chart_f")
PLACES: list[ReadingPlace] = ["indoors", "outdoor shade", "cloud", "sun"]
MOVING = st.sampled_from(get_args(AirMovement))
AIR = st.floats(-10.0, 55.0)
RH = st.floats(1.0, 100.0)


def of(**fields: object) -> Climate:
    """The figures of a reading with these fields."""
    return climate(7, ReadingTaken(**fields))  # type: ignore[arg-type]  # fields of a reading by name


def wbgt(**fields: object) -> float:
    """Its WBGT, which must be there."""
    found = of(**fields).wbgt_c
    assert found is not None
    return found


def test_a_meter_comes_before_a_globe_and_a_globe_before_the_estimate() -> None:
    air = {"air_c": 33.0, "rh": 45.0}
    meter = of(**air, globe_c=44.0, wbgt_c=27.3)
    globe = of(**air, globe_c=44.0)
    estimate = of(**air)
    assert (meter.wbgt_c, meter.wbgt_from) == (27.3, "meter")
    assert globe.wbgt_from == "globe"
    assert globe.wbgt_c == heat.wbgt_no_sun_c(33.0, 45.0, 0.1, 44.0)
    assert estimate.wbgt_from == "estimate"
    assert estimate.wbgt_c == heat.wbgt_no_sun_c(33.0, 45.0, 0.1)
    assert globe.wbgt_c > estimate.wbgt_c


def test_a_globe_under_the_sky_takes_the_weights_of_the_sun_iso_7243() -> None:
    wick_c = heat.natural_wet_bulb_c(30.0, 50.0, 3.0, 45.0)
    shares = 0.7 * wick_c + 0.2 * 45.0 + 0.1 * 30.0
    for place in ("cloud", "sun"):
        found = of(air_c=30.0, rh=50.0, globe_c=45.0, place=place, moving="windy")
        assert (found.wbgt_from, found.wbgt_c) == ("globe", pytest.approx(shares, abs=1e-12))


def test_shade_outdoors_adds_one_and_a_half_our_own_judgement() -> None:
    inside = wbgt(air_c=30.0, rh=50.0, moving="fan")
    # A fan moves the air like the light wind that there is outdoors.
    assert wbgt(air_c=30.0, rh=50.0, place="outdoor shade", moving="not said") == inside + 1.5


@pytest.mark.parametrize(
    ("moving", "speed"), [("not said", 1.0), ("still", 0.5), ("fan", 1.0), ("windy", 3.0)]
)
@pytest.mark.parametrize("place", ["outdoor shade", "cloud", "sun"])
def test_outdoors_the_air_is_a_light_wind_unless_it_was_said_to_be_still(
    place: Any, moving: Any, speed: float
) -> None:
    assert air_speed(ReadingTaken(place=place, moving=moving)) == speed
    indoors = air_speed(ReadingTaken(moving=moving))
    assert indoors == (0.1 if moving in ("not said", "still") else speed)


def test_a_rest_after_the_sun_is_reckoned_in_the_shade_of_the_same_air() -> None:
    for place in ("cloud", "sun"):
        found = of(air_c=24.0, rh=50.0, place=place, moving="not said")
        shade = wbgt(air_c=24.0, rh=50.0, place="outdoor shade", moving="not said")
        assert found.rest_wbgt_c == shade
        assert found.wbgt_c is not None
        assert found.wbgt_c > shade
    assert of(air_c=24.0, rh=50.0).rest_wbgt_c == wbgt(air_c=24.0, rh=50.0)
    # A meter in the sun says nothing of the shade unless the air was read too.
    assert of(wbgt_c=29.0, place="sun").rest_wbgt_c == 29.0


def test_only_an_estimate_is_guarded_and_by_three_tenths_at_least_our_own_judgement() -> None:
    assert of(air_c=33.0, rh=40.0, wbgt_c=27.0).guard_c == 0.0
    assert of(air_c=33.0, rh=40.0, globe_c=36.0).guard_c == 0.0
    for air_c in (10.0, 25.0, 33.0, 45.0):
        more = wbgt(air_c=air_c, rh=45.0) - wbgt(air_c=air_c, rh=40.0)
        assert of(air_c=air_c, rh=40.0).guard_c == max(0.3, more)


def test_clothing_is_added_to_every_wbgt_published_adjustments() -> None:
    for fields in ({"wbgt_c": 25.0}, {"air_c": 30.0, "rh": 50.0, "place": "sun"}):
        reading = ReadingTaken(**fields)  # type: ignore[arg-type]  # fields of a reading by name
        plain, worn = climate(us(0), reading), climate(us(0), reading, Around(clothing_c=11.0))
        assert plain.wbgt_c is not None
        assert worn.wbgt_c == plain.wbgt_c + 11.0
        assert worn.rest_wbgt_c == (plain.rest_wbgt_c or 0.0) + 11.0
        assert worn.index_f == plain.index_f


def test_a_roof_that_is_hot_to_the_hand_adds_two_to_an_estimate_our_own_judgement() -> None:
    hot = Around(roof_c=2.0)
    air = ReadingTaken(air_c=33.0, rh=40.0)
    assert climate(us(0), air, hot).wbgt_c == wbgt(air_c=33.0, rh=40.0) + 2.0
    for read in (replace(air, globe_c=40.0), replace(air, wbgt_c=27.0)):
        assert climate(us(0), read, hot).wbgt_c == climate(us(0), read).wbgt_c


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"air_c": 30.0},
        {"rh": 50.0},
        {"globe_c": 40.0},
        {"globe_c": 40.0, "air_c": 30.0},
        {"air_c": math.nan, "rh": 50.0},
        {"air_c": 30.0, "rh": math.nan},
        {"air_c": 30.0, "rh": 50.0, "globe_c": math.nan},
        {"air_c": 30.0, "rh": 50.0, "globe_c": 400.0},
        {"air_c": 30.0, "rh": 50.0, "wbgt_c": math.nan},
        {"air_c": 30.0, "rh": 50.0, "wbgt_c": 250.0},
        {"air_c": 95.0, "rh": 50.0},
        {"air_c": -math.inf, "rh": 50.0},
        {"air_c": 30.0, "rh": 0.0},
        {"air_c": 30.0, "rh": 130.0},
    ],
    ids=str,
)
@pytest.mark.parametrize("place", PLACES)
def test_missing_or_impossible_gives_no_wbgt(fields: dict[str, float], place: str) -> None:
    found = of(**fields, place=place)
    assert (found.wbgt_c, found.wbgt_from) == (None, "")


@pytest.mark.parametrize("air_c", [math.nan, 95.0, math.inf, None])
def test_an_impossible_air_gives_no_index_no_table_and_no_alarm(air_c: float | None) -> None:
    found = of(air_c=air_c, rh=40.0)
    assert (found.index_f, found.adjusted_f, found.trigger_f) == (None, None, None)
    assert (found.index_bin, found.off_table, found.at_least) == ("none", False, False)
    assert not found.hot_from(-60.0)


@pytest.mark.parametrize(
    "row",
    CHART[::9],
    ids=[f"US NWS heat index, formula: {r['air_f']} F {r['rh']} %" for r in CHART[::9]],
)
def test_index_is_that_of_the_formula(row: dict[str, str]) -> None:
    air_f, rh = float(row["air_f"]), float(row["rh"])
    found = of(air_c=(air_f - 32.0) / 1.8, rh=rh)
    expected = heat.heat_index_f(air_f, rh)
    if expected is None:
        assert found.off_table
    else:
        assert found.index_f == pytest.approx(expected, abs=1e-6)


def test_off_the_table_is_extreme_danger_without_a_number() -> None:
    found = of(air_c=46.0, rh=30.0)
    assert (found.index_f, found.off_table, found.index_bin) == (None, True, "extreme danger")
    assert found.hot_from(125.0)
    assert found.wbgt_c is not None


def test_humid_air_says_at_least() -> None:
    assert of(air_c=34.0, rh=70.0).at_least
    assert not of(air_c=34.0, rh=30.0).at_least


@pytest.mark.parametrize(
    ("place", "adds_f"),
    [("indoors", 0.0), ("outdoor shade", 0.0), ("cloud", 7.0), ("sun", 13.0)],
    ids=lambda value: f"NIOSH 2016-106 notes to table 6-2, read second-hand: {value}",
)
def test_the_table_s_air_is_adjusted_by_the_place(place: str, adds_f: float) -> None:
    found = of(air_c=35.0, rh=30.0, place=place)
    assert found.adjusted_f == pytest.approx(fahrenheit(35.0) + adds_f, abs=1e-9)
    assert not found.outside_table
    assert of(air_c=35.0, rh=70.0, place=place).outside_table


def test_the_time_of_a_reading_is_its_own() -> None:
    reading = ReadingTaken(air_c=30.0, rh=50.0)
    early, late = climate(1, reading), climate(2, reading)
    assert (early.at_us, late.at_us) == (1, 2)
    assert early.reading == late.reading == reading


@pytest.mark.parametrize(
    ("reading", "speaks"),
    [
        (ReadingTaken(panel_c=40.0), False),
        (ReadingTaken(rain_at_us=5), False),
        (ReadingTaken(), False),
        (ReadingTaken(air_c=20.0), True),
        (ReadingTaken(rh=20.0), True),
        (ReadingTaken(globe_c=20.0), True),
        (ReadingTaken(wbgt_c=20.0), True),
        (ReadingTaken(air_c=math.nan), True),
    ],
    ids=str,
)
def test_a_panel_alone_says_nothing_of_the_heat(reading: ReadingTaken, speaks: bool) -> None:
    assert speaks_of_heat(reading) is speaks


@given(
    air_c=AIR,
    rh=RH,
    hotter=st.floats(0.0, 5.0),
    damper=st.floats(0.0, 60.0),
    moving=MOVING,
    places=st.tuples(st.sampled_from(range(4)), st.sampled_from(range(4))).map(sorted),
)
def test_hotter_damper_or_sunnier_never_lowers_a_figure(
    air_c: float, rh: float, hotter: float, damper: float, moving: str, places: list[int]
) -> None:
    mild = of(air_c=air_c, rh=rh, place=PLACES[places[0]], moving=moving)
    more_rh = min(100.0, rh + damper)
    harsh = of(air_c=air_c + hotter, rh=more_rh, place=PLACES[places[1]], moving=moving)
    assert mild.wbgt_c is not None
    assert harsh.wbgt_c is not None
    assert mild.adjusted_f is not None
    assert harsh.adjusted_f is not None
    assert harsh.wbgt_c >= mild.wbgt_c - 1e-9
    assert harsh.adjusted_f >= mild.adjusted_f
    for floor_f in (80.0, 90.0):
        assert harsh.hot_from(floor_f) or not mild.hot_from(floor_f)
