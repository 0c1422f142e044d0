"""Humid air: dew point, wet bulb, and how near a panel is to the dew.

One set of formulas serves everything that asks about humidity, so that two figures never
disagree about the same reading.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Literal

from cartclock.engine.figures.bounds import AIR_C, PANEL_C, PRESSURE_PA, RH, check

TemperatureUnit = Literal["C", "F"]

ZERO_C_K = 273.15
STANDARD_PRESSURE_PA = 101_325.0

TRIPLE_POINT_C = 0.01
"""Ice below, water above. The source writes 0 C, where its two curves do not quite meet."""

DEW_MARGIN_K = 3.0
"""A panel to be coated is at least this much above the dew point.

Source: practice of ISO 8502-4, ASTM D3276 and SSPC-PA 1, where it is also written 5 F; read
second-hand, in handbooks."""

PANEL_RH_STOP = 85.0
"""Relative humidity at the panel, in percent, above which nothing is coated.

Source: practice of ISO 8502-4, of which it is the other face; read second-hand."""

_WATER_TO_AIR_MASS = 0.621945
_HALVINGS = 60
# Lower than 1 % humidity at -40 C asks for, and the end of the curve over ice.
_LOWEST_DEW_C = -100.0
# ASHRAE's two curves, coefficients of 1/T, 1, T, T2, T3, T4, ln T, with T in kelvin and the
# natural logarithm of the pressure in pascal as the result.
_OVER_ICE = (
    -5.6745359e3,
    6.3925247,
    -9.677843e-3,
    6.2215701e-7,
    2.0747825e-9,
    -9.484024e-13,
    4.1635019,
)
_OVER_WATER = (
    -5.8002206e3,
    1.3914993,
    -4.8640239e-2,
    4.1764768e-5,
    -1.4452093e-8,
    0.0,
    6.5459673,
)


F_A_KELVIN = 1.8
"""Degrees Fahrenheit in a kelvin. Source: exact by definition."""


def fahrenheit(celsius_value: float) -> float:
    """A temperature in Fahrenheit, from Celsius. Source: exact by definition."""
    return celsius_value * F_A_KELVIN + 32.0


def celsius(fahrenheit_value: float) -> float:
    """A temperature in Celsius, from Fahrenheit. Source: exact by definition."""
    return (fahrenheit_value - 32.0) / F_A_KELVIN


def in_unit(value_c: float, unit: TemperatureUnit) -> float:
    """A temperature in C as it is in a unit. Source: exact by definition."""
    return fahrenheit(value_c) if unit == "F" else value_c


def bare_degrees(value_c: float, unit: TemperatureUnit) -> str:
    """A temperature in C as it was read or printed, without its unit: "21", "69.8".

    A tenth of a degree Fahrenheit is finer than any of what is read with. Source: common practice,
    no source.
    """
    return f"{value_c:g}" if unit == "C" else f"{round(in_unit(value_c, unit), 1):g}"


def full_degrees(value_c: float, unit: TemperatureUnit) -> str:
    """The same with it: "21 C", "69.8 F". Source as for `bare_degrees`."""
    return f"{bare_degrees(value_c, unit)} {unit}"


def apart_in_unit(apart_k: float, unit: TemperatureUnit) -> float:
    """How far two temperatures that are so many kelvins apart are apart in a unit: there is no
    zero to be moved. Source: exact by definition.
    """
    return apart_k * F_A_KELVIN if unit == "F" else apart_k


def root(rising: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses zero between two ends: by definition of bisection.

    Returns an end if the crossing lies beyond it. Halving never leaves the bracket and gives
    the same answer for the same input, which the ordering of work times relies on.
    """
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if rising(middle) > 0.0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def _ln_saturation(temperature_c: float) -> float:
    kelvin = temperature_c + ZERO_C_K
    inverse, one, first, second, third, fourth, ln_term = (
        _OVER_ICE if temperature_c <= TRIPLE_POINT_C else _OVER_WATER
    )
    series = one + kelvin * (first + kelvin * (second + kelvin * (third + kelvin * fourth)))
    return inverse / kelvin + series + ln_term * math.log(kelvin)


