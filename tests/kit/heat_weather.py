"""Simulated weather of hot days, and what a worker's two instruments make of it.

Synthetic: air by the ASHRAE fractions of the daily range with a constant dew point, wind as a
sine, light by Haurwitz; readings every 40 to 70 minutes with errors of 0.3 C and 2 % humidity,
rounded as a pocket instrument rounds. Places and climates are invented.
"""

from __future__ import annotations

import datetime
import math
import random
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from cartclock.engine.body.budget import GUARD_F, RISE_C, RISE_F, Air
from cartclock.engine.figures.air import saturation_pa
from cartclock.engine.figures.daylight import clear_sky_wm2, cos_zenith
from cartclock.engine.figures.heat import adjusted_air_f, trigger_f, wbgt_no_sun_c, wbgt_sun_c
from cartclock.engine.figures.wbgt import OUTDOOR_SHADE_C

Place = Literal["indoors", "outdoor shade", "cloud", "sun"]

# ASHRAE fractions of the daily range by hour 1 to 24; read second-hand.
# fmt: off
_FRACTIONS = (
    0.88, 0.92, 0.95, 0.98, 1.0, 0.98, 0.91, 0.74, 0.55, 0.38, 0.23, 0.13,
    0.05, 0.0, 0.0, 0.06, 0.14, 0.24, 0.39, 0.50, 0.59, 0.68, 0.75, 0.82,
)
# fmt: on
FIRST, LAST = 7 * 60 + 30, 17 * 60 + 30
"""Clock of a simulated day, minutes since midnight."""


