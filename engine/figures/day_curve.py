"""The planning curve of a day: air temperature and humidity by hour, from a low and a high.

A forecast gives two temperatures; a worker who was told "too damp" wants to know when to look
again. The curve says about when, never that it is so: an unheated garage lags behind the air
outdoors, a glazed or tin one runs ahead of it. So it plans the next reading and judges nothing.
"""

from __future__ import annotations

from cartclock.engine.figures.air import saturation_pa
from cartclock.engine.figures.bounds import AIR_C, RH, Bound, check

HOUR_OF_DAY = Bound("hour", 0.0, 24.0, "h")
"""Hour on the clock of the place, fractions allowed; 0 and 24 are both midnight."""

_FRACTIONS = (
    *(0.88, 0.92, 0.95, 0.98, 1.0, 0.98, 0.91, 0.74, 0.55, 0.38, 0.23, 0.13),
    *(0.05, 0.0, 0.0, 0.06, 0.14, 0.24, 0.39, 0.50, 0.59, 0.68, 0.75, 0.82),
)


def _fraction(hour: float) -> float:
    """Share of the daily range below the high, straight lines between whole hours."""
    whole = int(hour)
    before, after = (_FRACTIONS[(at - 1) % 24] for at in (whole, whole + 1))
    return before + (hour - whole) * (after - before)


def air_at_c(hour: float, low_c: float, high_c: float) -> float:
    """Air temperature in C at an hour of a day with this low and high.

    hour: 0 to 24, on the clock of the place. low_c, high_c: -40 to 60 C, the low not above
    the high. The low stands at 5, the high at 14 and 15; where the clocks are put forward in
    summer the day really runs up to an hour later.

    Raises ValueError naming the argument that is not a number or out of range, or `low_c`
    above the high.

    Source: ASHRAE fractions of the daily range, hour by hour, read second-hand (EnergyPlus
    documentation); straight lines between the hours: our own judgement.
    """
    check(hour, HOUR_OF_DAY)
    check(low_c, AIR_C.named("low_c"))
    check(high_c, AIR_C.named("high_c"))
    if low_c > high_c:
        raise ValueError(f"low_c: {low_c:g} is above high_c, {high_c:g}")
    return high_c - _fraction(hour) * (high_c - low_c)


def change_c(from_hour: float, to_hour: float, low_c: float, high_c: float) -> float:
    """By how many degrees C the air changes between two hours of such a day.

    Arguments and errors as for `air_at_c`. Added to a measured temperature it plans the same
    place later that day, without the difference between that place and the forecast's.

    Source as for `air_at_c`.
    """
    return air_at_c(to_hour, low_c, high_c) - air_at_c(from_hour, low_c, high_c)


def rh_at(air_c: float, dew_c: float) -> float:
    """Relative humidity in percent of air at this temperature with a dew point of `dew_c`.

    air_c, dew_c: -40 to 60 C. Air at or below the dew point has 100 %: what is too much has
    fallen as dew. Never under 1 %, the least that the other figures take.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: ASHRAE Handbook Fundamentals 2017, chapter 1, equations 5 and 6; read in an open
    library's source (psychrolib). A dew point that stays the same all day: the usual
    assumption of a planning curve, our own judgement.
    """
    check(air_c, AIR_C)
    check(dew_c, AIR_C.named("dew_c"))
    share = 100.0 * saturation_pa(dew_c) / saturation_pa(air_c)
    return max(RH.low, min(RH.high, share))
