"""What a reading says about the heat: WBGT, heat index, and how each was come by.

A reading is believed for an hour. What is missing or impossible gives no figure, never a
good one. All of it is a screening estimate.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.facts.shift_events import AirMovement, ReadingPlace
from cartclock.engine.figures import heat
from cartclock.engine.figures.air import fahrenheit
from cartclock.engine.figures.daylight import clear_sky_wm2
from cartclock.engine.figures.heat import HeatIndexBin
from cartclock.engine.figures.schedule import SunCover
from cartclock.engine.figures.sun import AIR_SHARE, GLOBE_SHARE
from cartclock.engine.figures.wbgt import (
    FAN_AIR,
    NATURAL_WET_BULB_SHARE,
    OUTDOOR_SHADE_C,
    STILL_AIR,
    WINDY_AIR,
)
from cartclock.engine.times import Instant

AIR_SPEEDS: dict[AirMovement, float] = {
    "not said": STILL_AIR,
    "still": STILL_AIR,
    "fan": FAN_AIR,
    "windy": WINDY_AIR,
}
# Outdoors arms and legs alone make a light wind (Lemke and Kjellstrom 2012, read second-hand),
# and the energy balance of a globe in still air runs away. Only who says "still" gets less: our
# own judgement.
LIGHT_AIR, SAID_STILL_OUTDOORS = 1.0, 0.5

# Where the sky shines in; the sun is reckoned by the hour there.
OPEN_SKY: frozenset[ReadingPlace] = frozenset({"cloud", "sun"})
# Of the light of a clear sky: how much comes through, and how much of that straight from the
# sun. Our own judgement.
SUN_SHARE, SUN_BEAM = 1.0, 0.75
OVERCAST_SHARE, OVERCAST_BEAM = 0.5, 0.3
# A sun half way up, for a reading of which the hour is not known. Our own judgement.
SUN_COS_ZENITH = 0.75
# What an estimate may be short of, for the hour ahead: so many points of humidity, the sensor's
# own error, and never less than so many degrees. Our own judgement.
GUARD_RH, LEAST_GUARD_C = 5.0, 0.3
_DAMPEST_RH = 98.0

SUN_COVER: dict[ReadingPlace, SunCover] = {
    "indoors": "shade",
    "outdoor shade": "shade",
    "cloud": "cloud",
    "sun": "full sun",
}


class Around(Struct, frozen=True):
    """What is around a reading that it does not say.

    Fields:
        cos_sun: cosine of the sun's distance from overhead, 0 (down) to 1; only under the sky.
        roof_c: added to an estimate indoors for a hot roof or door, C.
        clothing_c: added to every WBGT for what is worn, C: `CLOTHING_C`.
    """

    cos_sun: float = SUN_COS_ZENITH
    roof_c: float = 0.0
    clothing_c: float = 0.0


PLAIN = Around()


class Climate(Struct, frozen=True):
    """A reading with its figures.

    Fields:
        at_us: when it was taken.
        reading: the reading itself.
        wbgt_c: degrees C, with what is added for clothing; None if it could not be had.
        wbgt_from: how: the meter, a globe with the air, or an estimate.
        index_f: heat index in F; None if air or humidity are missing, or off the table.
        off_table: True if the heat index is beyond its table: extreme danger, no number.
        at_least: True where the regression reads low and the index is only a floor.
        adjusted_f: air temperature for the NIOSH work/rest table; None if not to be had.
        outside_table: True if the humidity was beyond that table's last row.
        rest_wbgt_c: WBGT where rests are taken if no other place is settled: in place indoors,
            in the shade outdoors; None like `wbgt_c`.
        guard_c: what an estimate may be short of in the hour ahead, >= 0; 0 unless estimated.
        clothing_c: what of `wbgt_c` is for clothing.
    """

    at_us: Instant
    reading: ReadingTaken
    wbgt_c: float | None
    wbgt_from: Literal["meter", "globe", "estimate", ""]
    index_f: float | None
    off_table: bool
    at_least: bool
    adjusted_f: float | None
    outside_table: bool
    rest_wbgt_c: float | None = None
    guard_c: float = 0.0
    clothing_c: float = 0.0

    @property
    def trigger_f(self) -> float | None:
        """The index for reminders: it never falls because it got hotter; None off the table."""
        air_c, rh = self.reading.air_c, self.reading.rh
        if air_c is None or rh is None or self.index_f is None:
            return None
        return _trigger_f(air_c, rh)

    @property
    def index_bin(self) -> HeatIndexBin:
        """Class of the heat index; "none" if there is no index."""
        if self.off_table:
            return "extreme danger"
        return "none" if self.index_f is None else heat.heat_index_bin(self.index_f)

    def hot_from(self, floor_f: float) -> bool:
        """True if the index for reminders is at or over `floor_f`, or off the table."""
        trigger_f = self.trigger_f
        return self.off_table or (trigger_f is not None and trigger_f >= floor_f)


def speaks_of_heat(reading: ReadingTaken) -> bool:
    """False for a reading of panel or rain alone, which leaves the one before it in force."""
    measured = (reading.air_c, reading.rh, reading.globe_c, reading.wbgt_c)
    return any(value is not None for value in measured)


def climate(at_us: Instant, reading: ReadingTaken, around: Around = PLAIN) -> Climate:
    """The figures of a reading; what is missing or impossible stays None."""
    return replace(_climate(reading, around), at_us=at_us)


@lru_cache(maxsize=4096)
def _trigger_f(air_c: float, rh: float) -> float | None:
    return heat.trigger_f(fahrenheit(air_c), rh)


# Solving for the wet bulb takes half a millisecond, and every repaint asks for every reading
# of the shift.
@lru_cache(maxsize=4096)
def _climate(reading: ReadingTaken, around: Around) -> Climate:
    wbgt_c, wbgt_from = _wbgt(reading, around)
    rest_wbgt_c = wbgt_c if reading.place == "indoors" else _shade_c(reading, wbgt_c)
    guard_c = _guard_c(reading) if wbgt_from == "estimate" else 0.0
    worn_c = around.clothing_c
    index_f: float | None = None
    adjusted_f: float | None = None
    off_table = at_least = outside = False
    air_c, rh = reading.air_c, reading.rh
    if air_c is not None and rh is not None:
        try:
            index_f = heat.heat_index_f(fahrenheit(air_c), rh)
            off_table = index_f is None
            at_least = not off_table and heat.heat_index_reads_low(fahrenheit(air_c), rh)
            down = around.cos_sun <= 0.0
            cover = "shade" if down else SUN_COVER[reading.place]
            adjusted = heat.adjusted_air_f(fahrenheit(air_c), rh, cover)
            adjusted_f, outside = adjusted.air_f, adjusted.outside_table
        except ValueError:
            index_f, adjusted_f, off_table = None, None, False
    return Climate(
        Instant(0),
        reading,
        None if wbgt_c is None else wbgt_c + worn_c,
        wbgt_from,
        index_f,
        off_table,
        at_least,
        adjusted_f,
        outside,
        None if rest_wbgt_c is None else rest_wbgt_c + worn_c,
        guard_c,
        worn_c,
    )


def air_speed(reading: ReadingTaken) -> float:
    """Air at the worker in m/s: outdoors at least a light wind unless it was said to be still."""
    if reading.place == "indoors":
        return AIR_SPEEDS[reading.moving]
    if reading.moving == "still":
        return SAID_STILL_OUTDOORS
    return max(LIGHT_AIR, AIR_SPEEDS[reading.moving])


def light(place: ReadingPlace, cos_sun: float) -> tuple[float, float]:
    """(W/m2 on level ground, share of it straight from the sun) under an open sky."""
    share, beam = (OVERCAST_SHARE, OVERCAST_BEAM) if place == "cloud" else (SUN_SHARE, SUN_BEAM)
    return clear_sky_wm2(cos_sun) * share, beam


def _guard_c(reading: ReadingTaken) -> float:
    assert reading.air_c is not None
    assert reading.rh is not None
    speed = air_speed(reading)
    damp = max(reading.rh, min(_DAMPEST_RH, reading.rh + GUARD_RH))
    more = heat.wbgt_no_sun_c(reading.air_c, damp, speed)
    return max(LEAST_GUARD_C, more - heat.wbgt_no_sun_c(reading.air_c, reading.rh, speed))


def _shade_c(reading: ReadingTaken, wbgt_c: float | None) -> float | None:
    """The outdoor shade of the same air, never hotter than the work; without an air, as there."""
    if reading.air_c is None or reading.rh is None or wbgt_c is None:
        return wbgt_c
    try:
        shade_c = heat.wbgt_no_sun_c(reading.air_c, reading.rh, air_speed(reading))
    except ValueError:
        return wbgt_c
    return min(shade_c + OUTDOOR_SHADE_C, wbgt_c)


def _wbgt(
    reading: ReadingTaken, around: Around
) -> tuple[float | None, Literal["meter", "globe", "estimate", ""]]:
    """Order of trust: a WBGT meter, then a globe with the air, then the estimate."""
    air_c, rh, globe_c = reading.air_c, reading.rh, reading.globe_c
    speed = air_speed(reading)
    open_sky = reading.place in OPEN_SKY
    try:
        if reading.wbgt_c is not None:
            # Asking for its limit checks the number the same way an estimate is checked.
            heat.work_minutes_per_hour(reading.wbgt_c, reading.wbgt_c, 300.0, 115.0, False)
            return reading.wbgt_c, "meter"
        if air_c is None or rh is None:
            return None, ""
        if globe_c is not None and open_sky:
            wick_c = heat.natural_wet_bulb_c(air_c, rh, speed, globe_c)
            shares = NATURAL_WET_BULB_SHARE * wick_c + GLOBE_SHARE * globe_c + AIR_SHARE * air_c
            return shares, "globe"
        if globe_c is not None:
            return heat.wbgt_no_sun_c(air_c, rh, speed, globe_c), "globe"
        plain_c = heat.wbgt_no_sun_c(air_c, rh, speed)
        if reading.place == "indoors":
            return plain_c + around.roof_c, "estimate"
        shade_c = plain_c + OUTDOOR_SHADE_C
        if not open_sky:
            return shade_c, "estimate"
        wm2, beam = light(reading.place, around.cos_sun)
        # Where the sky shines in it is never cooler than in the shade of the same place.
        return max(
            shade_c, heat.wbgt_sun_c(air_c, rh, speed, wm2, beam, around.cos_sun)
        ), "estimate"
    except ValueError:
        return None, ""
