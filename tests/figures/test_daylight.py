"""Height of the sun and light of a clear sky, against an ephemeris and worked values."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.daylight import clear_sky_wm2, cos_zenith
from cartclock.engine.figures.heat import wbgt_no_sun_c, wbgt_sun_c
from cartclock.engine.figures.wbgt import OUTDOOR_SHADE_C
from tests.figures.check_values import rows

EPHEM = rows("sun_height_ephem")
HOURS = rows("sun_by_hour")


def _us(text: str) -> int:
    at = datetime.datetime.fromisoformat(text)
    return int(at.timestamp()) * 1_000_000


@pytest.mark.parametrize(
    "row", EPHEM, ids=[f"ephem (VSOP87): {row['lat']} {row['lon']} {row['utc']}" for row in EPHEM]
)
def test_sun_height(row: dict[str, str]) -> None:
    found = cos_zenith(_us(row["utc"]), float(row["lat"]), float(row["lon"]))
    assert found == pytest.approx(float(row["cos_zenith_ephem"]), abs=0.008)


@pytest.mark.parametrize(
    "row",
    HOURS,
    ids=[
        f"Haurwitz 1945, Liljegren 2008: {row['lat']} {row['date']} {row['clock_h']}"
        for row in HOURS
    ],
)
def test_light_and_heat_by_the_hour(row: dict[str, str]) -> None:
    cos_sun = float(row["cos_zenith"])
    clear = clear_sky_wm2(cos_sun)
    assert clear == pytest.approx(float(row["clear_wm2"]), abs=0.3)
    air_c, rh = float(row["air_c"]), float(row["rh"])
    shade = wbgt_no_sun_c(air_c, rh, 1.0) + OUTDOOR_SHADE_C
    assert shade == pytest.approx(float(row["wbgt_shade_c"]), abs=0.01)
    sun = max(shade, wbgt_sun_c(air_c, rh, 1.0, clear, 0.75, cos_sun))
    cloud = max(shade, wbgt_sun_c(air_c, rh, 1.0, clear / 2, 0.3, cos_sun))
    assert sun == pytest.approx(float(row["wbgt_sun_c"]), abs=0.02)
    assert cloud == pytest.approx(float(row["wbgt_cloud_c"]), abs=0.02)


@given(st.integers(0, 4_000_000_000_000_000), st.floats(-90, 90), st.floats(-180, 180))
def test_a_cosine_everywhere_and_always(at_us: int, lat: float, lon: float) -> None:
    assert -1.0000001 <= cos_zenith(at_us, lat, lon) <= 1.0000001


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_higher_sun_never_sends_less(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert clear_sky_wm2(low) <= clear_sky_wm2(high) + 1e-9


@pytest.mark.parametrize("bad", [91.0, float("nan"), -90.5])
def test_a_place_that_is_none_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="latitude"):
        cos_zenith(0, bad, 0.0)
