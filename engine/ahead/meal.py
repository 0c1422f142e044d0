"""The meal ahead: what stands for a rest that only the clock calls."""

from __future__ import annotations

import datetime

from cartclock.engine.dates import day_of, time_on_day
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.shift import Break, Shift
from cartclock.engine.times import Instant, Length

# A meal so long before its time is that meal; our own judgement.
EARLY_US = 2 * HOUR_US


def until_meal_us(shift: Shift, meal: datetime.time | None, now_us: Instant) -> Length | None:
    """Time until the worker's meal of the day; None without one, once its time is past, or eaten.

    meal: by the clock of the shift's zone.
    """
    if meal is None:
        return None
    try:
        at_us = _at_us(shift, meal, now_us)
    except ValueError:
        return None
    gone = at_us <= now_us or meal_eaten(shift, meal, now_us)
    return None if gone else Length(at_us - now_us)


def meal_eaten(shift: Shift, meal: datetime.time, now_us: Instant) -> bool:
    """True if the meal of the day of `now_us` was taken, or is being taken, or if the worker came
    behind its time and ate before.

    meal: by the clock of the shift's zone. Raises ValueError for a zone that is none.
    """
    at_us = _at_us(shift, meal, now_us)
    return at_us < shift.on_us or any(
        isinstance(span.doing, Break) and span.doing.what == "meal"
        for span in shift.spans_to(now_us)
        if span.end_us > at_us - EARLY_US
    )


def _at_us(shift: Shift, meal: datetime.time, now_us: Instant) -> Instant:
    zone = shift.on.zone
    return time_on_day(day_of(now_us, zone), meal, zone)
