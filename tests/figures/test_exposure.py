"""Vibration of the hands, noise at the ears, and days in the heat."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures import body
from cartclock.engine.figures.body import (
    hot_time_percent,
    noise_dose,
    noise_hours,
    noise_lex_8h,
    vibration_a8,
    vibration_hours,
    vibration_points,
)
from tests.figures.check_values import numbers, rows, spells

ONE_TOOL = rows("vibration")
SEVERAL = rows("vibration_several")
DOSES = rows("noise_dose")
NIOSH_TIMES = [row for row in rows("noise_durations_niosh") if row["source"].startswith("NIOSH")]
PUBLISHED_LEX = "published: SCENIHR table 3; LEX,8h"
LEX = numbers("noise_lex8h_scenihr", PUBLISHED_LEX, "level", "hours", "formula LEX,8h")

SPELL = st.tuples(st.floats(0.0, 100.0), st.floats(0.0, 4.0))


@pytest.mark.parametrize(
    "row",
    ONE_TOOL,
    ids=[
        f"2002/44/EC A(8), HSE points: {row['a_hv m/s2']} m/s2 {row['trigger h']} h "
        f"({row['source/remark'] or 'computed'})"
        for row in ONE_TOOL
    ],
)
def test_one_tool(row: dict[str, str]) -> None:
    a_ms2, hours = float(row["a_hv m/s2"]), float(row["trigger h"])
    items = [(a_ms2, hours)]
    assert vibration_a8(items) == pytest.approx(float(row["A(8)"]), abs=1e-4)
    assert vibration_points(items) == pytest.approx(float(row["HSE points"]), abs=1e-9)
    for target, column in (
        (body.VIBRATION_ACTION_MS2, "h to 2.5"),
        (body.VIBRATION_LIMIT_MS2, "h to 5"),
    ):
        assert vibration_hours(a_ms2, target) == pytest.approx(float(row[column]), abs=1e-4)


@pytest.mark.parametrize(
    "row",
    SEVERAL,
    ids=[f"2002/44/EC A(8), HSE points: {row['items a:h;...']}" for row in SEVERAL],
)
def test_several_tools(row: dict[str, str]) -> None:
    items = spells(row["items a:h;..."])
    assert vibration_a8(items) == pytest.approx(float(row["A(8)"]), abs=1e-4)
    assert vibration_points(items) == pytest.approx(float(row["points"]), abs=0.005)
    assert vibration_points(items) == pytest.approx(sum(vibration_points([i]) for i in items))


def test_daily_values_2002_44_ec_and_hse_points() -> None:
    full_day = [(body.VIBRATION_ACTION_MS2, 8.0)]
    assert vibration_a8(full_day) == 2.5
    assert vibration_points(full_day) == body.VIBRATION_ACTION_POINTS == 100.0
    assert vibration_points([(5.0, 8.0)]) == body.VIBRATION_LIMIT_POINTS == 400.0
    assert vibration_a8([]) == vibration_points([]) == 0.0
    assert vibration_hours(0.0, 2.5) == math.inf


@pytest.mark.parametrize(
    "row",
    NIOSH_TIMES,
    ids=[f"NIOSH REL for noise, {row['source']}: {row['level dBA']} dBA" for row in NIOSH_TIMES],
)
def test_hours_at_a_level(row: dict[str, str]) -> None:
    level, hours = float(row["level dBA"]), float(row["published hours"])
    assert noise_hours(level) == pytest.approx(hours, abs=1e-9)
    assert noise_dose([(level, hours)]) == pytest.approx(100.0, abs=1e-9)


@pytest.mark.parametrize(
    "row", DOSES, ids=[f"NIOSH REL for noise, computed: {row['items dBA:h;...']}" for row in DOSES]
)
def test_dose(row: dict[str, str]) -> None:
    items = spells(row["items dBA:h;..."])
    assert noise_dose(items) == pytest.approx(float(row["NIOSH dose %"]), abs=0.001)
    assert noise_lex_8h(items) == pytest.approx(float(row["LEX,8h"]), abs=0.001)


@pytest.mark.parametrize(
    ("published", "level", "hours", "formula"),
    LEX,
    ids=[f"SCENIHR table 3: {row[1]:g} dBA {row[2]:g} h" for row in LEX],
)
def test_daily_level(published: float, level: float, hours: float, formula: float) -> None:
    found = noise_lex_8h([(level, hours)])
    assert found == pytest.approx(formula, abs=0.001)
    assert found is not None
    assert round(found) == published


def test_daily_values_of_noise_eu_80_85_87() -> None:
    assert noise_lex_8h([(body.NOISE_LOWER_ACTION_DBA, 8.0)]) == pytest.approx(80.0)
    assert noise_lex_8h([(body.NOISE_LIMIT_DBA, 8.0)]) == pytest.approx(87.0)
    assert body.NOISE_UPPER_ACTION_DBA == body.NOISE_CRITERION_DBA == 85.0
    assert noise_lex_8h([]) is None
    assert noise_dose([]) == 0.0


@given(items=st.lists(SPELL, max_size=5), extra=SPELL)
def test_another_spell_never_takes_exposure_away(
    items: list[tuple[float, float]], extra: tuple[float, float]
) -> None:
    more = [*items, extra]
    assert vibration_a8(more) >= vibration_a8(items)
    assert noise_dose(more) >= noise_dose(items)
    assert vibration_points(iter(more)) == pytest.approx(vibration_points(more))


@pytest.mark.parametrize("figure", [vibration_a8, vibration_points, noise_dose, noise_lex_8h])
def test_more_than_a_day_is_refused(figure: object) -> None:
    assert callable(figure)
    figure([(3.0, 12.0), (3.0, 12.0)])
    with pytest.raises(ValueError, match="hours"):
        figure([(3.0, 12.0), (3.0, 12.1)])


@pytest.mark.parametrize(
    ("day", "new", "percent"),
    [
        (1, True, 20),
        (2, True, 40),
        (3, True, 60),
        (4, True, 80),
        (5, True, 100),
        (30, True, 100),
        (1, False, 50),
        (2, False, 60),
        (3, False, 80),
        (4, False, 100),
        (5, False, 100),
    ],
    ids=lambda value: f"NIOSH acclimatization schedule: {value}",
)
def test_hot_time_by_day(day: int, new: bool, percent: int) -> None:
    assert hot_time_percent(day, new) == percent


def test_drinks_niosh_2017_126() -> None:
    # A cup of 8 US fl oz every 15 to 20 minutes, never over 48 oz in an hour.
    assert (body.DRINK_ML, body.MOST_DRINK_ML_PER_HOUR) == (240.0, 1400.0)
    assert body.DRINK_EVERY_MINUTES == (15.0, 20.0)
    assert body.DRINK_ML * 60.0 / min(body.DRINK_EVERY_MINUTES) < body.MOST_DRINK_ML_PER_HOUR


def test_there_is_no_day_nought() -> None:
    with pytest.raises(ValueError, match="day"):
        hot_time_percent(0, True)
