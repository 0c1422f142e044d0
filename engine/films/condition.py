"""A stage that waits for the climate: whether it is there, and when to look again.

A reading is believed for an hour, here as everywhere.
"""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.dates import age_said
from cartclock.engine.facts.in_force import is_in_force, newest_reading
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.plan.plan import Condition
from cartclock.engine.times import Instant

NAMES = {"panel_c": "panel", "air_c": "air", "rh": "humidity"}
_UNITS = {"panel_c": "C", "air_c": "C", "rh": "%"}


def age_minutes(at_us: Instant, now_us: Instant) -> int:
    """Age of a reading in whole minutes, cut."""
    return (now_us - at_us) // MINUTE_US


class ConditionState(Struct, frozen=True):
    """How a stage's condition stands.

    Fields:
        at_us: when the newest reading of its quantity was taken; None if there is none.
        value: what it showed, in C or percent.
        met: None without a reading that is believed.
        says: in words, without a full stop.
        next_us: when to look again; None without a reading.
    """

    at_us: Instant | None
    value: float | None
    met: bool | None
    says: str
    next_us: Instant | None

    def again(self, now_us: Instant) -> str:
        """When to look again, in words; "" without a reading or where the condition is met."""
        if self.met or self.next_us is None:
            return ""
        left = -(-(self.next_us - now_us) // MINUTE_US)
        return f"look again in {left} min" if left > 0 else "look again now"


def condition_met(condition: Condition, value: float) -> bool:
    """True if a value in the condition's unit is on the wanted side; the limit itself is not."""
    return value < condition.value if condition.below else value > condition.value


def condition_state(condition: Condition, shift: Shift | None, now_us: Instant) -> ConditionState:
    """Whether the climate that a stage waits for is there at `now_us`."""
    name, unit = NAMES[condition.quantity], _UNITS[condition.quantity]
    wanted = f"{'under' if condition.below else 'over'} {condition.value:g} {unit}"
    row = newest_reading(shift, now_us, condition.quantity)
    if row is None:
        return ConditionState(None, None, None, f"{name} not measured, wanted {wanted}", None)
    value = float(getattr(row.event, condition.quantity))
    next_us = row.at_us + condition.look_s * SECOND_US
    if not is_in_force(row.at_us, now_us):
        says = f"{name} read {age_said(age_minutes(row.at_us, now_us))} ago, wanted {wanted}"
        return ConditionState(row.at_us, value, None, says, Instant(next_us))
    says = f"{name} {value:g} {unit}, wanted {wanted}"
    return ConditionState(row.at_us, value, condition_met(condition, value), says, Instant(next_us))
