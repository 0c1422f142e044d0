"""The air of a day by the hour, from a forecast, a reading, or a table of hours.

It plans and judges nobody: a garage lags behind the air outdoors, a tin one runs ahead of it.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cartclock.engine.figures.air import TemperatureUnit, apart_in_unit, dew_point_c, in_unit
from cartclock.engine.figures.bounds import AIR_C
from cartclock.engine.figures.day_curve import air_at_c, change_c, rh_at

HOURS_A_DAY = 24


class AirHour(Struct, frozen=True):
    """The air of one hour: C, percent, C."""

    air_c: float
    rh: float
    dew_c: float


class Weather(Struct, frozen=True):
    """The air of a day.

    Fields:
        hours: 24, from midnight on, by the clock of the place.
        said: what it is made from, in words.
    """

    hours: tuple[AirHour, ...]
    said: str


def like_forecast(unit: TemperatureUnit) -> str:
    """Low, high and dew point of a hot day, as they are typed in a unit: invented."""
    return " ".join(f"{in_unit(one_c, unit):.0f}" for one_c in (22.0, 37.0, 19.0))


def by_forecast(
    low_c: float,
    high_c: float,
    dew_c: float,
    over_c: float = 0.0,
    unit: TemperatureUnit = "C",
) -> Weather:
    """A day between two temperatures at one dew point.

    Args:
        low_c, high_c, dew_c: as `air_at_c` and `rh_at` take them.
        over_c: by how much this place is warmer than its forecast says, as measured; C.
        unit: in which it is said.

    Raises ValueError naming what is out of range. Source: `engine.figures.day_curve`.
    """
    hours = [_hour(air_at_c(hour, low_c, high_c) + over_c, dew_c) for hour in range(HOURS_A_DAY)]
    low, high, dew = (f"{round(in_unit(one, unit), 1):g}" for one in (low_c, high_c, dew_c))
    said = f"Planning curve {low} to {high} {unit}, dew point {dew} {unit}"
    return Weather(tuple(hours), said + _shifted(over_c, unit))


def by_reading(
    air_c: float,
    rh: float,
    hour: float,
    range_c: float,
    at: str,
    unit: TemperatureUnit = "C",
) -> Weather:
    """A day on which this was read, carried on by the shape of a day at one dew point.

    Args:
        hour: when it was read, 0 to 24; `at` the same as a clock says it.
        range_c: from the low to the high of such a day.
        unit: in which it is said.

    Raises ValueError like `by_forecast`.
    """
    dew_c = dew_point_c(air_c, rh)
    hours = [
        _hour(air_c + change_c(hour, other, 0.0, range_c), dew_c) for other in range(HOURS_A_DAY)
    ]
    air, dew = f"{round(in_unit(air_c, unit), 1):g} {unit}", f"{in_unit(dew_c, unit):.0f} {unit}"
    said = f"Planning curve through {air} and {rh:g} % read at {at}, dew point {dew}"
    return Weather(tuple(hours), said)


def by_table(
    known: Mapping[int, tuple[float, float]],
    name: str,
) -> Weather:
    """A day of which some hours are told.

    Args:
        known: hour (0 to 23) -> air in C and dew point in C; at least one. What lies between two
            is taken from a straight line, what lies beyond the first or the last as that one.
        name: of the table.
    """
    told = sorted(known)
    hours = []
    for hour in range(HOURS_A_DAY):
        before = max((one for one in told if one <= hour), default=told[0])
        after = min((one for one in told if one >= hour), default=told[-1])
        share = 0.0 if after <= before else (hour - before) / (after - before)
        air_c, dew_c = (
            low + share * (high - low)
            for low, high in zip(known[before], known[after], strict=True)
        )
        hours.append(_hour(air_c, dew_c))
    beyond = ""
    if told[0] > 0 or told[-1] < HOURS_A_DAY - 1:
        beyond = f", which tells {told[0]:02}:00 to {told[-1]:02}:00; the rest as at its ends"
    return Weather(tuple(hours), f"Hours of {name}{beyond}")


def _hour(air_c: float, dew_c: float) -> AirHour:
    """Air is never under its dew point: what is too much has fallen."""
    inside_c = min(max(air_c, AIR_C.low), AIR_C.high)
    fallen_c = min(dew_c, inside_c)
    return AirHour(inside_c, rh_at(inside_c, fallen_c), fallen_c)


def _shifted(over_c: float, unit: TemperatureUnit) -> str:
    if abs(over_c) < 0.05:
        return ""
    side = "over" if over_c > 0 else "under"
    return f", this place {apart_in_unit(abs(over_c), unit):.1f} {unit} {side} it as read today"
