"""The rule of what is measured and said during a shift, whoever enters it.

The worker's hand and an instrument write the same events, and one rule says of both which of
them cannot be. What is unlikely but may be is to be asked about here too.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.figures.air import TemperatureUnit, celsius, dew_point_c, in_unit
from cartclock.engine.figures.bounds import Bound
from cartclock.engine.figures.limits import CLOTHING_C
from cartclock.engine.figures.measured import (
    AIR,
    CHECK_IN_MINUTES,
    DRINK,
    GLOBE,
    HOT_DAYS,
    HUMIDITY,
    LIKELY,
    PANEL,
    RAIN_IN,
    WBGT_METER,
    UnlikelyFigure,
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


def degrees_c(bound: Bound, value: float, unit: TemperatureUnit) -> float:
    """A temperature as it was entered, in C.

    Args:
        bound: range in C.
        value: in `unit`, "C" or "F"; the refusal says it as it was entered.

    Raises Refused for one that cannot be.
    """
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

    event: of a reading, a forecast, a drink, signs of being unwell, a sign of life, days in
    the heat, what is worn, whether the roof is hot. now_us: job time of the press.
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
        case ev.ClothingSaid(clothing):
            if clothing not in CLOTHING_C:
                raise Refused(f"{clothing!r} is not in the list: {', '.join(CLOTHING_C)}.")
        case ev.RoofSaid():
            pass
        case ev.HotDaysSaid(days):
            within(HOT_DAYS, days)
        case ev.CautionsRead(products):
            if not products:
                raise Refused("Name the product.")
        case ev.FeltUnwell(signs):
            if not signs:
                raise Refused("Name the sign.")
        case _:
            raise Refused("That is nothing to note of a shift.")


class Unlikely(Struct, frozen=True):
    """One thing of a reading that looks odd.

    Fields:
        figure: which of `LIKELY` it goes over.
        field: of the reading; where the slip most likely is.
        says: in words, without a full stop: "58 on the panel at 26 in the air, indoors".
    """

    figure: UnlikelyFigure
    field: str
    says: str


def unlikely(
    reading: ev.ReadingTaken, before: ev.ReadingTaken | None = None, unit: TemperatureUnit = "C"
) -> tuple[Unlikely, ...]:
    """What looks odd of a reading that may be, in the order in which it is asked about.

    before: the reading of air and humidity in force until then; None if there is none.
    unit: in which the figures are said.
    """
    found = [*_apart(reading, unit), *_damp(reading, unit)]
    if before is not None and before.place == reading.place:
        found += _moved(reading, before, unit)
    return tuple(found)


def odd_question(found: Sequence[Unlikely]) -> str:
    """What is asked before a reading that looks odd is kept."""
    return f"{'; '.join(one.says for one in found)}: is it right?"


def _apart(reading: ev.ReadingTaken, unit: TemperatureUnit) -> list[Unlikely]:
    """Figures too far from the air beside them."""
    air_c = reading.air_c
    if air_c is None:
        return []
    sky = reading.place in ("cloud", "sun")
    panel: UnlikelyFigure = "panel over air, no sun"
    if sky:
        panel = "panel over air, sun" if reading.place == "sun" else "panel over air, cloud"
    at = f"at {_said(air_c, unit)} in the air, {reading.place}"
    ends: tuple[tuple[UnlikelyFigure, str, float | None, float, str], ...] = (
        (panel, "panel_c", reading.panel_c, 1.0, "on the panel"),
        ("panel under air", "panel_c", reading.panel_c, -1.0, "on the panel"),
        (
            "globe over air, sky" if sky else "globe over air, no sun",
            "globe_c",
            reading.globe_c,
            1.0,
            "on the globe",
        ),
        ("globe under air", "globe_c", reading.globe_c, -1.0, "on the globe"),
        ("WBGT over air", "wbgt_c", reading.wbgt_c, 1.0, "on the WBGT meter"),
    )
    return [
        Unlikely(figure, field, f"{_said(value, unit)} {where} {at}")
        for figure, field, value, way, where in ends
        if value is not None and way * (value - air_c) > LIKELY[figure].most_c
    ]


def _damp(reading: ev.ReadingTaken, unit: TemperatureUnit) -> list[Unlikely]:
    """A dew point that air hardly ever has."""
    dew_c = _dew_c(reading)
    if dew_c is None or dew_c <= LIKELY["dew point"].most_c:
        return []
    rh, air = f"{reading.rh:g} %", _said(reading.air_c or 0.0, unit)
    return [Unlikely("dew point", "rh", f"{rh} humidity at {air}, damper than air hardly ever is")]


def _moved(
    reading: ev.ReadingTaken, before: ev.ReadingTaken, unit: TemperatureUnit
) -> list[Unlikely]:
    """A jump that the day does not make."""
    found = []
    ends: tuple[tuple[UnlikelyFigure, str, str, float | None, float | None], ...] = (
        ("air moved", "air_c", "air", before.air_c, reading.air_c),
        ("dew point moved", "rh", "dew point", _dew_c(before), _dew_c(reading)),
    )
    for figure, field, name, was_c, is_c in ends:
        if was_c is None or is_c is None or abs(is_c - was_c) <= LIKELY[figure].most_c:
            continue
        says = f"{name} {_said(is_c, unit)}, it was {_said(was_c, unit)} within the hour"
        found.append(Unlikely(figure, field, says))
    return found


def _dew_c(reading: ev.ReadingTaken) -> float | None:
    if reading.air_c is None or reading.rh is None:
        return None
    return dew_point_c(reading.air_c, reading.rh)


def _said(value_c: float, unit: TemperatureUnit) -> str:
    return f"{round(in_unit(value_c, unit), 1):g}"


def _refuse_reading(reading: ev.ReadingTaken, now_us: Instant) -> None:
    values = {name: getattr(reading, name) for name in MEASURED}
    if reading.rain_at_us is None and all(value is None for value in values.values()):
        raise Refused("Nothing was measured; type or turn a value first.")
    for name, bound in MEASURED.items():
        within(bound, values[name])
    # Rain that was expected for a time that has passed by stands in a reading like any other.
    within(RAIN_IN, rain_in(reading.rain_at_us, now_us))
