"""What may be measured, typed or written of a quantity: one range for every door it comes in by.

The worker's hand, an instrument, a plan file, the settings and the command line all refuse by
these. Outside them lies a slip of the finger or a broken sensor. Each lies inside what the
figures take (`engine.figures.bounds`), which also take what was reckoned from a reading. The
ranges are our own judgement; none has a source.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.figures.bounds import Bound

AIR = Bound("air", -30.0, 60.0, "C")
PANEL = Bound("panel", -30.0, 100.0, "C")
GLOBE = Bound("globe", -30.0, 100.0, "C")
WBGT_METER = Bound("WBGT meter", -30.0, 60.0, "C")
HUMIDITY = Bound("humidity", 1.0, 100.0, "% RH")
RAIN_IN = Bound("rain in", 0.0, 48 * 60.0, "min")

ODOMETER = Bound("odometer", 0.0, 9_999_999.0, "")
"""In whole km or mi: what its wheels have room for."""

BUILD = Bound("thickness", 0.0, 5000.0, "µm")
"""Total build of the paint; above it lies a slip of the finger or a body of filler."""

GLOSS = {60: Bound("gloss", 0.0, 1000.0, "GU"), 20: Bound("gloss", 0.0, 2000.0, "GU")}
"""By the angle in degrees: meters are built to read mirrors up to these values. From memory."""

PACK = Bound("pack", 0.0, 1_000_000.0, "")
"""Content of a pack, which is over 0, or what is left of a product, in its unit."""

USE = Bound("amount", 0.0, 100_000.0, "")
"""What one step takes of a product on one section, in its unit."""

DRINK = Bound("drink", 1.0, 5000.0, "ml")
BREAK_MINUTES = Bound("length of a break", 0.0, 240.0, "min")
"""Planned; 0 stands for an open end."""

CHECK_IN_MINUTES = Bound("I am well again in", 0.0, 240.0, "min")
"""0 stands for no more of them."""

HOT_DAYS = Bound("days of work in the heat", 0.0, 14.0, "")
"""Of the last 14."""

# What may be, but looks odd: a figure in the wrong line, a slip of the finger, a sensor in the
# sun. It is asked about and never refused.

UnlikelyFigure = Literal[
    "panel over air, no sun",
    "panel over air, cloud",
    "panel over air, sun",
    "panel under air",
    "globe over air, no sun",
    "globe over air, sky",
    "globe under air",
    "WBGT over air",
    "dew point",
    "dew point moved",
    "air moved",
]


class Likely(Struct, frozen=True):
    """How far a figure goes before it is asked about.

    most_c: degrees C, the limit itself is not asked about. source: where that is from.
    """

    most_c: float
    source: str


_OWN, _CP = "our own judgement", "common practice, no source"
LIKELY: dict[UnlikelyFigure, Likely] = {
    "panel over air, no sun": Likely(15.0, _OWN),
    "panel over air, cloud": Likely(25.0, _OWN),
    "panel over air, sun": Likely(
        45.0, "one informal series of bonnets in the sun up to 38 C, read second-hand"
    ),
    # A vehicle that comes in from the cold.
    "panel under air": Likely(15.0, _CP),
    "globe over air, no sun": Likely(15.0, _OWN),
    "globe over air, sky": Likely(35.0, _OWN),
    "globe under air": Likely(5.0, _OWN),
    "WBGT over air": Likely(5.0, _OWN),
    "dew point": Likely(30.0, _OWN),
    # Within the hour that a reading holds, at the same place.
    "dew point moved": Likely(6.0, _OWN),
    # Twice what the planning curve moves in an hour of a day of 20 C between low and high.
    "air moved": Likely(8.0, _OWN),
}
"""Figures that do not fit each other, or the ones before them."""