def saturation_pa(air_c: float) -> float:
    """Pressure of water vapour in saturated air, in pascal, over ice below 0.01 C.

    air_c: -40 to 60 C.

    Raises ValueError naming `air_c` out of range.

    Source: ASHRAE Handbook Fundamentals 2017, chapter 1, equations 5 and 6; read in an open
    library's source (psychrolib), which also moves the change of curves to the triple point.
    """
    check(air_c, AIR_C)
    return math.exp(_ln_saturation(air_c))


def dew_point_c(air_c: float, rh: float) -> float:
    """Dew point in C; below 0.01 C it is the frost point. Never above the air temperature.

    air_c: -40 to 60 C. rh: relative humidity, 1 to 100 %.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: ASHRAE Handbook Fundamentals 2017, chapter 1, equations 5 and 6 solved for the
    temperature; read in an open library's source (psychrolib).
    """
    check(air_c, AIR_C)
    check(rh, RH)
    wanted = _ln_saturation(air_c) + math.log(rh / 100.0)
    return root(lambda guess: _ln_saturation(guess) - wanted, _LOWEST_DEW_C, air_c)


def _humidity_ratio(vapour_pa: float, pressure_pa: float) -> float:
    return _WATER_TO_AIR_MASS * vapour_pa / (pressure_pa - vapour_pa)


# The same air is asked about in the sun, in the shade and for how far a reading may be off.
@lru_cache(maxsize=1024)
def wet_bulb_c(air_c: float, rh: float, pressure_pa: float = STANDARD_PRESSURE_PA) -> float:
    """Thermodynamic (psychrometric) wet bulb temperature in C.

    air_c: -40 to 60 C. rh: relative humidity, 1 to 100 %. pressure_pa: 60000 to 110000 Pa.

    The source's balances over ice and over water overlap just below 0 C: there the water one
    is taken as soon as it has an answer of 0 C or more, so the figure is single and rises with
    the humidity.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: ASHRAE Handbook Fundamentals 2017, chapter 1, equations 20, 33 and 35 solved for
    the wet bulb; read in an open library's source (psychrolib).
    """
    check(air_c, AIR_C)
    check(rh, RH)
    check(pressure_pa, PRESSURE_PA)
    wanted = _humidity_ratio(saturation_pa(air_c) * rh / 100.0, pressure_pa)

    def over_water(bulb_c: float) -> float:
        full = _humidity_ratio(math.exp(_ln_saturation(bulb_c)), pressure_pa)
        taken_up = (2501.0 - 2.326 * bulb_c) * full - 1.006 * (air_c - bulb_c)
        return taken_up / (2501.0 + 1.86 * air_c - 4.186 * bulb_c) - wanted

    def over_ice(bulb_c: float) -> float:
        full = _humidity_ratio(math.exp(_ln_saturation(bulb_c)), pressure_pa)
        taken_up = (2830.0 - 0.24 * bulb_c) * full - 1.006 * (air_c - bulb_c)
        return taken_up / (2830.0 + 1.86 * air_c - 2.1 * bulb_c) - wanted

    dew_c = dew_point_c(air_c, rh)
    if air_c >= 0.0:
        wet_c = root(over_water, dew_c, air_c)
        if wet_c >= 0.0:
            return wet_c
    return root(over_ice, dew_c, min(air_c, 0.0))


def dew_margin_k(panel_c: float, air_c: float, rh: float) -> float:
    """How far a panel is above the dew point, in kelvin; negative when dew forms on it.

    panel_c: -40 to 120 C, measured. air_c: -40 to 60 C. rh: 1 to 100 %. Compare with
    `DEW_MARGIN_K`.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: practice of ISO 8502-4; read second-hand.
    """
    check(panel_c, PANEL_C)
    return panel_c - dew_point_c(air_c, rh)


def panel_rh(panel_c: float, air_c: float, rh: float) -> float:
    """Relative humidity of the air at the panel's own temperature, in percent.

    Arguments and errors as for `dew_margin_k`; a panel below the dew point gives more than
    100. Compare with `PANEL_RH_STOP`.

    Source: ASHRAE Handbook Fundamentals 2017, chapter 1, equations 5, 6 and 22; read in an
    open library's source (psychrolib).
    """
    check(panel_c, PANEL_C)
    check(rh, RH)
    return rh * saturation_pa(air_c) / math.exp(_ln_saturation(panel_c))
