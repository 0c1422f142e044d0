"""The heat index: the printed chart, two libraries, the classes and the remark "at least"."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.air import celsius, dew_point_c
from cartclock.engine.figures.heat import (
    heat_index_bin,
    heat_index_f,
    heat_index_reads_low,
    rothfusz_f,
    steadman_f,
    trigger_f,
)
from tests.figures.check_values import numbers

CHART = numbers("heat_index_chart_f", "air_f", "rh", "heat_index_f")
LIBRARIES = numbers("heat_index_libraries_f", "air_f", "rh", "metpy_1_6_3", "meteocalc_1_1_0")
# The chart prints 93 where its own formula gives 92.49.
ODD_CELL = (90.0, 45.0)
# The libraries' columns are printed to four places.
PRINTED = 1e-4

AIR_F = st.floats(-40.0, 140.0)
RH = st.floats(1.0, 100.0)


def adjusted(air: float, rh: float) -> bool:
    """Whether the full algorithm adds or takes something at this point."""
    return (rh < 13.0 and 80.0 <= air <= 112.0) or (rh > 85.0 and 80.0 <= air < 87.0)


@pytest.mark.parametrize(
    ("air", "rh", "printed"),
    [row for row in CHART if row[:2] != ODD_CELL],
    ids=[
        f"US NWS heat index chart: {air:g} F {rh:g} %"
        for air, rh, _ in CHART
        if (air, rh) != ODD_CELL
    ],
)
def test_the_bare_regression_prints_the_chart(air: float, rh: float, printed: float) -> None:
    assert math.floor(rothfusz_f(air, rh) + 0.5) == printed


def test_one_cell_of_the_chart_differs_us_nws_heat_index_chart_90_f_45() -> None:
    assert len(CHART) == 135
    odd = [row for row in CHART if math.floor(rothfusz_f(row[0], row[1]) + 0.5) != row[2]]
    assert odd == [(*ODD_CELL, 93.0)]
    assert rothfusz_f(*ODD_CELL) == pytest.approx(92.493, abs=0.001)


@pytest.mark.parametrize(
    ("air", "rh", "metpy", "meteocalc"),
    LIBRARIES,
    ids=[
        f"US NWS heat index equation, metpy 1.6.3 and meteocalc 1.1.0: {air:g} F {rh:g} %"
        for air, rh, _, _ in LIBRARIES
    ],
)
def test_libraries_where_their_rules_are_ours(
    air: float, rh: float, metpy: float, meteocalc: float
) -> None:
    index = heat_index_f(air, rh)
    if index is None:
        assert air > 112.0 or metpy > 137.0
        return
    simple = steadman_f(air, rh)
    # metpy takes the regression from a simple index of 79 on, one degree early.
    assert (index == pytest.approx(metpy, abs=PRINTED)) is not (79.0 <= simple < 80.0)
    # meteocalc leaves the dry and the wet adjustment out.
    assert (index == pytest.approx(meteocalc, abs=PRINTED)) is not (
        simple >= 80.0 and adjusted(air, rh)
    )


def test_how_much_of_the_libraries_grid_is_compared() -> None:
    on_table = [row for row in LIBRARIES if heat_index_f(row[0], row[1]) is not None]
    assert (len(LIBRARIES), len(on_table)) == (221, 178)
    assert sum(79.0 <= steadman_f(row[0], row[1]) < 80.0 for row in on_table) == 5
    assert sum(adjusted(row[0], row[1]) for row in on_table) == 17


@pytest.mark.parametrize(("air", "rh"), [(112.5, 5.0), (140.0, 1.0), (110.0, 60.0), (100.0, 95.0)])
def test_off_the_table_is_extreme_danger_without_a_number(air: float, rh: float) -> None:
    assert heat_index_f(air, rh) is None
    assert trigger_f(air, rh) is None
    assert heat_index_bin(None) == "extreme danger"
    assert heat_index_reads_low(air, rh)


def test_cold_air_is_its_own_index() -> None:
    assert heat_index_f(40.0, 60.0) == 40.0
    assert heat_index_f(-12.0, 60.0) == -12.0
    assert heat_index_f(40.1, 60.0) == steadman_f(40.1, 60.0)


@given(air=AIR_F, rh=RH)
def test_the_trigger_is_the_larger_of_the_two(air: float, rh: float) -> None:
    index, trigger = heat_index_f(air, rh), trigger_f(air, rh)
    assert (index is None) == (trigger is None)
    if index is not None and trigger is not None:
        assert trigger == max(index, steadman_f(air, rh))


def test_the_index_drops_where_the_regression_takes_over_and_the_trigger_does_not() -> None:
    before, after = (82.0, 1.0), (82.1, 1.0)
    assert steadman_f(*before) < 80.0 <= steadman_f(*after)
    low, high = heat_index_f(*before), heat_index_f(*after)
    assert low is not None
    assert high is not None
    assert high < low
    first, second = trigger_f(*before), trigger_f(*after)
    assert first is not None
    assert second is not None
    assert second > first


@pytest.mark.parametrize(
    ("index", "name"),
    [
        (79.9, "none"),
        (80.0, "caution"),
        (89.9, "caution"),
        (90.0, "extreme caution"),
        (102.9, "extreme caution"),
        (103.0, "danger"),
        (124.9, "danger"),
        (125.0, "extreme danger"),
        (137.0, "extreme danger"),
    ],
    ids=lambda value: f"US National Weather Service classes (read second-hand): {value}",
)
def test_classes_of_the_index(index: float, name: str) -> None:
    assert heat_index_bin(index) == name


@pytest.mark.parametrize(
    ("air", "rh", "low"),
    [
        (90.0, 60.0, True),
        (90.0, 50.0, False),
        (86.0, 75.0, True),
        (84.0, 75.0, False),
        (104.0, 25.0, False),
        (112.0, 28.0, False),
        (112.0, 30.0, True),
        (104.0, 55.0, True),
    ],
    ids=lambda value: f"our own judgement: {value}",
)
def test_humid_air_is_printed_as_at_least(air: float, rh: float, low: bool) -> None:
    assert heat_index_reads_low(air, rh) is low


@given(air=AIR_F, rh=RH)
def test_at_least_needs_damp_air_or_a_high_index(air: float, rh: float) -> None:
    index = heat_index_f(air, rh)
    expected = (
        index is None or index > 125.0 or (index >= 97.0 and dew_point_c(celsius(air), rh) >= 23.0)
    )
    assert heat_index_reads_low(air, rh) is expected
