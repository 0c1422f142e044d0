"""The lists about the climate: a reading, the forecast of the day, days in the heat."""

from __future__ import annotations

from collections.abc import Callable
from typing import get_args

from engine.figures.air import celsius, fahrenheit
from engine.job import events as ev
from engine.job import rules
from engine.job.climate import STALE_US
from engine.job.curve import expected
from engine.job.rows import MINUTE_US
from engine.job.watch import newest
from engine.trouble import Refused
from tui.lists.host import Host
from tui.lists.in_view import zone_of
from tui.widgets.sheet import Line
from tui.widgets.values import Choice, Number

# What a hand instrument can show, in C; outside it is a slip of the finger. Our own judgement.
RANGES_C = {
    "air": (-30.0, 60.0),
    "panel": (-30.0, 100.0),
    "globe": (-30.0, 100.0),
    "WBGT meter": (-30.0, 60.0),
    "today's low": (-30.0, 60.0),
    "today's high": (-30.0, 60.0),
}
RH_RANGE = (1.0, 100.0)
RAIN_MINUTES = (0.0, 48 * 60.0)
# Line of the list at which it opens: most readings are made where the last one was.
AIR_LINE = 1


class Degrees:
    """A temperature in the worker's unit, kept in C."""

    def __init__(self, name: str, unit: str, last_c: float | None, fresh: bool = True) -> None:
        self._fahrenheit = unit == "F"
        last = last_c if last_c is None or not self._fahrenheit else round(fahrenheit(last_c), 1)
        step = 1.0 if self._fahrenheit else 0.5
        self.number = Number(name, unit, last if fresh else None, step, None if fresh else last)

    def line(self) -> Line:
        """Its line in a list."""
        return Line(self.number.text, turn=self.number.turn, type=self.number.type)

    @property
    def value_c(self) -> float | None:
        """What was entered, in C; None if not measured. Refuses what cannot be."""
        value, name = self.number.value, self.number.name
        if value is None:
            return None
        value_c = round(celsius(value), 2) if self._fahrenheit else value
        low, high = RANGES_C[name]
        if not low <= value_c <= high:
            raise Refused(f"{name} {value:g} {self.number.unit} cannot be.")
        return value_c


def _within(number: Number, low: float, high: float) -> float | None:
    if number.value is not None and not low <= number.value <= high:
        raise Refused(f"{number.name} {number.value:g} {number.unit} cannot be.")
    return number.value


def open_reading(host: Host) -> None:
    """A reading; its last line leads on to the forecast of the day.

    The last values are offered while they are fresh; older ones are only named.
    """
    bench, unit = host.cart.bench, host.cart.settings.temperature
    shift = bench.shift()
    last = shift.last_reading if shift is not None else None
    at_us = newest(shift, ev.ReadingTaken) if shift is not None else None
    fresh = at_us is not None and bench.now_us - at_us <= STALE_US
    before = last or ev.ReadingTaken()
    place = Choice("place", get_args(ev.ReadingPlace), before.place)
    air = Degrees("air", unit, before.air_c, fresh)
    rh = Number("humidity", "% RH", before.rh if fresh else None, 1.0, before.rh)
    panel = Degrees("panel", unit, before.panel_c, fresh)
    globe = Degrees("globe", unit, before.globe_c, fresh)
    wbgt = Degrees("WBGT meter", unit, before.wbgt_c, fresh)
    moving = Choice("air movement", get_args(ev.AirMovement), before.moving)
    rain_us = before.rain_at_us
    left = None if rain_us is None or rain_us <= bench.now_us else rain_us - bench.now_us
    rain = Number("rain in", "min", None if left is None else float(left // MINUTE_US), 30.0)

    def write() -> None:
        rain_minutes = _within(rain, *RAIN_MINUTES)
        now_us = host.cart.bench.now_us
        if left is not None and rain_minutes == float(left // MINUTE_US):
            rain_at_us = rain_us
        else:
            rain_at_us = None if rain_minutes is None else now_us + round(rain_minutes * MINUTE_US)
        reading = ev.ReadingTaken(
            air_c=air.value_c,
            rh=_within(rh, *RH_RANGE),
            panel_c=panel.value_c,
            globe_c=globe.value_c,
            wbgt_c=wbgt.value_c,
            place=place.value,  # type: ignore[arg-type]  # one of the words of the type
            moving=moving.value,  # type: ignore[arg-type]  # one of the words of the type
            rain_at_us=rain_at_us,
        )
        if all(
            value is None
            for value in (
                reading.air_c, reading.rh, reading.panel_c, reading.globe_c, reading.wbgt_c,
                reading.rain_at_us,
            )
        ):  # fmt: skip
            raise Refused("Nothing was measured; type or turn a value first.")
        host.cart.write(rules.note_shift, reading)
        ask_hot_days(host)

    lines = [
        Line(place.text, turn=place.turn),
        air.line(),
        Line(rh.text, turn=rh.turn, type=rh.type),
        panel.line(),
        globe.line(),
        wbgt.line(),
        Line(moving.text, turn=moving.turn),
        Line(rain.text, turn=rain.turn, type=rain.type),
        forecast_line(host),
    ]
    hint = "type or turn the values   space: write all of it   esc: nothing"
    host.sheet.open("Reading", lines, hint, done=host.guarded(write), at=AIR_LINE)


def ask_hot_days(host: Host) -> None:
    """At the first hot reading of a worker of whom the log does not know it: hot days?"""
    cart = host.cart
    watch = cart.body()
    if watch is None or not watch.hot or watch.held.acclimatization:
        return

    def said(days: int) -> Callable[[], None]:
        def write() -> None:
            bench = cart.bench
            zone = zone_of(bench)
            found = cart.shop.acclimatization(bench.worker, bench.now_us, zone, days)
            event = ev.HotDaysSaid(days, found.word, found.sentence)
            cart.write(rules.note_shift, event)
            cart.say(found.sentence)

        return host.guarded(write)

    most = 14
    lines = [Line("none", said(0)), *(Line(f"{n}", said(n)) for n in range(1, most + 1))]
    title = (
        "It is hot. On how many of the last 14 days was your work hot? Not told: the alert limit."
    )
    host.sheet.open(title, lines, "up, down: choose   space: say it   esc: not told")


def open_forecast(host: Host) -> None:
    """Today's low and high by the forecast; the ones entered last are offered."""
    bench = host.cart.bench
    shift = bench.shift()
    known = None if shift is None else expected(shift, bench.now_us)
    unit = host.cart.settings.temperature
    low = Degrees("today's low", unit, None if known is None else known.low_c)
    high = Degrees("today's high", unit, None if known is None else known.high_c)

    def write() -> None:
        low_c, high_c = low.value_c, high.value_c
        if low_c is None or high_c is None:
            raise Refused("Both are needed: today's low and today's high.")
        host.cart.write(rules.expect_day, low_c, high_c)

    lines = [low.line(), high.line()]
    hint = "type or turn the values   space: write both   esc: nothing"
    title = "Today by the forecast, air outdoors; it plans the next reading and judges nothing"
    host.sheet.open(title, lines, hint, done=host.guarded(write))


def forecast_line(host: Host) -> Line:
    """A line that opens the forecast's list; what was typed in the list it stands in is let go."""
    return Line("today's low and high ...", lambda: open_forecast(host))
