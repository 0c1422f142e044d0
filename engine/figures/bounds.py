"""What a figure takes: the range of every input, and the refusal of everything else.

A wrong reading must stop a figure, not colour it: no verdict may come from a thermometer that
reads 400 C or from a division that left NaN behind. The ranges are our own judgement. They
hold every place a person details a vehicle in with room to spare, and stay inside what the
formulas were made for; a figure with a narrower range says so in its docstring. What may be
entered at all is narrower (`engine.figures.measured`).
"""

from __future__ import annotations

from typing import NamedTuple


class Bound(NamedTuple):
    """Range of one input, both ends included.

    name: of the argument, as it stands in the refusal.
    low, high: in `unit`.
    """

    name: str
    low: float
    high: float
    unit: str

    def named(self, name: str) -> Bound:
        """The same range under the name of another argument."""
        return self._replace(name=name)

    def holds(self, value: float) -> bool:
        """True if a value lies in the range; what is no number does not."""
        # NaN compares false with everything, so it fails here like any value out of range.
        return self.low <= value <= self.high


AIR_C = Bound("air_c", -40.0, 60.0, "C")
AIR_F = Bound("air_f", -40.0, 140.0, "F")
PANEL_C = Bound("panel_c", -40.0, 120.0, "C")
GLOBE_C = Bound("globe_c", -40.0, 120.0, "C")
RH = Bound("rh", 1.0, 100.0, "%")
"""Relative humidity. Under 1 % there is no dew point worth a name and no pocket hygrometer."""

PRESSURE_PA = Bound("pressure_pa", 60_000.0, 110_000.0, "Pa")
"""Air pressure: about 4000 m above the sea to the deepest valley."""

AIR_SPEED = Bound("air_speed", 0.0, 20.0, "m/s")
SOLAR_WM2 = Bound("solar_wm2", 0.0, 1400.0, "W/m2")
"""Sun and sky together on level ground, not above what arrives outside the atmosphere."""

BEAM_SHARE = Bound("beam_share", 0.0, 1.0, "")
COS_ZENITH = Bound("cos_zenith", 0.0, 1.0, "")
LATITUDE = Bound("latitude", -90.0, 90.0, "degrees")
LONGITUDE = Bound("longitude", -180.0, 180.0, "degrees")
WATTS_TOTAL = Bound("watts_total", 100.0, 600.0, "W")
"""Metabolic rate of the whole body, not per square metre of skin."""

WBGT_C = Bound("wbgt_c", -50.0, 90.0, "C")
ACCELERATION = Bound("a_ms2", 0.0, 100.0, "m/s2")
NOISE_DBA = Bound("dba", 0.0, 140.0, "dBA")
HOURS = Bound("hours", 0.0, 24.0, "h")

# Several spells of 0.1 h may add up to a hair over the day in binary.
_DAY_SLACK_HOURS = 1e-9


def check(value: float, bound: Bound) -> None:
    """Refuse a value that lies outside its range, is infinite or is not a number.

    Raises:
        ValueError: names the argument, the value and the range.
    """
    # As `Bound.holds` has it, without a call: figures are asked for thousands of times a press.
    if not bound.low <= value <= bound.high:
        span = f"{bound.low:g} and {bound.high:g} {bound.unit}".rstrip()
        raise ValueError(f"{bound.name}: {value!r} is not between {span}")


def check_day(items: tuple[tuple[float, float], ...], level: Bound) -> None:
    """Refuse spells of exposure that cannot have happened in one day.

    Args:
        items: (level, hours) of every spell.
        level: range of the level.

    Raises:
        ValueError: names the level or `hours`; also when the hours add up to more than 24.
    """
    for value, hours in items:
        check(value, level)
        check(hours, HOURS)
    total = sum(hours for _, hours in items)
    if total > HOURS.high + _DAY_SLACK_HOURS:
        raise ValueError(f"hours: {total:g} h of exposure do not fit into a day of 24")
