"""When the air of today should be right: the planning curve of a shift's day, in words.

The air moves as the curve between the forecast's low and high does, the panel moves with the
air, and the dew point stays. A panel well over the air is heated by the sun: what the sun adds
goes back as soon as it is shaded, and no curve knows when that is, so only the air is planned.
A garage lags: the hour says when to measure again, no more.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from cartclock.engine.dates import hour_of_day, local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import newest_reading
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Shift
from cartclock.engine.figures import gate
from cartclock.engine.figures.air import dew_point_c
from cartclock.engine.figures.day_curve import change_c, rh_at
from cartclock.engine.figures.gate import LabelLimits
from cartclock.engine.films.condition import condition_met
from cartclock.engine.plan.plan import Condition
from cartclock.engine.times import Instant

CURVE = "Planning curve"
SUN_C = 3.0
"""A panel further over the air than this is heated by something else than the air, C. Our own
judgement."""

STEP_MINUTES = 5
_DAY_MINUTES = 24 * 60
# Whether a thing is met once the air has changed by so many degrees C since the reading.
Met = Callable[[float], bool]


def expected(shift: Shift, now_us: Instant) -> ev.DayExpected | None:
    """The forecast's low and high for the day of `now_us`, as entered last; None if not known.

    The day is the calendar's, in the zone of the shift.
    """
    zone = shift.on.zone
    today = local(now_us, zone).date()
    found: tuple[int, ev.DayExpected] | None = None
    for row in shift.facts:
        if not isinstance(row.event, ev.DayExpected) or row.at_us > now_us:
            continue
        newer = found is None or row.at_us >= found[0]
        if newer and local(row.at_us, zone).date() == today:
            found = row.at_us, row.event
    return None if found is None else found[1]


def _first(shift: Shift, at_us: Instant, now_us: Instant, met: Met) -> str | None:
    """The clock time from which something should be met today; "" if it is not, None if nothing
    can be said.

    at_us: of the reading it is reckoned from. A whole hour where there is one; else the step of
    minutes, so that what is met for half an hour is not said to be not met.
    """
    day = expected(shift, now_us)
    then, now = (local(us, shift.on.zone) for us in (at_us, now_us))
    if day is None or then.date() != now.date():
        return None
    from_hour = hour_of_day(at_us, shift.on.zone)
    minute = now.hour * 60 + now.minute
    hours = range((now.hour + 1) * 60, _DAY_MINUTES, 60)
    steps = range(minute - minute % STEP_MINUTES + STEP_MINUTES, _DAY_MINUTES, STEP_MINUTES)
    for at in (*hours, *steps):
        if met(round(change_c(from_hour, at / 60, day.low_c, day.high_c), 6)):
            return f"{at // 60:02}:{at % 60:02}"
    return ""


def _about(when: str | None) -> str:
    """When a thing should be met, as a sentence; "" if nothing can be said."""
    if when is None:
        return ""
    return f"{CURVE}: met about {when}; measure then." if when else f"{CURVE}: not met today."


def _about_air(when: str | None, high_c: float) -> str:
    """When the air should be under what a panel in the sun is over, as a sentence."""
    if when is None:
        return ""
    said = f"is under {high_c:g} C from {when}" if when else f"stays over {high_c:g} C today"
    return f"{CURVE}: the air {said}; shade it and measure."


def _shaded(high_c: float) -> str:
    """What helps a panel in the sun where the air is cool enough as it is."""
    return f"The air is under {high_c:g} C: shade it and measure."


def in_the_sun(panel_c: float, air_c: float) -> bool:
    """True of a panel so far over the air that it is not the air that warms it."""
    return panel_c > air_c + SUN_C


# Solving for the dew point takes its time, and every repaint asks again.
@lru_cache(maxsize=1024)
def _gate_met(panel_c: float, air_c: float, rh: float, limits: LabelLimits) -> bool:
    try:
        return gate.worst(gate.findings(panel_c, air_c, rh, limits)) != "ask"
    except ValueError:
        # Planned out of what a figure takes: nothing is known of that hour.
        return False


def gate_about(shift: Shift, row: Row, limits: LabelLimits, now_us: Instant) -> str:
    """When the gate should be met that a whole reading did not meet; "" if it cannot be said."""
    reading = row.event
    if not isinstance(reading, ev.ReadingTaken):
        return ""
    panel_c, air_c, rh = reading.panel_c, reading.air_c, reading.rh
    if panel_c is None or air_c is None or rh is None:
        return ""
    dew_c = dew_point_c(air_c, rh)
    heated = in_the_sun(panel_c, air_c)
    over_c = 0.0 if heated else panel_c - air_c

    def met(by_c: float) -> bool:
        there_c = air_c + by_c
        try:
            damp = rh_at(there_c, dew_c)
        except ValueError:
            return False
        return _gate_met(there_c + over_c, there_c, damp, limits)

    high_c = limits.panel_high_c
    if heated and high_c is not None and panel_c > high_c:
        # Under the panel's own limit the air may still be too damp.
        if air_c <= high_c:
            return _shaded(high_c) if met(0.0) else _about(_first(shift, row.at_us, now_us, met))
        cool = _first(shift, row.at_us, now_us, lambda by_c: air_c + by_c <= high_c)
        if not cool:
            return _about_air(cool, high_c)
        when = _first(shift, row.at_us, now_us, met)
        return _about_air(when, high_c) if when else _about(when)
    return _about(_first(shift, row.at_us, now_us, met))


def condition_about(shift: Shift, condition: Condition, now_us: Instant) -> str:
    """When a stage's condition should be met; "" if it cannot be said."""
    row = newest_reading(shift, now_us, condition.quantity)
    if row is None or not isinstance(row.event, ev.ReadingTaken):
        return ""
    value, air_c = float(getattr(row.event, condition.quantity)), row.event.air_c
    if condition.quantity == "rh":
        if air_c is None:
            return ""
        air, dew_c = air_c, dew_point_c(air_c, value)
        return _about(
            _first(
                shift,
                row.at_us,
                now_us,
                lambda by_c: condition_met(condition, rh_at(air + by_c, dew_c)),
            )
        )
    heated = condition.quantity == "panel_c" and air_c is not None and in_the_sun(value, air_c)
    if heated and condition.below and air_c is not None:
        value = air_c
        if condition_met(condition, value):
            return _shaded(condition.value)

    def met(by_c: float) -> bool:
        return condition_met(condition, value + by_c)

    when = _first(shift, row.at_us, now_us, met)
    return _about_air(when, condition.value) if heated and condition.below else _about(when)
