"""The lists about the climate: a reading, the forecast of the day, days in the heat."""

from __future__ import annotations

from collections.abc import Callable
from typing import get_args

from cartclock.engine.body.watch import newest_fact_us
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import is_in_force
from cartclock.engine.figures.air import fahrenheit
from cartclock.engine.figures.bounds import Bound
from cartclock.engine.figures.measured import (
    AIR,
    GLOBE,
    HOT_DAYS,
    HUMIDITY,
    PANEL,
    RAIN_IN,
    WBGT_METER,
)
from cartclock.engine.films.curve import expected
from cartclock.engine.rules import rules
from cartclock.engine.rules.readings import HIGH, LOW, degrees_c, rain_at_us, rain_in, within
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.in_view import zone_of
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Choice, Number

# Line of the list at which it opens: most readings are made where the last one was.
AIR_LINE = 1


class Degrees:
    """A temperature in the worker's unit, kept in C."""

    def __init__(self, of: Bound, unit: str, last_c: float | None, fresh: bool = True) -> None:
        self._of, self._unit = of, unit
        last = last_c if last_c is None or unit == "C" else round(fahrenheit(last_c), 1)
        step = 1.0 if unit == "F" else 0.5
        self.number = Number(of.name, unit, last if fresh else None, step, None if fresh else last)

    def line(self) -> Line:
        """Its line in a list."""
        return Line(self.number.text, turn=self.number.turn, type=self.number.type)

    @property
    def value_c(self) -> float | None:
        """What was entered, in C; None if not measured. Refuses what cannot be."""
        return degrees_c(self._of, self.number.value, self._unit)


def open_reading(host: Host) -> None:
    """A reading; its last line leads on to the forecast of the day.

    The last values are offered while they are fresh; older ones are only named.
    """
    bench, unit = host.cart.bench, host.cart.settings.temperature
    shift = bench.shift()
    last = shift.last_reading if shift is not None else None
    at_us = newest_fact_us(shift, ev.ReadingTaken) if shift is not None else None
    fresh = at_us is not None and is_in_force(at_us, bench.now_us)
    before = last or ev.ReadingTaken()
    place = Choice("place", get_args(ev.ReadingPlace), before.place)
    air = Degrees(AIR, unit, before.air_c, fresh)
    rh = Number(HUMIDITY.name, HUMIDITY.unit, before.rh if fresh else None, 1.0, before.rh)
    panel = Degrees(PANEL, unit, before.panel_c, fresh)
    globe = Degrees(GLOBE, unit, before.globe_c, fresh)
    wbgt = Degrees(WBGT_METER, unit, before.wbgt_c, fresh)
    moving = Choice("air movement", get_args(ev.AirMovement), before.moving)
    left = rain_in(before.rain_at_us, bench.now_us)
    rain = Number(RAIN_IN.name, RAIN_IN.unit, left, 30.0)

    def write() -> None:
        # Minutes left as they were leave the rain at its time, to the second.
        kept = left is not None and rain.value == left
        rain_us = before.rain_at_us if kept else rain_at_us(rain.value, host.cart.bench.now_us)
        reading = ev.ReadingTaken(
            air_c=air.value_c,
            rh=within(HUMIDITY, rh.value),
            panel_c=panel.value_c,
            globe_c=globe.value_c,
            wbgt_c=wbgt.value_c,
            place=place.value,  # type: ignore[arg-type]  # one of the words of the type
            moving=moving.value,  # type: ignore[arg-type]  # one of the words of the type
            rain_at_us=rain_us,
        )
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
    hint = "space: write all of it   0-9: value   left, right: turn it   esc: nothing"
    host.sheet.open("Reading", lines, hint, done=write, at=AIR_LINE)


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

        return write

    days = range(1, round(HOT_DAYS.high) + 1)
    lines = [Line("none", said(0)), *(Line(f"{n}", said(n)) for n in days)]
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
    low = Degrees(LOW, unit, None if known is None else known.low_c)
    high = Degrees(HIGH, unit, None if known is None else known.high_c)

    def write() -> None:
        host.cart.write(rules.expect_day, low.value_c, high.value_c)

    lines = [low.line(), high.line()]
    hint = "space: write both   0-9: value   left, right: turn it   esc: nothing"
    title = "Today by the forecast, air outdoors; it plans the next reading and judges nothing"
    host.sheet.open(title, lines, hint, done=write)


def forecast_line(host: Host) -> Line:
    """A line that opens the forecast's list; what was typed in the list it stands in is let go."""
    return Line("today's low and high ...", lambda: open_forecast(host))
