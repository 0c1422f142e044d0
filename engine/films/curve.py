"""When the air of today should be right: the planning curve of a shift's day, in words.

The air moves as the curve between the forecast's low and high does, the panel moves with the
air, and the dew point stays. A garage lags: the hour says when to measure again, no more.
"""

from __future__ import annotations

from collections.abc import Callable

from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Shift
from cartclock.engine.figures import gate
from cartclock.engine.figures.air import dew_point_c
from cartclock.engine.figures.day_curve import change_c, rh_at
from cartclock.engine.figures.gate import LabelLimits
from cartclock.engine.films.condition import condition_met, newest_reading
from cartclock.engine.plan.plan import Condition
from cartclock.engine.times import Instant


def expected(shift: Shift, now_us: Instant) -> ev.DayExpected | None:
    """The forecast's low and high for the day of `now_us`, as entered last; None if not known.

    The day is the calendar's, in the zone of the shift.
    """
    zone = _zone(shift)
    today = local(now_us, zone).date()
    found: tuple[int, ev.DayExpected] | None = None
    for row in shift.facts:
        if not isinstance(row.event, ev.DayExpected) or row.at_us > now_us:
            continue
        newer = found is None or row.at_us >= found[0]
        if newer and local(row.at_us, zone).date() == today:
            found = row.at_us, row.event
    return None if found is None else found[1]


def _zone(shift: Shift) -> str:
    return "UTC" if shift.on is None else shift.on.zone


def about(shift: Shift, at_us: Instant, now_us: Instant, met: Callable[[float], bool]) -> str:
    """At which whole hour of today something should be met, a sentence; "" without a forecast.

    at_us: of the reading it is reckoned from. met: whether it is met once the air has changed
    by so many degrees C since that reading; a ValueError of it counts as not met.
    """
    day = expected(shift, now_us)
    then, now = (local(us, _zone(shift)) for us in (at_us, now_us))
    if day is None or then.date() != now.date():
        return ""
    from_hour = then.hour + then.minute / 60
    for hour in range(now.hour + 1, 24):
        try:
            if met(change_c(from_hour, hour, day.low_c, day.high_c)):
                return f"Planning curve: met about {hour:02}:00; measure then."
        except ValueError:
            # Planned out of what a figure takes: it says nothing of that hour.
            continue
    return "Planning curve: not met today."


def gate_about(shift: Shift, row: Row, limits: LabelLimits, now_us: Instant) -> str:
    """When the gate should be met that a whole reading did not meet; "" if it cannot be said."""
    reading = row.event
    if not isinstance(reading, ev.ReadingTaken):
        return ""
    panel_c, air_c, rh = reading.panel_c, reading.air_c, reading.rh
    if panel_c is None or air_c is None or rh is None:
        return ""
    dew_c = dew_point_c(air_c, rh)

    def met(by_c: float) -> bool:
        damp = rh_at(air_c + by_c, dew_c)
        return gate.worst(gate.findings(panel_c + by_c, air_c + by_c, damp, limits)) != "ask"

    return about(shift, row.at_us, now_us, met)


def condition_about(shift: Shift, condition: Condition, now_us: Instant) -> str:
    """When a stage's condition should be met; "" if it cannot be said."""
    row = newest_reading(shift, now_us, condition.quantity)
    if row is None or not isinstance(row.event, ev.ReadingTaken):
        return ""
    value, air_c = float(getattr(row.event, condition.quantity)), row.event.air_c
    if condition.quantity != "rh":
        return about(shift, row.at_us, now_us, lambda by_c: condition_met(condition, value + by_c))
    if air_c is None:
        return ""
    air = air_c
    return about(
        shift,
        row.at_us,
        now_us,
        lambda by_c: condition_met(condition, rh_at(air + by_c, dew_point_c(air, value))),
    )
