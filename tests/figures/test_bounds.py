"""Impossible input stops every figure and the refusal names the argument."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures import air, body, bounds, heat, sun

AIR = {"air_c": 30.0, "rh": 50.0}
AIR_F = {"air_f": 90.0, "rh": 50.0}
DRAUGHT = {**AIR, "air_speed": 0.1}
SKY = {**DRAUGHT, "solar_wm2": 500.0, "beam_share": 0.5, "cos_zenith": 0.6}

# Figure, an input it takes, and for each argument a value just beyond either end.
FIGURES: list[tuple[Callable[..., object], dict[str, Any], dict[str, tuple[float, float]]]] = [
    (air.saturation_pa, {"air_c": 30.0}, {"air_c": (-40.1, 60.1)}),
    (air.dew_point_c, AIR, {"air_c": (-40.1, 60.1), "rh": (0.9, 100.1)}),
    (
        air.wet_bulb_c,
        {**AIR, "pressure_pa": 101_325.0},
        {"air_c": (-40.1, 60.1), "rh": (0.0, 100.1), "pressure_pa": (1013.25, 110_001.0)},
    ),
    (
        air.dew_margin_k,
        {**AIR, "panel_c": 20.0},
        {"air_c": (-40.1, 60.1), "rh": (-1.0, 101.0), "panel_c": (-41.0, 121.0)},
    ),
    (
        air.panel_rh,
        {**AIR, "panel_c": 20.0},
        {"air_c": (-40.1, 60.1), "rh": (-1.0, 101.0), "panel_c": (-41.0, 121.0)},
    ),
    (heat.rothfusz_f, AIR_F, {"air_f": (-40.1, 140.1), "rh": (0.9, 100.1)}),
    (heat.steadman_f, AIR_F, {"air_f": (-40.1, 140.1), "rh": (0.9, 100.1)}),
    (heat.heat_index_f, AIR_F, {"air_f": (-40.1, 140.1), "rh": (0.9, 100.1)}),
    (heat.trigger_f, AIR_F, {"air_f": (-40.1, 140.1), "rh": (0.9, 100.1)}),
    (heat.heat_index_reads_low, AIR_F, {"air_f": (-40.1, 140.1), "rh": (0.9, 100.1)}),
    (heat.heat_index_bin, {"index_f": 90.0}, {"index_f": (-61.0, 137.1)}),
    (
        heat.natural_wet_bulb_c,
        {**DRAUGHT, "globe_c": 35.0},
        {
            "air_c": (-41.0, 61.0),
            "rh": (0.0, 101.0),
            "air_speed": (-0.1, 21.0),
            "globe_c": (-41.0, 121.0),
        },
    ),
    (
        heat.wbgt_no_sun_c,
        {**DRAUGHT, "globe_c": 35.0},
        {
            "air_c": (-41.0, 61.0),
            "rh": (0.0, 101.0),
            "air_speed": (-0.1, 21.0),
            "globe_c": (-41.0, 121.0),
        },
    ),
    *(
        (
            figure,
            SKY,
            {
                "air_c": (-41.0, 61.0),
                "rh": (0.0, 101.0),
                "air_speed": (-0.1, 21.0),
                "solar_wm2": (-1.0, 1401.0),
                "beam_share": (-0.1, 1.1),
                "cos_zenith": (-0.1, 1.1),
            },
        )
        for figure in (heat.wbgt_sun_c, sun.sensors_c)
    ),
    (heat.ral_c, {"watts_total": 300.0}, {"watts_total": (99.0, 601.0)}),
    (heat.rel_c, {"watts_total": 300.0}, {"watts_total": (99.0, 601.0)}),
    (
        heat.work_minutes_per_hour,
        {
            "wbgt_work_c": 28.0,
            "wbgt_rest_c": 24.0,
            "watts_work": 300.0,
            "watts_rest": 115.0,
            "acclimatized": True,
        },
        {
            "wbgt_work_c": (-51.0, 91.0),
            "wbgt_rest_c": (-51.0, 91.0),
            "watts_work": (99.0, 601.0),
            "watts_rest": (99.0, 601.0),
        },
    ),
    (heat.limit_verdict, {"margin_c": 1.0, "acclimatized": True}, {"margin_c": (-151.0, 151.0)}),
    (
        heat.adjusted_air_f,
        {**AIR_F, "sun": "shade"},
        {"air_f": (-41.0, 141.0), "rh": (0.0, 101.0)},
    ),
    (
        heat.niosh_table_minutes,
        {"adjusted_air_f": 100.0, "effort": "light"},
        {"adjusted_air_f": (-49.0, 163.0)},
    ),
    (
        body.vibration_hours,
        {"a_ms2": 5.0, "target_ms2": 2.5},
        {"a_ms2": (-1.0, 101.0), "target_ms2": (-1.0, 101.0)},
    ),
    (body.noise_hours, {"dba": 85.0}, {"dba": (-1.0, 141.0)}),
]

CASES = [
    pytest.param(figure, taken, name, value, id=f"{figure.__name__} {name}={value}")
    for figure, taken, ends in FIGURES
    for name, beyond in ends.items()
    for value in (math.nan, math.inf, -math.inf, *beyond)
]
SPELLS = [
    pytest.param(figure, spell, name, id=f"{figure.__name__} {spell}")
    for figure, level, high in (
        (body.vibration_a8, "a_ms2", 101.0),
        (body.vibration_points, "a_ms2", 101.0),
        (body.noise_dose, "dba", 141.0),
        (body.noise_lex_8h, "dba", 141.0),
    )
    for spell, name in (
        ((math.nan, 1.0), level),
        ((math.inf, 1.0), level),
        ((-1.0, 1.0), level),
        ((high, 1.0), level),
        ((5.0, math.nan), "hours"),
        ((5.0, math.inf), "hours"),
        ((5.0, -0.1), "hours"),
        ((5.0, 24.1), "hours"),
    )
]


@pytest.mark.parametrize(
    ("figure", "taken"), [row[:2] for row in FIGURES], ids=lambda v: getattr(v, "__name__", "")
)
def test_the_input_beside_the_impossible_one_is_taken(
    figure: Callable[..., object], taken: dict[str, Any]
) -> None:
    figure(**taken)


@pytest.mark.parametrize(("figure", "taken", "name", "value"), CASES)
def test_impossible_input_is_refused_by_name(
    figure: Callable[..., object], taken: dict[str, Any], name: str, value: float
) -> None:
    with pytest.raises(ValueError, match=rf"^{name}: "):
        figure(**{**taken, name: value})


@pytest.mark.parametrize(("figure", "spell", "name"), SPELLS)
def test_impossible_spells_are_refused_by_name(
    figure: Callable[..., object], spell: tuple[float, float], name: str
) -> None:
    with pytest.raises(ValueError, match=rf"^{name}: "):
        figure([(3.0, 1.0), spell])


@pytest.mark.parametrize(
    ("figure", "taken", "name"),
    [
        (heat.class_watts, {"effort": "idle"}, "effort"),
        (heat.niosh_table_minutes, {"adjusted_air_f": 95.0, "effort": "very heavy"}, "effort"),
        (heat.adjusted_air_f, {"air_f": 95.0, "rh": 30.0, "sun": "moonlight"}, "sun"),
    ],
)
def test_unknown_words_are_refused_by_name(
    figure: Callable[..., object], taken: dict[str, Any], name: str
) -> None:
    with pytest.raises(ValueError, match=rf"^{name}: "):
        figure(**taken)


@given(st.floats(allow_nan=True, allow_infinity=True))
def test_check_takes_exactly_what_lies_in_the_range(value: float) -> None:
    if bounds.RH.low <= value <= bounds.RH.high:
        bounds.check(value, bounds.RH)
    else:
        with pytest.raises(ValueError, match=r"^rh: "):
            bounds.check(value, bounds.RH)