class Weather(Struct, frozen=True):
    """One invented climate.

    Fields:
        low_c, high_c, dew_c: air over the day, dew point.
        wind: mean at 2 m, m/s, outdoors; said_still: the worker says "still".
        light: share of a clear sky's light.
        roof_k: globe over the air indoors under a hot roof, which no reading knows.
        cool_room: rests in a room of 26 C and 50 %.
    """

    name: str
    place: Place
    low_c: float
    high_c: float
    dew_c: float
    latitude: float = 38.0
    longitude: float = 0.0
    day: int = 196
    offset_h: float = 0.0
    wind: float = 1.8
    said_still: bool = False
    light: float = 1.0
    roof_k: float = 0.0
    cool_room: bool = False

    def air_c(self, minute: float) -> float:
        """Air in C at a minute of the day."""
        hour = int(minute // 60)
        share = minute / 60 - hour
        a, b = _FRACTIONS[(hour - 1) % 24], _FRACTIONS[hour % 24]
        return self.high_c - (self.high_c - self.low_c) * (a + share * (b - a))

    def rh(self, minute: float) -> float:
        """Relative humidity in percent that goes with the dew point."""
        air_c = self.air_c(minute)
        share = saturation_pa(min(self.dew_c, air_c - 0.3)) / saturation_pa(air_c)
        return max(3.0, min(97.0, 100 * share))

    def cos_sun(self, minute: float) -> float:
        """Cosine of the sun's distance from overhead, not under 0."""
        first = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)
        at = first + datetime.timedelta(days=self.day - 1, minutes=minute - 60 * self.offset_h)
        return max(0.0, cos_zenith(int(at.timestamp()) * 1_000_000, self.latitude, self.longitude))

    def adjusted_f(self, minute: float) -> float:
        """The true air for the work/rest table."""
        sky = {"sun": "full sun", "cloud": "cloud"}.get(self.place, "shade")
        return adjusted_air_f(self.air_c(minute) * 1.8 + 32, self.rh(minute), sky).air_f

    def wbgt_c(self, minute: float, resting: bool = False) -> float:
        """The true WBGT, every ten minutes and straight between."""
        first = int(minute // 10) * 10
        a, b = (_true(self, at, resting) for at in (first, first + 10))
        return a + (b - a) * (minute - first) / 10


@lru_cache(100_000)
def _true(weather: Weather, minute: int, resting: bool) -> float:
    if resting and weather.cool_room:
        return wbgt_no_sun_c(26.0, 50.0, 0.1)
    air_c, rh = round(weather.air_c(minute), 2), round(weather.rh(minute), 1)
    if weather.place == "indoors":
        risen = max(0.0, min(1.0, (minute - 9 * 60) / 180))
        return wbgt_no_sun_c(air_c, rh, 0.15, air_c + weather.roof_k * risen)
    breeze = 1 + 0.35 * math.sin((minute / 60 - 10) / 24 * 2 * math.pi)
    cos_sun = weather.cos_sun(minute)
    light = clear_sky_wm2(cos_sun) * weather.light
    shares = {"sun": (1.0, 0.78), "cloud": (1.0, 0.25), "outdoor shade": (0.16, 0.0)}
    share, beam = shares["outdoor shade" if resting else weather.place]
    wind = max(0.3, weather.wind * breeze)
    return wbgt_sun_c(air_c, rh, round(wind, 2), round(light * share), beam, round(cos_sun, 3))


class Instruments:
    """The readings of one day as the worker has them, and the air that the rules see."""

    def __init__(self, weather: Weather, rng: random.Random) -> None:
        self.weather = weather
        self.readings: list[tuple[float, float, float]] = []
        minute = FIRST - 5.0
        while minute < LAST:
            air_c = round((weather.air_c(minute) + rng.gauss(0, 0.3)) * 2) / 2
            rh = float(max(3, min(97, round(weather.rh(minute) + rng.gauss(0, 2)))))
            self.readings.append((minute, air_c, rh))
            minute += rng.uniform(40, 70)

    def newest(self, minute: float) -> int:
        """Index of the reading in force."""
        return max(i for i, one in enumerate(self.readings) if one[0] <= max(minute, FIRST - 5.0))

    def _wbgt(self, index: int, minute: float, place: str) -> float:
        _at, air_c, rh = self.readings[index]
        cos_sun = round(self.weather.cos_sun(minute // 10 * 10), 3)
        return _read(air_c, rh, place, self.weather.said_still, cos_sun)

    def air(self, minute: float) -> Air:
        """The air in force with its guard and its trend."""
        index, place = self.newest(minute), self.weather.place
        at, air_c, rh = self.readings[index]
        fahrenheit = air_c * 1.8 + 32
        rest: str = "cool" if self.weather.cool_room else place
        if place != "indoors" and rest == place:
            rest = "outdoor shade"
        sky = {"sun": "full sun", "cloud": "cloud"}.get(place, "shade")
        adjusted = adjusted_air_f(fahrenheit, rh, sky if self.weather.cos_sun(minute) else "shade")
        index_f = trigger_f(fahrenheit, rh)
        damper = wbgt_no_sun_c(air_c, min(98.0, rh + 5), 0.5) - wbgt_no_sun_c(air_c, rh, 0.5)
        sun_c, read_c, rise_f = self._rise(index, minute)
        sun_c = min(sun_c, RISE_C - read_c)
        gone = min(60.0, minute - at)
        return Air(
            self._wbgt(index, minute, place),
            self._wbgt(index, minute, rest),
            adjusted.air_f,
            index_f,
            index_f is None,
            max(0.3, damper) + gone * read_c + minute % 10 * sun_c,
            GUARD_F + gone * rise_f,
            sun_c + read_c,
            rise_f,
        )

    def _rise(self, index: int, minute: float) -> tuple[float, float, float]:
        """Rise a minute of WBGT by the sun and by the readings, and of the adjusted air."""
        place = self.weather.place
        sun = 0.0
        if place in ("sun", "cloud"):
            later = self._wbgt(index, minute + 60, place)
            sun = max(0.0, (later - self._wbgt(index, minute, place)) / 60)
        if not index or minute >= 15 * 60:
            return sun, 0.0, 0.0
        (a, air_a, rh_a), (b, air_b, rh_b) = self.readings[index - 1 : index + 1]
        wbgt = wbgt_no_sun_c(air_b, rh_b, 0.1) - wbgt_no_sun_c(air_a, rh_a, 0.1)
        adjusted = [
            adjusted_air_f(air * 1.8 + 32, rh, "shade").air_f
            for air, rh in ((air_a, rh_a), (air_b, rh_b))
        ]
        slope_c = min(0.02, max(0.0, wbgt / (b - a)))
        slope_f = max(0.0, (adjusted[1] - adjusted[0]) / (b - a))
        return sun, slope_c, min(RISE_F, slope_f)


@lru_cache(100_000)
def _read(air_c: float, rh: float, place: str, still: bool, cos_sun: float) -> float:
    if place == "cool":
        return wbgt_no_sun_c(26.0, 50.0, 0.1)
    if place == "indoors":
        return wbgt_no_sun_c(air_c, rh, 0.1)
    speed = 0.5 if still else 1.0
    shade = wbgt_no_sun_c(air_c, rh, speed) + OUTDOOR_SHADE_C
    if place == "outdoor shade":
        return shade
    clear = clear_sky_wm2(cos_sun)
    light, beam = (clear, 0.75) if place == "sun" else (clear / 2, 0.3)
    return max(shade, wbgt_sun_c(air_c, rh, speed, light, beam, cos_sun))


WEATHERS = (
    Weather("cool damp garage", "indoors", 10, 15, 9, 52, 0, 90),
    Weather("mild garage", "indoors", 16, 23, 12, 48, 8, 150, 1),
    Weather("warm garage", "indoors", 19, 29, 15, 45, 5, 190, 1),
    Weather("hot dry garage", "indoors", 22, 36, 12),
    Weather("hot dry garage, cool room", "indoors", 22, 36, 12, cool_room=True),
    Weather("hot garage, hot roof", "indoors", 22, 35, 14, roof_k=5.0),
    Weather("hot humid garage", "indoors", 25, 33, 24, 25, -80, 196, -5),
    Weather("hot humid garage, cool room", "indoors", 25, 33, 24, 25, -80, 196, -5, cool_room=True),
    Weather("mild outdoor shade", "outdoor shade", 14, 25, 11, 48, 8, 180, 1),
    Weather("hot dry outdoor shade", "outdoor shade", 23, 37, 10),
    Weather("very hot dry outdoor shade", "outdoor shade", 29, 44, 6, 33, -112, 190, -7),
    Weather("warm cloud", "cloud", 18, 26, 17, 45, 5, 190, 1, light=0.45),
    Weather(
        "humid cloud, calm", "cloud", 23, 30, 23, 25, -80, 200, -5, 0.7, said_still=True, light=0.45
    ),
    Weather("mild sun", "sun", 12, 23, 9, 48, 8, 160, 1),
    Weather("warm sun", "sun", 16, 28, 14, 40, -4, 190, -1),
    Weather("humid sun", "sun", 21, 29, 21, 30, -90, 190, -6),
    Weather("hot dry sun", "sun", 21, 36, 10, 36, -5, 200, -1),
    Weather("very hot dry sun", "sun", 28, 43, 5, 33, -112, 190, -7),
)
