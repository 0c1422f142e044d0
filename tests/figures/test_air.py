"""Dew point, wet bulb and the margin of a panel above the dew."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.air import (
    DEW_MARGIN_K,
    PANEL_RH_STOP,
    celsius,
    dew_margin_k,
    dew_point_c,
    fahrenheit,
    panel_rh,
    saturation_pa,
    wet_bulb_c,
)
from tests.figures.check_values import numbers, rows

PSYCHRO = numbers(
    "psychro_psychrolib_2_5_0", "air_c", "rh", "pressure_pa", "dew_point_c", "wet_bulb_c"
)
PSYCHRO_IDS = [
    f"ASHRAE Fundamentals 2017 ch. 1, psychrolib 2.5.0: {air:g} C {rh:g} % {pressure:g} Pa"
    for air, rh, pressure, _, _ in PSYCHRO
]
TOLERANCE_C = 0.001
# Just below 0 C the balances over ice and over water both have an answer.
OVERLAP_C = 0.5

AIR = st.floats(-40.0, 60.0)
RH = st.floats(1.0, 100.0)
PRESSURE = st.floats(60_000.0, 110_000.0)


@pytest.mark.parametrize(("air", "rh", "pressure", "dew", "wet"), PSYCHRO, ids=PSYCHRO_IDS)
def test_dew_point_and_wet_bulb_of_the_handbook(
    air: float, rh: float, pressure: float, dew: float, wet: float
) -> None:
    assert dew_point_c(air, rh) == pytest.approx(dew, abs=TOLERANCE_C)
    if abs(wet) > OVERLAP_C:
        assert wet_bulb_c(air, rh, pressure) == pytest.approx(wet, abs=TOLERANCE_C)
    else:
        assert wet_bulb_c(air, rh, pressure) == pytest.approx(wet, abs=OVERLAP_C)


def test_most_of_the_table_lies_away_from_freezing() -> None:
    assert len(PSYCHRO) == 199
    assert sum(abs(row[4]) > OVERLAP_C for row in PSYCHRO) > 190


def test_live_library_agrees() -> None:
    library = pytest.importorskip("psychrolib")
    library.SetUnitSystem(library.SI)
    for air in range(5, 56, 10):
        for rh in range(10, 101, 15):
            dew = library.GetTDewPointFromRelHum(float(air), rh / 100.0)
            wet = library.GetTWetBulbFromRelHum(float(air), rh / 100.0, 101_325.0)
            assert dew_point_c(air, rh) == pytest.approx(dew, abs=TOLERANCE_C)
            if abs(wet) > OVERLAP_C:
                assert wet_bulb_c(air, rh) == pytest.approx(wet, abs=TOLERANCE_C)


@given(air=AIR, rh=RH)
def test_dew_point_gives_back_the_vapour_pressure(air: float, rh: float) -> None:
    dew = dew_point_c(air, rh)
    assert dew <= air
    if dew >= -40.0:
        # ASHRAE's curves over ice and over water miss each other by a few parts in 10^5.
        assert saturation_pa(dew) == pytest.approx(saturation_pa(air) * rh / 100.0, rel=1e-4)


@given(air=AIR, rh=RH, pressure=PRESSURE)
def test_wet_bulb_lies_between_dew_point_and_air(air: float, rh: float, pressure: float) -> None:
    assert dew_point_c(air, rh) - 1e-3 <= wet_bulb_c(air, rh, pressure) <= air + 1e-9


@given(air=AIR, rh=RH, warmer=st.floats(0.0, 20.0), damper=st.floats(0.0, 50.0))
def test_warmer_or_damper_air_never_lowers_the_wet_bulb(
    air: float, rh: float, warmer: float, damper: float
) -> None:
    hot, damp = min(60.0, air + warmer), min(100.0, rh + damper)
    assert wet_bulb_c(hot, damp) >= wet_bulb_c(air, rh) - 1e-6
    assert dew_point_c(hot, damp) >= dew_point_c(air, rh) - 1e-6


@given(air=AIR)
def test_saturated_air_has_one_temperature(air: float) -> None:
    assert dew_point_c(air, 100.0) == pytest.approx(air, abs=1e-6)
    if abs(air) > OVERLAP_C:
        assert wet_bulb_c(air, 100.0) == pytest.approx(air, abs=1e-3)


def test_the_wet_bulb_at_the_freezing_point_is_the_water_one() -> None:
    # psychrolib prints the ice answer, -0.2784 C, for the same air.
    assert wet_bulb_c(8.0, 25.0, 70_109.0) > 0.0


@pytest.mark.parametrize(
    ("air", "rh", "panel", "chart", "may_coat"),
    [tuple(row.values()) for row in rows("surface_gate")],
    ids=[
        f"ISO 8502-4 practice, printed training sheet (read second-hand): panel {row['panel_c']} C"
        for row in rows("surface_gate")
    ],
)
def test_panels_of_the_training_sheets(
    air: str, rh: str, panel: str, chart: str, may_coat: str
) -> None:
    margin = dew_margin_k(float(panel), float(air), float(rh))
    assert dew_point_c(float(air), float(rh)) == pytest.approx(float(chart), abs=0.55)
    assert (margin >= DEW_MARGIN_K) == (may_coat == "yes")
    assert (panel_rh(float(panel), float(air), float(rh)) <= PANEL_RH_STOP) == (may_coat == "yes")


@given(air=AIR, rh=RH, panel=st.floats(-40.0, 120.0))
def test_a_wet_panel_is_one_below_the_dew_point(air: float, rh: float, panel: float) -> None:
    margin = dew_margin_k(panel, air, rh)
    if abs(margin) > 0.01:
        assert (margin > 0.0) == (panel_rh(panel, air, rh) < 100.0)


@given(st.floats(-40.0, 140.0))
def test_fahrenheit_and_back(air_f: float) -> None:
    assert fahrenheit(celsius(air_f)) == pytest.approx(air_f, abs=1e-9)
    assert math.isclose(fahrenheit(100.0), 212.0)
