"""What a reading says about the heat: WBGT, heat index, and how each was come by.

A reading is believed for an hour. What is missing or impossible gives no figure, never a
good one. All of it is a screening estimate.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts.events import AirMovement, ReadingPlace, ReadingTaken
from cartclock.engine.figures import heat
from cartclock.engine.figures.air import fahrenheit
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

AIR_SPEEDS: dict[AirMovement, float] = {"still": STILL_AIR, "fan": FAN_AIR, "windy": WINDY_AIR}

# Light from the sky for a worker without a pyranometer, and a sun half way up: our own judgement.
SUN_WM2, SUN_BEAM = 1000.0, 0.75
OVERCAST_WM2, OVERCAST_BEAM = 550.0, 0.3
SUN_COS_ZENITH = 0.75
# Air outdoors is hardly ever as still as in a garage, and the energy balance of a globe in
# still air runs away: at least a light air of 0.5 m/s. Our own judgement.
LEAST_OUTDOOR_AIR = 0.5

SUN_COVER: dict[ReadingPlace, SunCover] = {
    "indoors": "shade",
    "outdoor shade": "shade",
    "cloud": "cloud",
    "sun": "full sun",
}


class Climate(Struct, frozen=True):
    """A reading with its figures.

    Fields:
        at_us: when it was taken.
        reading: the reading itself.
        wbgt_c: degrees C; None if it could not be had.
        wbgt_from: how: the meter, a globe with the air, or an estimate.
        index_f: heat index in F; None if air or humidity are missing, or off the table.
        off_table: True if the heat index is beyond its table: extreme danger, no number.
        at_least: True where the regression reads low and the index is only a floor.
        adjusted_f: air temperature for the NIOSH work/rest table; None if not to be had.
        outside_table: True if the humidity was beyond that table's last row.
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

    @property
    def trigger_f(self) -> float | None:
        """The index for reminders: it never falls because it got hotter; None off the table."""
        air_c, rh = self.reading.air_c, self.reading.rh
        if air_c is None or rh is None or self.index_f is None:
            return None
        return heat.trigger_f(fahrenheit(air_c), rh)

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


def climate(at_us: Instant, reading: ReadingTaken) -> Climate:
    """The figures of a reading; what is missing or impossible stays None."""
    return replace(_climate(reading), at_us=at_us)


# Solving for the wet bulb takes half a millisecond, and every repaint asks for every reading
# of the shift.
@lru_cache(maxsize=512)
def _climate(reading: ReadingTaken) -> Climate:
    wbgt_c, wbgt_from = _wbgt(reading)
    index_f: float | None = None
    adjusted_f: float | None = None
    off_table = at_least = outside = False
    air_c, rh = reading.air_c, reading.rh
    if air_c is not None and rh is not None:
        try:
            index_f = heat.heat_index_f(fahrenheit(air_c), rh)
            off_table = index_f is None
            at_least = not off_table and heat.heat_index_reads_low(fahrenheit(air_c), rh)
            adjusted = heat.adjusted_air_f(fahrenheit(air_c), rh, SUN_COVER[reading.place])
            adjusted_f, outside = adjusted.air_f, adjusted.outside_table
        except ValueError:
            index_f, adjusted_f, off_table = None, None, False
    return Climate(
        Instant(0), reading, wbgt_c, wbgt_from, index_f, off_table, at_least, adjusted_f, outside
    )


def _wbgt(reading: ReadingTaken) -> tuple[float | None, Literal["meter", "globe", "estimate", ""]]:
    """Order of trust: a WBGT meter, then a globe with the air, then the estimate."""
    air_c, rh, globe_c = reading.air_c, reading.rh, reading.globe_c
    speed = AIR_SPEEDS[reading.moving]
    open_sky = reading.place in ("cloud", "sun")
    if open_sky:
        speed = max(speed, LEAST_OUTDOOR_AIR)
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
        match reading.place:
            case "indoors":
                return heat.wbgt_no_sun_c(air_c, rh, speed), "estimate"
            case "outdoor shade":
                return heat.wbgt_no_sun_c(air_c, rh, speed) + OUTDOOR_SHADE_C, "estimate"
            case "cloud":
                figure = heat.wbgt_sun_c(
                    air_c, rh, speed, OVERCAST_WM2, OVERCAST_BEAM, SUN_COS_ZENITH
                )
            case "sun":
                figure = heat.wbgt_sun_c(air_c, rh, speed, SUN_WM2, SUN_BEAM, SUN_COS_ZENITH)
        # Where the sky shines in it is never cooler than in the shade of the same place.
        return max(figure, heat.wbgt_no_sun_c(air_c, rh, speed) + OUTDOOR_SHADE_C), "estimate"
    except ValueError:
        return None, ""
