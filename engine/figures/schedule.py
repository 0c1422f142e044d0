"""A second opinion on work time: a printed work/rest schedule by adjusted air temperature.

It is stricter than the WBGT limits in dry heat and laxer in humid air, so the smaller of the
two answers is shown. It adjusts the air temperature for sun and humidity; a heat index, which
has the humidity in it already, must not be put in.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from cartclock.engine.figures.bounds import AIR_F, RH, Bound, check

SunCover = Literal["full sun", "cloud", "shade"]

SUN_ADDS_F: dict[SunCover, float] = {"full sun": 13.0, "cloud": 7.0, "shade": 0.0}
"""Added to the air temperature; "cloud" is partly cloudy or overcast, "shade" also night.

Source: NIOSH 2016-106, notes to table 6-2; read second-hand."""

HUMIDITY_ADDS_F: tuple[tuple[float, float], ...] = (
    (10.0, -8.0),
    (20.0, -4.0),
    (30.0, 0.0),
    (40.0, 3.0),
    (50.0, 6.0),
    (60.0, 9.0),
)
"""(relative humidity in percent, added to the air temperature).

Source: NIOSH 2016-106, notes to table 6-2; read second-hand."""

FIRST_ROW_F = 90
_LIGHT = (*(60,) * 16, 45, 40, 35, 30, 15)
_MODERATE = (*(60,) * 10, 45, 40, 35, 30, 30, 25, 20, 15)
_HEAVY = (*(60,) * 5, 45, 45, 40, 35, 35, 30, 30, 25, 20, 20, 15)
_COLUMNS: dict[str, tuple[int, ...]] = {
    "rest": _LIGHT,
    "light": _LIGHT,
    "moderate": _MODERATE,
    "heavy": _HEAVY,
}

# 36.1 C is 96.98 F, but 35 C made by arithmetic may be a hair over 95 F.
_ROW_SLACK_F = 1e-6
# Coldest and hottest air with the least and the most that can be added.
_ADJUSTED_F = Bound("adjusted_air_f", AIR_F.low - 8.0, AIR_F.high + 22.0, "F")


class AdjustedAir(NamedTuple):
    """An air temperature as the schedule wants it.

    air_f: adjusted for sun and humidity, in F.
    outside_table: the humidity was above the last row and counted as 60 %, so the answer is
        too lax and is shown with that remark.
    """

    air_f: float
    outside_table: bool


def _humidity_add_f(rh: float) -> float:
    last_rh, last_f = HUMIDITY_ADDS_F[0]
    for row_rh, row_f in HUMIDITY_ADDS_F:
        if rh <= row_rh:
            if row_rh == last_rh:
                return row_f
            return last_f + (row_f - last_f) * (rh - last_rh) / (row_rh - last_rh)
        last_rh, last_f = row_rh, row_f
    return last_f


def adjusted_air_f(air_f: float, rh: float, sun: SunCover) -> AdjustedAir:
    """Air temperature adjusted for sun and humidity, in F, for `niosh_table_minutes`.

    air_f: air temperature, -40 to 140 F; never a heat index. rh: 1 to 100 %. sun: one of
    `SUN_ADDS_F`.

    Between two printed humidities the addition is drawn straight; under 10 % it stays at
    that of 10 %, over 60 % at that of 60 %, and the latter is flagged.

    Raises ValueError naming the argument that is not a number, out of range or unknown.

    Source: NIOSH 2016-106, notes to table 6-2, read second-hand; between and beyond the
    printed humidities our own judgement.
    """
    check(air_f, AIR_F)
    check(rh, RH)
    if sun not in SUN_ADDS_F:
        raise ValueError(f"sun: {sun!r} is none of {', '.join(SUN_ADDS_F)}")
    add_f = SUN_ADDS_F[sun] + _humidity_add_f(rh)
    return AdjustedAir(air_f + add_f, outside_table=rh > HUMIDITY_ADDS_F[-1][0])


def niosh_table_minutes(adjusted_air_f: float, effort: str) -> int | None:
    """Minutes of work in the hour by the printed schedule; None where it says "caution".

    adjusted_air_f: from the function of that name, -48 to 162 F. effort: "light", "moderate"
    or "heavy"; "rest", which has no column, is read in that of light work.

    60 below the first row of 90 F; None also above the last row. Temperatures between two
    rows are read in the hotter one: our own judgement. None means that the schedule gives no
    work time: the work is put off or moved.

    Raises ValueError naming the argument that is not a number, out of range or unknown.

    Source: NIOSH 2016-106, table 6-2; read in the issuing body's text.
    """
    check(adjusted_air_f, _ADJUSTED_F)
    if effort not in _COLUMNS:
        raise ValueError(f"effort: {effort!r} is none of {', '.join(_COLUMNS)}")
    minutes = _COLUMNS[effort]
    row = max(0, math.ceil(adjusted_air_f - _ROW_SLACK_F) - FIRST_ROW_F)
    return minutes[row] if row < len(minutes) else None
