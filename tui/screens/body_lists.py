"""The lists about the body and the climate: reading, drink, signs, sign of life, hot days."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, get_args

from engine.figures.air import celsius, fahrenheit
from engine.job import events as ev
from engine.job import rules
from engine.job.climate import STALE_US
from engine.job.rows import MINUTE_US
from engine.job.signs import NEVER_CALLS, SIGNS, check_in
from engine.job.watch import newest
from engine.trouble import Refused
from tui.screens.lists import guarded
from tui.widgets.sheet import Line
from tui.widgets.values import Choice, Number

if TYPE_CHECKING:
    from tui.screens.run import RunScreen

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


def open_reading(screen: RunScreen) -> None:
    """A reading; its last line leads on to the forecast of the day.

    The last values are offered while they are fresh; older ones are only named.
    """
    # The lists of the gate lead back to this one.
    from tui.screens.gate_lists import forecast_line

    bench, unit = screen.cart.bench, screen.cart.settings.temperature
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
        now_us = screen.cart.bench.now_us
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
        screen.cart.write(rules.note_shift, reading)
        ask_hot_days(screen)

    lines = [
        Line(place.text, turn=place.turn),
        air.line(),
        Line(rh.text, turn=rh.turn, type=rh.type),
        panel.line(),
        globe.line(),
        wbgt.line(),
        Line(moving.text, turn=moving.turn),
        Line(rain.text, turn=rain.turn, type=rain.type),
        forecast_line(screen),
    ]
    hint = "type or turn the values   space: write all of it   esc: nothing"
    screen.sheet.open("Reading", lines, hint, done=guarded(screen, write), at=AIR_LINE)


def ask_hot_days(screen: RunScreen) -> None:
    """At the first hot reading of a worker of whom the log does not know it: hot days?"""
    cart = screen.cart
    watch = cart.body()
    if watch is None or not watch.hot or watch.held.acclimatization:
        return

    def said(days: int) -> Callable[[], None]:
        def write() -> None:
            bench = cart.bench
            shift = bench.shift()
            zone = shift.on.zone if shift is not None and shift.on is not None else "UTC"
            found = cart.shop.acclimatization(bench.worker, bench.now_us, zone, days)
            event = ev.HotDaysSaid(days, found.word, found.sentence)
            cart.write(rules.note_shift, event)
            cart.say(found.sentence)

        return guarded(screen, write)

    most = 14
    lines = [Line("none", said(0)), *(Line(f"{n}", said(n)) for n in range(1, most + 1))]
    title = (
        "It is hot. On how many of the last 14 days was your work hot? Not told: the alert limit."
    )
    screen.sheet.open(title, lines, "up, down: choose   space: say it   esc: not told")


def open_drinks(screen: RunScreen) -> None:
    """A drink by its size."""
    lines = []
    # A cup of 240 ml (8 oz) is what NIOSH 2017-126 counts in.
    for ml, said, hot in ((240, "a cup", "c"), (500, "a bottle", "b"), (120, "half a cup", "h")):

        def drink(ml: int = ml) -> None:
            screen.cart.write(rules.note_shift, ev.DrinkTaken(ml))
            watch = screen.cart.body()
            if watch is not None and watch.water.too_much:
                screen.cart.say(watch.water.sentence)

        lines.append(Line(f"{said}, {ml} ml", guarded(screen, drink), hot=hot))
    screen.sheet.open("Drink", lines)


def open_signs(screen: RunScreen) -> None:
    """One list of signs, the serious ones first; the pick is written and answered at once."""
    lines = []
    for sign in SIGNS:

        def name(say: str = sign.say) -> None:
            screen.cart.write(rules.note_shift, ev.FeltUnwell((say,)))
            screen.cart.advise((say,))

        lines.append(Line(sign.say, guarded(screen, name)))
    screen.sheet.open("How I feel: not well, with", lines)


PERIODS_MINUTES = (15, 30, 60)


def open_check_in(screen: RunScreen) -> None:
    """A sign of life; the period agreed last is offered first."""
    shift = screen.cart.bench.shift()
    agreed_s = check_in(shift, screen.cart.bench.now_us).every_s if shift is not None else 0
    offered = sorted(PERIODS_MINUTES, key=lambda minutes: minutes * 60 != agreed_s)

    def write(every_s: int) -> Callable[[], None]:
        return guarded(screen, lambda: screen.cart.write(rules.note_shift, ev.CheckedIn(every_s)))

    lines = [Line(f"I am well; next in {n} min", write(n * 60)) for n in offered]
    if agreed_s:
        lines.append(Line("no more check-ins today", write(0)))
    screen.sheet.open(f"Check in. {NEVER_CALLS}", lines)
