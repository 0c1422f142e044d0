"""The planning curve of a day against published fractions and another library's humidity."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.air import dew_point_c
from cartclock.engine.figures.day_curve import air_at_c, change_c, rh_at
from tests.figures.check_values import numbers

ROWS = numbers("day_curve", "tmax", "tmin", "td", "hour", "T_ashrae", "RH_ashrae")
ASHRAE = "ASHRAE fractions of the daily range, read second-hand"
# The table's saturation formula is not ours.
FORMULAS_APART_RH = 0.1
LOW, HIGH = st.floats(-40.0, 60.0), st.floats(-40.0, 60.0)
HOURS = st.floats(0.0, 24.0)


@pytest.mark.parametrize(
    "row", ROWS, ids=[f"{ASHRAE}, {r[1]:g} to {r[0]:g} C, hour {r[3]:g}" for r in ROWS]
)
def test_every_hour_of_the_table(row: tuple[float, ...]) -> None:
    high_c, low_c, dew_c, hour, air_c, rh = row
    assert air_at_c(hour, low_c, high_c) == pytest.approx(air_c, abs=1e-9)
    assert rh_at(air_c, dew_c) == pytest.approx(rh, abs=FORMULAS_APART_RH)


def test_the_table_holds_three_whole_days() -> None:
    days = {row[:3] for row in ROWS}
    assert len(days) == 3
    assert all([row[3] for row in ROWS if row[:3] == day] == list(range(1, 25)) for day in days)


def test_low_at_five_high_at_two_and_three_midnight_twice() -> None:
    assert air_at_c(5, 9.0, 21.0) == 9.0
    assert air_at_c(14, 9.0, 21.0) == air_at_c(15, 9.0, 21.0) == 21.0
    assert air_at_c(0, 9.0, 21.0) == air_at_c(24, 9.0, 21.0) == pytest.approx(21 - 0.82 * 12)


def test_between_hours_the_line_is_straight() -> None:
    """Worked by hand: 8 h .74, 9 h .55 of a range of 10."""
    assert air_at_c(8.5, 10.0, 20.0) == pytest.approx(20 - 6.45)
    assert change_c(8, 9, 10.0, 20.0) == pytest.approx(1.9)
    assert change_c(9, 8, 10.0, 20.0) == pytest.approx(-1.9)


@given(hour=HOURS, one=LOW, other=HIGH)
def test_never_outside_low_and_high(hour: float, one: float, other: float) -> None:
    low_c, high_c = sorted((one, other))
    assert low_c - 1e-9 <= air_at_c(hour, low_c, high_c) <= high_c + 1e-9


@given(air_c=st.floats(-30.0, 60.0), rh=st.floats(5.0, 100.0))
def test_humidity_and_dew_point_are_each_others_inverse(air_c: float, rh: float) -> None:
    dew_c = dew_point_c(air_c, rh)
    if dew_c >= -40.0:
        assert rh_at(air_c, dew_c) == pytest.approx(rh, abs=1e-3)


def test_air_under_the_dew_point_is_full_and_the_driest_is_one_percent() -> None:
    assert rh_at(10.0, 12.0) == 100.0
    assert rh_at(60.0, -40.0) == 1.0


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ((-0.1, 5.0, 20.0), "hour"),
        ((24.1, 5.0, 20.0), "hour"),
        ((math.nan, 5.0, 20.0), "hour"),
        ((8.0, -41.0, 20.0), "low_c"),
        ((8.0, 5.0, 61.0), "high_c"),
        ((8.0, 20.5, 20.0), "low_c"),
    ],
)
def test_a_day_that_cannot_be_is_refused_by_name(
    values: tuple[float, float, float], name: str
) -> None:
    with pytest.raises(ValueError, match=f"^{name}: "):
        air_at_c(*values)


@pytest.mark.parametrize(("air_c", "dew_c", "name"), [(61.0, 5.0, "air_c"), (20.0, 61.0, "dew_c")])
def test_air_that_cannot_be_is_refused_by_name(air_c: float, dew_c: float, name: str) -> None:
    with pytest.raises(ValueError, match=f"^{name}: "):
        rh_at(air_c, dew_c)
