"""Wet bulb globe temperature without sun: indoors, in a carport, in full shade.

The natural wet bulb is the wick that hangs in the air as it is, neither ventilated nor
shielded; the globe takes the heat of what stands around. The blind spot is a hot roof or
door: without a globe reading this estimate does not know of it.
"""

from __future__ import annotations

import math

from cartclock.engine.figures.air import wet_bulb_c
from cartclock.engine.figures.bounds import AIR_C, AIR_SPEED, GLOBE_C, RH, check

STILL_AIR = 0.1
FAN_AIR = 1.0
WINDY_AIR = 3.0
"""Air speeds in m/s for a worker who has no meter. Source: our own judgement."""

OUTDOOR_SHADE_C = 1.5
"""Added to the indoor figure for shade outdoors, where the sky still shines in.

Source: our own judgement; the energy balance with diffuse light is the better answer."""

NATURAL_WET_BULB_SHARE = 0.7
GLOBE_SHARE_NO_SUN = 0.3
"""Weights of the WBGT without sun. Source: ISO 7243; read second-hand."""

HOT_GLOBE_K = 4.0
"""From this much above the air a globe says that the place radiates.

Source: Bernard and Pourmoghani 1999; read in an open library's source."""


def _evaporation_share(air_speed: float) -> float:
    """How much of the wet bulb depression the unventilated wick reaches."""
    if air_speed < 0.03:
        return 0.85
    if air_speed > 3.0:
        return 1.0
    return 0.96 + 0.069 * math.log10(air_speed)


def _radiation_excess_c(air_speed: float) -> float:
    """What the wick stands above the wet bulb beside its share of the globe's excess."""
    if air_speed < 0.1:
        return 1.1
    if air_speed > 1.0:
        return -0.1
    return 0.1 / math.pow(air_speed, 1.1) - 0.2


def natural_wet_bulb_c(
    air_c: float, rh: float, air_speed: float, globe_c: float | None = None
) -> float:
    """Natural wet bulb temperature in C, without sun.

    air_c: -40 to 60 C. rh: 1 to 100 %. air_speed: 0 to 20 m/s. globe_c: black globe, -40 to
    120 C; None if not measured: taken as the air.

    Up to 4 C of globe excess the wick falls short of the wet bulb by what the air fails to
    carry off; beyond, it also takes up a quarter of the excess. The published second formula
    can begin below the first in still, very dry air: there the first is kept, our own
    judgement, so that a hotter globe never lowers the figure.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: Bernard and Pourmoghani 1999; read in an open library's source. Standard air
    pressure.
    """
    check(air_c, AIR_C)
    check(rh, RH)
    check(air_speed, AIR_SPEED)
    wet_c = wet_bulb_c(air_c, rh)
    natural_c = air_c - _evaporation_share(air_speed) * (air_c - wet_c)
    if globe_c is None:
        return natural_c
    check(globe_c, GLOBE_C)
    excess_k = globe_c - air_c
    if excess_k <= HOT_GLOBE_K:
        return natural_c
    return max(natural_c, wet_c + 0.25 * excess_k + _radiation_excess_c(air_speed))


def wbgt_no_sun_c(air_c: float, rh: float, air_speed: float, globe_c: float | None = None) -> float:
    """Wet bulb globe temperature in C, without sun: `0.7 natural wet bulb + 0.3 globe`.

    Arguments, errors and range as for `natural_wet_bulb_c`. Without a globe reading the globe
    is taken as the air, which is too low under a hot roof.

    Source: weights of ISO 7243, read second-hand; natural wet bulb of Bernard and Pourmoghani
    1999, read in an open library's source. A WBGT meter comes first, then globe and air, then
    this estimate: our own judgement.
    """
    natural_c = natural_wet_bulb_c(air_c, rh, air_speed, globe_c)
    around_c = air_c if globe_c is None else globe_c
    return NATURAL_WET_BULB_SHARE * natural_c + GLOBE_SHARE_NO_SUN * around_c
