"""Wet bulb globe temperature without sun and under the sky."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cartclock.engine.figures.air import wet_bulb_c
from cartclock.engine.figures.heat import natural_wet_bulb_c, wbgt_no_sun_c, wbgt_sun_c
from cartclock.engine.figures.sun import CLOUD_WM2, FULL_SUN_WM2, OUTDOOR_SHADE_WM2, sensors_c
from tests.figures.check_values import numbers

NO_SUN = numbers(
    "wbgt_no_sun_pythermalcomfort", "air_c", "rh", "air_speed", "natural_wet_bulb_c", "wbgt_c"
)
SUN_COLUMNS = ("air_c", "rh", "air_speed_2m", "solar_wm2", "beam_share", "cos_zenith")
SUN = numbers("wbgt_sun_thermofeel_2_3_0", *SUN_COLUMNS, "natural_wet_bulb_c", "globe_c", "wbgt_c")

AIR = st.floats(-40.0, 60.0)
RH = st.floats(1.0, 100.0)
SPEED = st.floats(0.0, 20.0)
MORE = st.floats(0.0, 30.0)


@pytest.mark.parametrize(
    ("air", "rh", "speed", "natural", "wbgt"),
    NO_SUN,
    ids=[
        f"ISO 7243 weights, pythermalcomfort; Bernard 1999, own run: {row[0]:g} C {row[1]:g} % "
        f"{row[2]:g} m/s"
        for row in NO_SUN
    ],
)
def test_without_sun(air: float, rh: float, speed: float, natural: float, wbgt: float) -> None:
    assert natural_wet_bulb_c(air, rh, speed) == pytest.approx(natural, abs=0.001)
    assert wbgt_no_sun_c(air, rh, speed) == pytest.approx(wbgt, abs=0.001)
    assert wbgt_no_sun_c(air, rh, speed, globe_c=air) == wbgt_no_sun_c(air, rh, speed)


@pytest.mark.parametrize(
    ("speed", "share"),
    [(0.0, 0.85), (0.029, 0.85), (0.1, 0.891), (1.0, 0.96), (3.01, 1.0), (20.0, 1.0)],
    ids=lambda value: f"Bernard and Pourmoghani 1999 (read in an open library's source): {value}",
)
def test_the_wick_reaches_a_share_of_the_depression(speed: float, share: float) -> None:
    wet = wet_bulb_c(35.0, 40.0)
    assert natural_wet_bulb_c(35.0, 40.0, speed) == pytest.approx(35.0 - share * (35.0 - wet))


@pytest.mark.parametrize(
    ("speed", "excess"),
    [(0.05, 1.1), (0.5, 0.1 / 0.5**1.1 - 0.2), (2.0, -0.1)],
    ids=lambda value: f"Bernard and Pourmoghani 1999 (read in an open library's source): {value}",
)
def test_a_hot_globe_heats_the_wick(speed: float, excess: float) -> None:
    wet = wet_bulb_c(30.0, 70.0)
    natural = natural_wet_bulb_c(30.0, 70.0, speed, globe_c=45.0)
    assert natural == pytest.approx(wet + 0.25 * 15.0 + excess)
    assert wbgt_no_sun_c(30.0, 70.0, speed, 45.0) == pytest.approx(0.7 * natural + 0.3 * 45.0)


def test_up_to_four_degrees_the_globe_leaves_the_wick_alone() -> None:
    assert natural_wet_bulb_c(30.0, 70.0, 0.1, 34.0) == natural_wet_bulb_c(30.0, 70.0, 0.1)
    assert natural_wet_bulb_c(30.0, 70.0, 0.1, 20.0) == natural_wet_bulb_c(30.0, 70.0, 0.1)
    assert natural_wet_bulb_c(30.0, 70.0, 0.1, 34.1) > natural_wet_bulb_c(30.0, 70.0, 0.1)


def test_in_dry_still_air_a_hot_globe_does_not_cool_the_wick_our_own_judgement() -> None:
    plain = natural_wet_bulb_c(45.0, 5.0, 0.0)
    assert natural_wet_bulb_c(45.0, 5.0, 0.0, globe_c=49.5) == plain
    assert wet_bulb_c(45.0, 5.0) + 0.25 * 4.5 + 1.1 < plain - 1.0


@given(air=AIR, rh=RH, speed=SPEED, warmer=MORE, damper=MORE)
def test_hotter_or_damper_never_lowers_wbgt_without_sun(
    air: float, rh: float, speed: float, warmer: float, damper: float
) -> None:
    hot, damp = min(60.0, air + warmer), min(100.0, rh + damper)
    assert wbgt_no_sun_c(hot, damp, speed) >= wbgt_no_sun_c(air, rh, speed) - 1e-6


@given(air=AIR, rh=RH, speed=SPEED, globe=st.floats(-40.0, 120.0), hotter=MORE)
def test_a_hotter_globe_never_lowers_wbgt(
    air: float, rh: float, speed: float, globe: float, hotter: float
) -> None:
    more = min(120.0, globe + hotter)
    before = wbgt_no_sun_c(air, rh, speed, globe)
    assert wbgt_no_sun_c(air, rh, speed, more) >= before - 1e-6


@pytest.mark.parametrize(
    "row",
    SUN,
    ids=[
        f"Liljegren 2008, thermofeel 2.3.0: {row[0]:g} C {row[1]:g} % {row[2]:g} m/s {row[3]:g} W"
        for row in SUN
    ],
)
def test_under_the_sky(row: tuple[float, ...]) -> None:
    wick, globe = sensors_c(*row[:6])
    assert wick == pytest.approx(row[6], abs=0.05)
    assert globe == pytest.approx(row[7], abs=0.05)
    assert wbgt_sun_c(*row[:6]) == pytest.approx(row[8], abs=0.05)
    assert wbgt_sun_c(*row[:6]) == pytest.approx(0.7 * wick + 0.2 * globe + 0.1 * row[0])


@pytest.mark.parametrize("air", [-40.0, 0.0, 30.0, 60.0])
def test_the_sensors_settle_at_every_corner_of_the_range(air: float) -> None:
    ends = ((1.0, 100.0), (0.0, 20.0), (0.0, 1400.0), (0.0, 1.0), (0.01, 1.0))
    tried = 0
    for rh, speed, solar, beam, cos_zenith in itertools.product(*ends):
        if solar * beam > 1412.0 * cos_zenith:
            continue
        wick, globe = sensors_c(air, rh, speed, solar, beam, cos_zenith)
        # A sensor at an end of its bracket would not have settled.
        assert air - 75.0 < wick < 91.0
        assert air - 35.0 < globe < air + 115.0
        tried += 1
    assert tried >= 24


@given(
    air=AIR,
    rh=RH,
    speed=SPEED,
    solar=st.floats(0.0, 1400.0),
    beam=st.floats(0.0, 1.0),
    cos_zenith=st.floats(0.0, 1.0),
    warmer=MORE,
    damper=MORE,
    sunnier=st.floats(0.0, 600.0),
)
def test_hotter_damper_or_sunnier_never_lowers_wbgt_under_the_sky(
    air: float,
    rh: float,
    speed: float,
    solar: float,
    beam: float,
    cos_zenith: float,
    warmer: float,
    damper: float,
    sunnier: float,
) -> None:
    bright = min(1400.0, solar + sunnier)
    assume(bright * beam <= 1412.0 * cos_zenith)
    before = wbgt_sun_c(air, rh, speed, solar, beam, cos_zenith)
    hot, damp = min(60.0, air + warmer), min(100.0, rh + damper)
    assert wbgt_sun_c(hot, rh, speed, solar, beam, cos_zenith) >= before - 1e-6
    assert wbgt_sun_c(air, damp, speed, solar, beam, cos_zenith) >= before - 1e-6
    assert wbgt_sun_c(air, rh, speed, bright, beam, cos_zenith) >= before - 1e-6


def test_more_sky_more_heat_our_own_judgement_of_the_three_lights() -> None:
    shade = wbgt_sun_c(33.0, 45.0, 1.0, OUTDOOR_SHADE_WM2, 0.0, 0.8)
    cloud = wbgt_sun_c(33.0, 45.0, 1.0, CLOUD_WM2, 0.5, 0.8)
    sun = wbgt_sun_c(33.0, 45.0, 1.0, FULL_SUN_WM2, 0.75, 0.8)
    assert wbgt_no_sun_c(33.0, 45.0, 1.0) < shade < cloud < sun


def test_a_setting_sun_has_no_beam() -> None:
    assert wbgt_sun_c(30.0, 50.0, 1.0, 10.0, 0.5, 0.008) == wbgt_sun_c(
        30.0, 50.0, 1.0, 10.0, 0.0, 0.008
    )


def test_more_beam_than_the_sun_sends_is_refused() -> None:
    with pytest.raises(ValueError, match="solar_wm2"):
        wbgt_sun_c(30.0, 50.0, 1.0, 1000.0, 0.8, 0.3)
