"""How high the sun stands, and how much light a clear sky sends: for a worker without a meter.

Only the place and the instant go in. Clouds, haze, walls and roofs do not, so the light is
the most that a clear day gives.
"""

from __future__ import annotations

import datetime
import math

from cartclock.engine.figures.bounds import COS_ZENITH, LATITUDE, LONGITUDE, check
from cartclock.engine.times import Instant

CLEAR_WM2 = 1098.0
CLEAR_FADES = 0.059
"""Light of a clear sky on level ground under an overhead sun, and how a low sun loses it.

Source: Haurwitz 1945; read in an open library's source."""

# A sun lower than this sends no light worth counting; our own judgement.
_SUN_DOWN = 0.01


def cos_zenith(at_us: Instant, latitude: float, longitude: float) -> float:
    """Cosine of the sun's distance from overhead, -1 to 1; negative below the horizon.

    at_us: microseconds since 1970-01-01 UTC. latitude: -90 to 90 degrees, north positive.
    longitude: -180 to 180 degrees, east positive. Without refraction.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: NOAA, General Solar Position Calculations (fractional year, equation of time,
    declination, hour angle); read second-hand in a verbatim copy.
    """
    check(latitude, LATITUDE)
    check(longitude, LONGITUDE)
    epoch = datetime.datetime(1970, 1, 1, tzinfo=datetime.UTC)
    at = epoch + datetime.timedelta(microseconds=at_us)
    hours = at.hour + at.minute / 60 + (at.second + at.microsecond / 1e6) / 3600
    days = 366 if _leap(at.year) else 365
    turn = 2 * math.pi / days * (at.timetuple().tm_yday - 1 + (hours - 12) / 24)
    equation_minutes = 229.18 * (
        0.000075
        + 0.001868 * math.cos(turn)
        - 0.032077 * math.sin(turn)
        - 0.014615 * math.cos(2 * turn)
        - 0.040849 * math.sin(2 * turn)
    )
    declination = (
        0.006918
        - 0.399912 * math.cos(turn)
        + 0.070257 * math.sin(turn)
        - 0.006758 * math.cos(2 * turn)
        + 0.000907 * math.sin(2 * turn)
        - 0.002697 * math.cos(3 * turn)
        + 0.00148 * math.sin(3 * turn)
    )
    solar_minutes = hours * 60 + equation_minutes + 4 * longitude
    hour_angle = math.radians(solar_minutes / 4 - 180)
    place = math.radians(latitude)
    return math.sin(place) * math.sin(declination) + math.cos(place) * math.cos(
        declination
    ) * math.cos(hour_angle)


def _leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


def clear_sky_wm2(cos_sun: float) -> float:
    """Sun and sky on level ground under a clear sky, in W/m2, 0 to 1036.

    cos_sun: cosine of the sun's distance from overhead, 0 to 1.

    Raises ValueError if it is not a number or out of range.

    Source: `CLEAR_WM2`; Haurwitz 1945, read in an open library's source.
    """
    check(cos_sun, COS_ZENITH)
    if cos_sun <= _SUN_DOWN:
        return 0.0
    return CLEAR_WM2 * cos_sun * math.exp(-CLEAR_FADES / cos_sun)
