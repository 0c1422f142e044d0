"""The rule of what is measured and said during a shift, whoever enters it.

The worker's hand and an instrument write the same events, and one rule says of both which of
them cannot be. What is unlikely but may be is to be asked about here too.
"""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.figures.air import celsius
from cartclock.engine.figures.bounds import Bound
from cartclock.engine.figures.measured import (
    AIR,
    CHECK_IN_MINUTES,
    DRINK,
    GLOBE,
    HOT_DAYS,
    HUMIDITY,
    PANEL,
    RAIN_IN,
    WBGT_METER,
)
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

LOW, HIGH = AIR.named("today's low"), AIR.named("today's high")

# Field of a reading -> what it may be.
MEASURED: dict[str, Bound] = {
    "air_c": AIR,
    "rh": HUMIDITY,
    "panel_c": PANEL,
    "globe_c": GLOBE,
    "wbgt_c": WBGT_METER,
}


def _sentence(bound: Bound, value: float, unit: str) -> str:
    return f"{bound.name} {value:g} {unit}".rstrip() + " cannot be."


def within(bound: Bound, value: float | None) -> float | None:
    """A value in the range's own unit, None if it was not measured.

    Raises Refused for one that cannot be.
    """
    if value is not None and not bound.holds(value):
        raise Refused(_sentence(bound, value, bound.unit))
    return value


def degrees_c(bound: Bound, value: float | None, unit: str) -> float | None:
    """A temperature as it was entered, in C; None if it was not measured.

    Args:
        bound: range in C.
        value: in `unit`, "C" or "F"; the refusal says it as it was entered.

    Raises Refused for one that cannot be.
    """
    if value is None:
        return None
    value_c = round(celsius(value), 2) if unit == "F" else value
    if not bound.holds(value_c):
        raise Refused(_sentence(bound, value, unit))
    return value_c


def rain_at_us(minutes: float | None, now_us: Instant) -> Instant | None:
    """Job time of the rain that is expected in so many minutes; None if none is.

    Raises Refused for minutes that cannot be.
    """
    within(RAIN_IN, minutes)
    return None if minutes is None else Instant(now_us + round(minutes * MINUTE_US))


def rain_in(at_us: Instant | None, now_us: Instant) -> float | None:
    """Whole minutes until the rain of a reading, cut down; None if none lies ahead."""
    return None if at_us is None or at_us <= now_us else float((at_us - now_us) // MINUTE_US)


def refuse(event: Struct, now_us: Instant) -> None:
    """Raises Refused, in a sentence, for what cannot be noted of a shift.

    event: of a reading, a forecast, a drink, signs of being unwell, a sign of life or days in
    the heat. now_us: job time of the press.
    """
    match event:
        case ev.ReadingTaken():
            _refuse_reading(event, now_us)
        case ev.DayExpected(low_c, high_c):
            within(LOW, low_c)
            within(HIGH, high_c)
            if low_c > high_c:
                raise Refused(f"The low, {low_c:g} C, is above the high, {high_c:g} C.")
        case ev.DrinkTaken(ml):
            within(DRINK, ml)
        case ev.CheckedIn(every_s):
            within(CHECK_IN_MINUTES, every_s / 60)
        case ev.HotDaysSaid(days):
            within(HOT_DAYS, days)
        case ev.FeltUnwell(signs):
            if not signs:
                raise Refused("Name the sign.")
        case _:
            raise Refused("That is nothing to note of a shift.")


def _refuse_reading(reading: ev.ReadingTaken, now_us: Instant) -> None:
    values = {name: getattr(reading, name) for name in MEASURED}
    if reading.rain_at_us is None and all(value is None for value in values.values()):
        raise Refused("Nothing was measured; type or turn a value first.")
    for name, bound in MEASURED.items():
        within(bound, values[name])
    # Rain that was expected for a time that has passed by stands in a reading like any other.
    within(RAIN_IN, rain_in(reading.rain_at_us, now_us))
