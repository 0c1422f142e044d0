"""Which breaks count as hours worked, and how a clock time is rounded in print.

The classes are a screening by the rule set the worker named when clocking on; where the
text leaves room they ask, and the answer is kept in the log.
"""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Literal, get_args

from cartclock.engine.dates import local
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift_events import BreakKind
from cartclock.engine.times import Instant

BreakClass = Literal["counted", "not counted", "ask", "not judged"]

US_FEDERAL = "29 CFR 785"
NO_RULES = "none"
RULE_SETS: tuple[str, ...] = (US_FEDERAL, NO_RULES)

ASKED_FROM_MINUTES = 21.0
"""A rest shorter than this is hours worked; from here it is asked about.

Source: 29 CFR 785.18, "5 minutes to about 20 minutes", read in the issuing body's text; that 20:59
is about 20 is our own judgement."""

MEAL_MINUTES = 30.0
"""From here a relieved meal is not hours worked.

Source: 29 CFR 785.19(a), "ordinarily"; read in the issuing body's text."""

ROUNDING_MINUTES: tuple[int, ...] = (0, 5, 6, 15)
"""Steps a clock time may be rounded to; 0 is no rounding.

Source: 29 CFR 785.48(b), five minutes, one-tenth or one-quarter of an hour; read in the issuing
body's text."""

LOCAL_LAW = (
    "The law of the place and your own contract come first: "
    "these classes are a screening estimate by the rule set named."
)


def break_class(kind: BreakKind, minutes: float, relieved: bool, rule_set: str) -> BreakClass:
    """Whether a break counts as hours worked.

    kind: "heat" is judged like "rest"; "away" is waiting or running an errand of one's own.
    minutes: length of the break, finite, >= 0.
    relieved: True if the worker was free of every duty for all of it; minding a running
        window is a duty.
    rule_set: one of `RULE_SETS`.

    Under "29 CFR 785" a break not relieved is counted (785.16, 785.19). Rests, heat breaks
    and meals up to about 20 minutes are counted (785.18), relieved meals of 30 minutes and more
    are not (785.19(a)). Between the two, for longer rests, and for time away, which is the
    worker's own only if long enough to use (785.16), the text gives no figure: ask.
    Under "none" nothing is judged: the worker is not paid by the hour.

    Raises ValueError for another rule set, kind or length.
    """
    if rule_set not in RULE_SETS:
        known = ", ".join(f'"{name}"' for name in RULE_SETS)
        raise ValueError(f'"{rule_set}" is not a rule set; known are {known}')
    if kind not in get_args(BreakKind):
        raise ValueError(f'"{kind}" is not a kind of break')
    if not math.isfinite(minutes) or minutes < 0:
        raise ValueError(f"a break cannot last {minutes} minutes")
    if rule_set == NO_RULES:
        return "not judged"
    if not relieved:
        return "counted"
    if kind == "away":
        return "ask"
    if minutes < ASKED_FROM_MINUTES:
        return "counted"
    if kind == "meal" and minutes >= MEAL_MINUTES:
        return "not counted"
    return "ask"


def rounded_us(at_us: Instant, step_minutes: int, zone: str) -> Instant:
    """The instant whose local clock time is the nearest whole step of the day, for print.

    at_us: microseconds UTC; the log keeps it as it is.
    step_minutes: one of `ROUNDING_MINUTES`; with 0 the instant comes back unchanged.
    zone: whose clock is rounded.

    Source: 29 CFR 785.48(b), read in the issuing body's text. It does not say which way
    a tie goes: up is our own choice, for clocking on and off alike. Raises ValueError for another
    step or an unknown zone.
    """
    if step_minutes not in ROUNDING_MINUTES:
        known = ", ".join(str(step) for step in ROUNDING_MINUTES)
        raise ValueError(f"clock times are not rounded to {step_minutes} minutes; use {known}")
    here = local(at_us, zone)
    if step_minutes == 0:
        return at_us
    step_us = step_minutes * MINUTE_US
    # Every step divides the day, so whole steps since 1970 on the local clock are whole
    # steps since local midnight.
    offset_us = (here.utcoffset() or timedelta()) // timedelta(microseconds=1)
    wall_us = at_us + offset_us
    return Instant((wall_us + step_us // 2) // step_us * step_us - offset_us)
