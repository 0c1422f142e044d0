"""How much heat and effort together a person can take: limits, work minutes, verdict bands.

All of it is a screening estimate. The limit is a line through a crowd of healthy people; one
of them may be unwell under it, so symptoms come before every number here.
"""

from __future__ import annotations

import math
from typing import Literal

from cartclock.engine.figures.air import root
from cartclock.engine.figures.bounds import WATTS_TOTAL, WBGT_C, Bound, check

EffortClass = Literal["rest", "light", "moderate", "heavy", "very heavy"]
LimitVerdict = Literal["clear", "caution", "over"]

CLASS_WATTS: dict[EffortClass, float] = {
    "rest": 115.0,
    "light": 180.0,
    "moderate": 300.0,
    "heavy": 415.0,
    "very heavy": 520.0,
}
"""Metabolic rate of each effort class, whole body, in watts; give or take 30 %.

Source: NIOSH 2016-106; read second-hand, verbatim quotations."""

CLOTHING_C: dict[str, float] = {
    "work clothes": 0.0,
    "SMS coverall": 0.5,
    "polyolefin coverall": 1.0,
    "double layer": 3.0,
    "vapour barrier": 11.0,
}
"""Added to the WBGT for what is worn; ask for what is not in the list.

Source: published clothing adjustments of the WBGT; read in the issuing body's text, whose
title was not kept."""

RAL_AT_ONE_WATT_C = 59.9
RAL_PER_DECADE_C = 14.1
REL_AT_ONE_WATT_C = 56.7
REL_PER_DECADE_C = 11.5

RAL_BAND_C = 2.5
REL_BAND_C = 2.0
"""Half width of "caution": what 1 C, 5 % of humidity and 30 % of effort do to the margin.

Source: our own judgement."""

HOUR_MINUTES = 60.0

_MARGIN_C = Bound("margin_c", -150.0, 150.0, "C")


def class_watts(effort: EffortClass) -> float:
    """Metabolic rate of an effort class in watts, whole body, 115 to 520.

    Raises ValueError naming `effort` if there is no such class.

    Source: `CLASS_WATTS`; read second-hand. Which work belongs to which class is our own
    judgement, and the worker's to change.
    """
    if effort not in CLASS_WATTS:
        raise ValueError(f"effort: {effort!r} is none of {', '.join(CLASS_WATTS)}")
    return CLASS_WATTS[effort]


def ral_c(watts_total: float) -> float:
    """Recommended alert limit in C WBGT, for who is not acclimatized; hourly averages.

    watts_total: metabolic rate of the whole body, 100 to 600 W, not per square metre.

    Raises ValueError naming `watts_total` out of range.

    Source: NIOSH 2016-106, recommended alert limit; read second-hand, verbatim quotations.
    """
    check(watts_total, WATTS_TOTAL)
    return RAL_AT_ONE_WATT_C - RAL_PER_DECADE_C * math.log10(watts_total)


def rel_c(watts_total: float) -> float:
    """Recommended exposure limit in C WBGT, for who is acclimatized; hourly averages.

    watts_total: metabolic rate of the whole body, 100 to 600 W, not per square metre.

    Raises ValueError naming `watts_total` out of range.

    Source: NIOSH 2016-106, recommended exposure limit; read second-hand, verbatim quotations.
    """
    check(watts_total, WATTS_TOTAL)
    return REL_AT_ONE_WATT_C - REL_PER_DECADE_C * math.log10(watts_total)


def work_minutes_per_hour(
    wbgt_work_c: float,
    wbgt_rest_c: float,
    watts_work: float,
    watts_rest: float,
    acclimatized: bool,
) -> float:
    """Most minutes of work in the hour, the rest of it spent resting: 0 to 60.

    wbgt_work_c, wbgt_rest_c: where the worker works and rests, -50 to 90 C, clothing added.
    watts_work, watts_rest: whole body, 100 to 600 W. acclimatized: True judges by the
    exposure limit, False by the alert limit.

    The largest share of work for which the hour's average WBGT is not above the limit of the
    hour's average effort. 0.0 means no work time: rest somewhere cooler. Where the rest place
    is hotter than the work place the answer holds, but fewer minutes of work may then be no
    relief; whoever shows the figure should say so.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: limits and hourly averages of NIOSH 2016-106, read second-hand; solving them for
    the share is our own judgement.
    """
    check(wbgt_work_c, WBGT_C.named("wbgt_work_c"))
    check(wbgt_rest_c, WBGT_C.named("wbgt_rest_c"))
    check(watts_work, WATTS_TOTAL.named("watts_work"))
    check(watts_rest, WATTS_TOTAL.named("watts_rest"))
    limit_c = rel_c if acclimatized else ral_c

    def over_c(share: float) -> float:
        watts = watts_rest + share * (watts_work - watts_rest)
        return wbgt_rest_c + share * (wbgt_work_c - wbgt_rest_c) - limit_c(watts)

    # The excess is concave in the share, so between an end that is within the limit and one
    # that is over it there is one crossing, and two ends over it leave nothing between.
    if over_c(1.0) <= 0.0:
        return HOUR_MINUTES
    if over_c(0.0) > 0.0:
        return 0.0
    return HOUR_MINUTES * root(over_c, 0.0, 1.0)


def limit_verdict(margin_c: float, acclimatized: bool) -> LimitVerdict:
    """What a margin is worth: "clear", "caution" or "over"; a screening estimate.

    margin_c: limit minus WBGT, -150 to 150 C. acclimatized: as the limit was chosen. The
    band is 2.0 C wide either way for the exposure limit, 2.5 C for the alert limit; its edges
    are "caution".

    Raises ValueError naming `margin_c` out of range or not a number.

    Source: our own judgement.
    """
    check(margin_c, _MARGIN_C)
    band_c = REL_BAND_C if acclimatized else RAL_BAND_C
    if margin_c > band_c:
        return "clear"
    return "over" if margin_c < -band_c else "caution"
