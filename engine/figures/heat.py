"""The heat index, and the one door to everything that says how hot the work is.

The heat index speaks of a person walking in the shade. It is shown because weather services
print it and proposed rules name it; work time comes from the WBGT. Every figure of heat is a
screening estimate: symptoms come before numbers, and none of it was compared with a meter
standing in a garage.
"""

from __future__ import annotations

import math
from typing import Literal

from cartclock.engine.figures.air import celsius, dew_point_c
from cartclock.engine.figures.bounds import AIR_F, RH, Bound, check
from cartclock.engine.figures.limits import (
    CLASS_WATTS,
    CLOTHING_C,
    class_watts,
    limit_verdict,
    ral_c,
    rel_c,
    work_minutes_per_hour,
)
from cartclock.engine.figures.schedule import AdjustedAir, adjusted_air_f, niosh_table_minutes
from cartclock.engine.figures.sun import wbgt_sun_c
from cartclock.engine.figures.wbgt import natural_wet_bulb_c, wbgt_no_sun_c

__all__ = [
    "CLASS_WATTS",
    "CLOTHING_C",
    "AdjustedAir",
    "HeatIndexBin",
    "adjusted_air_f",
    "class_watts",
    "heat_index_bin",
    "heat_index_f",
    "heat_index_reads_low",
    "limit_verdict",
    "natural_wet_bulb_c",
    "niosh_table_minutes",
    "ral_c",
    "rel_c",
    "rothfusz_f",
    "steadman_f",
    "trigger_f",
    "wbgt_no_sun_c",
    "wbgt_sun_c",
    "work_minutes_per_hour",
]

HeatIndexBin = Literal["none", "caution", "extreme caution", "danger", "extreme danger"]

REGRESSION_FROM_F = 80.0
PLAIN_AIR_F = 40.0
HIGHEST_AIR_F = 112.0
HIGHEST_INDEX_F = 137.0
"""Ends of the table: beyond either there is no number, only extreme danger.

Source: the published chart's own edge; our own judgement that nothing is read beyond it."""

BIN_FLOORS_F: tuple[tuple[float, HeatIndexBin], ...] = (
    (125.0, "extreme danger"),
    (103.0, "danger"),
    (90.0, "extreme caution"),
    (80.0, "caution"),
)
"""Lowest heat index of each class. Source: US National Weather Service; read second-hand."""

LOW_DEW_POINT_C = 23.0
LOW_INDEX_F = 97.0
LOW_ABOVE_F = 125.0
"""Where the regression reads low and the index is only a floor.

Source: Lu and Romps 2022, Journal of Applied Meteorology and Climatology 61(10), read in the
issuing body's text, shows that it does; these three thresholds are our own judgement."""

# Any index the chart prints or a frosty morning gives.
_INDEX_F = Bound("index_f", -60.0, HIGHEST_INDEX_F, "F")


def rothfusz_f(air_f: float, rh: float) -> float:
    """The bare nine-term regression of the heat index, in F, without its adjustments.

    air_f: -40 to 140 F, meant for 80 to 112. rh: 1 to 100 %. This is what the published chart
    prints; for a person's day use `heat_index_f`.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: US National Weather Service, Weather Prediction Center, heat index equation page;
    read in the issuing body's text.
    """
    check(air_f, AIR_F)
    check(rh, RH)
    return (
        -42.379
        + 2.04901523 * air_f
        + 10.14333127 * rh
        - 0.22475541 * air_f * rh
        - 6.83783e-3 * air_f**2
        - 5.481717e-2 * rh**2
        + 1.22874e-3 * air_f**2 * rh
        + 8.5282e-4 * air_f * rh**2
        - 1.99e-6 * air_f**2 * rh**2
    )


def steadman_f(air_f: float, rh: float) -> float:
    """The simple index in F, already averaged with the air temperature.

    air_f: -40 to 140 F. rh: 1 to 100 %. Under 80 F it is the heat index.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: the same page as `rothfusz_f`; read in the issuing body's text.
    """
    check(air_f, AIR_F)
    check(rh, RH)
    return 0.5 * (air_f + 61.0 + (air_f - 68.0) * 1.2 + 0.094 * rh)


def _adjustment_f(air_f: float, rh: float) -> float:
    if rh < 13.0 and 80.0 <= air_f <= 112.0:
        return -(13.0 - rh) / 4.0 * math.sqrt((17.0 - abs(air_f - 95.0)) / 17.0)
    if rh > 85.0 and 80.0 <= air_f <= 87.0:
        return (rh - 85.0) / 10.0 * (87.0 - air_f) / 5.0
    return 0.0


def heat_index_f(air_f: float, rh: float) -> float | None:
    """Heat index in F, in the shade; None where it is off the table: extreme danger.

    air_f: -40 to 140 F; up to 40 F the index is the air temperature. rh: 1 to 100 %.

    Off the table is air over 112 F or an index over 137 F. The index jumps where the simple
    one reaches 80 F, so what sets off a reminder is `trigger_f`.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: US National Weather Service, Weather Prediction Center, heat index equation page,
    read in the issuing body's text; the two ends are our own judgement.
    """
    check(air_f, AIR_F)
    check(rh, RH)
    if air_f > HIGHEST_AIR_F:
        return None
    if air_f <= PLAIN_AIR_F:
        return air_f
    simple = steadman_f(air_f, rh)
    if simple < REGRESSION_FROM_F:
        return simple
    index = rothfusz_f(air_f, rh) + _adjustment_f(air_f, rh)
    return index if index <= HIGHEST_INDEX_F else None


def trigger_f(air_f: float, rh: float) -> float | None:
    """The larger of the simple index and the heat index, in F; None off the table.

    Arguments, errors and source as for `heat_index_f`. Taking the larger is our own
    judgement: in dry air the index drops by up to 1.8 F where the regression takes over, and
    a reminder must not go away because it got hotter.
    """
    index = heat_index_f(air_f, rh)
    return None if index is None else max(steadman_f(air_f, rh), index)


def heat_index_bin(index_f: float | None) -> HeatIndexBin:
    """Class of a heat index; "none" under 80 F, "extreme danger" for None (off the table).

    index_f: -60 to 137 F.

    Raises ValueError naming `index_f` out of range or not a number.

    Source: US National Weather Service classes; read second-hand.
    """
    if index_f is None:
        return "extreme danger"
    check(index_f, _INDEX_F)
    for floor_f, name in BIN_FLOORS_F:
        if index_f >= floor_f:
            return name
    return "none"


def heat_index_reads_low(air_f: float, rh: float) -> bool:
    """Whether the index is to be printed as "at least N", with the WBGT deciding.

    Arguments and errors as for `heat_index_f`. True for a dew point of 23 C or more together
    with an index of 97 F or more, for an index over 125 F, and off the table.

    Source: Lu and Romps 2022, read in the issuing body's text; the thresholds are our own
    judgement.
    """
    index = heat_index_f(air_f, rh)
    if index is None or index > LOW_ABOVE_F:
        return True
    return index >= LOW_INDEX_F and dew_point_c(celsius(air_f), rh) >= LOW_DEW_POINT_C
