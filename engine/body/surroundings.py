"""What no reading says: how high the sun stands, whether a roof glows, and what is worn.

The place comes from the settings through the clocking on. Where they name none, latitude 40 and
the middle of the time zone stand in; the record says so.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from functools import lru_cache

from cartclock.engine.body.climate import OPEN_SKY, Around
from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.figures.daylight import cos_zenith
from cartclock.engine.figures.limits import CLOTHING_C
from cartclock.engine.times import Instant

# The sun is reckoned anew so often; our own judgement.
SUN_STEP_US = 10 * MINUTE_US
# Without a place in the settings; our own judgement.
USUAL_LATITUDE = 40.0
DEGREES_AN_HOUR = 15.0
# An estimate indoors under a roof or behind a door that is hot to the hand; our own judgement.
HOT_ROOF_C = 2.0
# From this air on it is asked, where no globe was read; our own judgement.
ROOF_ASKED_FROM_C = 28.0


class Surroundings:
    """What surrounds a worker over a shift."""

    def __init__(self, shift: Shift) -> None:
        on, at_us = shift.on, shift.on_us
        self.zone = on.zone
        self.told = on.latitude is not None and on.longitude is not None
        self.latitude = USUAL_LATITUDE if on.latitude is None else on.latitude
        self.longitude = usual_longitude(at_us, on.zone) if on.longitude is None else on.longitude
        # (from when, what): the first one holds from the beginning.
        self._worn: list[tuple[int, str]] = [(0, on.clothing)]
        self._hot: list[tuple[int, bool]] = [(0, False)]
        for row in shift.facts:
            match row.event:
                case ev.ClothingSaid(clothing):
                    self._worn.append((row.at_us, clothing))
                case ev.RoofSaid(hot):
                    self._hot.append((row.at_us, hot))
                case ev.ReadingTaken(globe_c=globe_c) if globe_c is not None:
                    # A globe sees the roof itself.
                    self._hot.append((row.at_us, False))
                case _:
                    pass
        self._worn.sort(key=lambda one: one[0])
        self._hot.sort(key=lambda one: one[0])
        place = (self.zone, self.told, self.latitude, self.longitude)
        self._said = (*place, tuple(self._worn), tuple(self._hot))

    def __eq__(self, other: object) -> bool:
        """True if the same was said."""
        return isinstance(other, Surroundings) and self._said == other._said

    def __hash__(self) -> int:
        return hash(self._said)

    def clothing(self, at_us: int) -> str:
        """What is worn at an instant."""
        return self._worn[max(0, bisect_right(self._worn, at_us, key=lambda one: one[0]) - 1)][1]

    @property
    def clothes(self) -> tuple[str, ...]:
        """All that was worn, in order, each once."""
        return tuple(dict.fromkeys(what for _at, what in self._worn))

    def roof_is_hot(self, at_us: int) -> bool:
        """True if the roof or the door was said to be hot and no globe was read since."""
        return self._hot[max(0, bisect_right(self._hot, at_us, key=lambda one: one[0]) - 1)][1]

    @property
    def roof_was_hot(self) -> bool:
        """True if it was said at any time."""
        return any(hot for _at, hot in self._hot)

    def around(self, at_us: int, reading: ev.ReadingTaken) -> Around:
        """What is around a reading at an instant; the sun stands still for ten minutes."""
        cos_sun = 0.0
        if reading.place in OPEN_SKY:
            step_us = at_us // SUN_STEP_US * SUN_STEP_US
            cos_sun = _cos_sun(step_us, self.latitude, self.longitude)
        indoors = reading.place == "indoors"
        return Around(
            cos_sun=cos_sun,
            roof_c=HOT_ROOF_C if indoors and self.roof_is_hot(at_us) else 0.0,
            clothing_c=CLOTHING_C.get(self.clothing(at_us), 0.0),
        )

    def changes(
        self, readings: Iterable[tuple[int, ev.ReadingTaken]], from_us: int, to_us: int
    ) -> list[int]:
        """The instants between two at which the surroundings of a reading in force are others."""
        found = {at_us for at_us, _what in (*self._worn, *self._hot)}
        if any(one.place in OPEN_SKY and at_us < to_us for at_us, one in readings):
            first = from_us // SUN_STEP_US + 1
            found |= {step * SUN_STEP_US for step in range(first, to_us // SUN_STEP_US + 1)}
        return [at_us for at_us in found if from_us < at_us < to_us]


def roof_unseen(reading: ev.ReadingTaken) -> bool:
    """True if a reading is so hot that a roof matters, and nothing in it would have seen one."""
    return (
        reading.place == "indoors"
        and reading.air_c is not None
        and reading.air_c >= ROOF_ASKED_FROM_C
        and reading.globe_c is None
        and reading.wbgt_c is None
    )


def usual_longitude(at_us: Instant, zone: str) -> float:
    """The middle of a time zone by its standard hours; 0 for a zone that is none."""
    try:
        here = local(at_us, zone)
    except ValueError:
        return 0.0
    offset, summer = here.utcoffset(), here.dst()
    if offset is None:
        return 0.0
    standard = offset if summer is None else offset - summer
    return max(-180.0, min(180.0, standard.total_seconds() * 1e6 / HOUR_US * DEGREES_AN_HOUR))


@lru_cache(maxsize=1024)
def _cos_sun(at_us: int, latitude: float, longitude: float) -> float:
    # Three digits are finer than the sun's own width.
    return max(0.0, round(cos_zenith(Instant(at_us), latitude, longitude), 3))
