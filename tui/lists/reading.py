"""The lists about the climate: a reading, the forecast of the day, days in the heat."""

from __future__ import annotations

from collections.abc import Callable
from typing import get_args

from cartclock.engine.body.acclimatization import HOT_DAY_MINUTES
from cartclock.engine.body.surroundings import HOT_ROOF_C, roof_unseen
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import is_in_force, newest_reading
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift_events import AirMovement, ReadingPlace
from cartclock.engine.figures.air import TemperatureUnit, fahrenheit
from cartclock.engine.figures.bounds import Bound
from cartclock.engine.figures.measured import HOT_DAYS, HUMIDITY, RAIN_IN
from cartclock.engine.films.cure import age_text
from cartclock.engine.films.curve import expected
from cartclock.engine.rules import rules
from cartclock.engine.rules.readings import (
    HIGH,
    LOW,
    MEASURED,
    degrees_c,
    rain_at_us,
    rain_in,
    unlikely,
    within,
)
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused
from cartclock.tui.lists.clock import clothing_choice
from cartclock.tui.lists.host import Host
from cartclock.tui.told.in_view import zone_of
from cartclock.tui.widgets.sheet import Line, nothing
from cartclock.tui.widgets.values import Choice, Number

# In this order it has room in two rows of 38 cells behind "2 of 10".
HINT = "space: write   esc: nothing   enter: goes on   left, right, 0-9: set"


class Degrees:
    """A temperature in the worker's unit, kept in C.

    last_c: as it was measured last; None if it never was. ago: how long ago that was, in words,
    where it is not offered as the value; "" offers it.
    """

    def __init__(
        self, of: Bound, unit: TemperatureUnit, last_c: float | None, ago: str = ""
    ) -> None:
        self._of, self._unit = of, unit
        last = None if last_c is None else self._in_unit(last_c)
        step = 1.0 if unit == "F" else 0.5
        self.number = Number(of.name, unit, None if ago else last, step, last, ago)

    def _in_unit(self, value_c: float) -> float:
        return value_c if self._unit == "C" else round(fahrenheit(value_c), 1)

    def line(self) -> Line:
        """Its line in a list."""
        return Line(self.number.text, turn=self.number.turn, type=self.number.type)

    def offer(self, value_c: float) -> None:
        """Another value, unless the worker has entered one."""
        self.number.offer(self._in_unit(value_c))

    @property
    def value(self) -> float | None:
        """What was entered, in C; None if not measured. Refuses what cannot be."""
        value = self.number.value
        return None if value is None else degrees_c(self._of, value, self._unit)


class Percent:
    """A humidity; as `Degrees`."""

    def __init__(self, of: Bound, last: float | None, ago: str = "") -> None:
        self._of = of
        self.number = Number(of.name, of.unit, None if ago else last, 1.0, last, ago)

    def line(self) -> Line:
        """Its line in a list."""
        return Line(self.number.text, turn=self.number.turn, type=self.number.type)

    def offer(self, value: float) -> None:
        """Another value, unless the worker has entered one."""
        self.number.offer(value)

    @property
    def value(self) -> float | None:
        """What was entered; None if not measured. Refuses what cannot be."""
        return within(self._of, self.number.value)


class Entered:
    """A reading as it is entered, beginning with the last figures as they stand.

    One key confirms what has not changed. What the newest reading did not measure is named with
    its age and offered to be turned, for it would be confirmed unseen; and rain that is noted
    alone, over figures that are no longer believed, confirms none of them.
    """

    def __init__(self, host: Host) -> None:
        bench, unit = host.cart.bench, host.cart.settings.temperature
        self._host, self._unit = host, unit
        shift, now_us = bench.shift(), bench.now_us
        newest = newest_reading(shift, now_us)
        self._before = _reading_of(newest)
        self._stale = newest is not None and not is_in_force(newest.at_us, now_us)
        self._title = _title(newest, now_us, bench.worker)
        before = self._before or ev.ReadingTaken(moving="not said")
        self._fields: dict[str, Degrees | Percent] = {}
        for name, bound in MEASURED.items():
            last = newest_reading(shift, now_us, name)
            value = None if last is None else getattr(last.event, name)
            ago = "" if last is None or last is newest else age_text(last.at_us, last.at_us, now_us)
            if bound is HUMIDITY:
                self._fields[name] = Percent(bound, value, ago)
            else:
                self._fields[name] = Degrees(bound, unit, value, ago)
        self._place = Choice("place", get_args(ReadingPlace), before.place)
        self._moving = Choice("air movement", get_args(AirMovement), before.moving)
        self._left = rain_in(before.rain_at_us, now_us)
        self._rain = Number(RAIN_IN.name, RAIN_IN.unit, self._left, 30.0)
        self._worn = clothing_choice(host.cart, shift)
        self._wore = self._worn.value

    def show(self, at: str = "") -> None:
        """Opens the list; at: field whose line is chosen, "" for where figures are missing."""
        lines = {
            "place": Line(self._place.text, turn=self._place.turn),
            **{name: field.line() for name, field in self._fields.items()},
            "moving": Line(self._moving.text, turn=self._moving.turn),
            "rain": Line(self._rain.text, turn=self._rain.turn, type=self._rain.type),
            "worn": Line(self._worn.text, turn=self._worn.turn),
            "forecast": Line("today's low and high ...", self._forecast),
        }
        names = list(lines)
        self._host.sheet.open(
            self._title,
            list(lines.values()),
            HINT,
            done=self._write,
            at=names.index(at or self._first()),
            enter_goes_on=True,
        )

    def _forecast(self) -> None:
        """The forecast of the day, and back to the figures if any were entered."""
        if not self._entered:
            open_forecast(self._host)
            return
        # On a figure again, where SPACE writes.
        open_forecast(self._host, self.show)

    def _first(self) -> str:
        """The figure that the newest reading lacks and one before it had; else the air."""
        lacking = (name for name, field in self._fields.items() if field.number.ago)
        return next(lacking, "air_c")

    def came(self, reading: ev.ReadingTaken) -> None:
        """The instrument answered: its figures stand where the worker has entered none."""
        sheet = self._host.sheet
        if not sheet.is_open or sheet.title != self._title:
            return
        for name, field in self._fields.items():
            value = getattr(reading, name)
            if value is not None:
                field.offer(value)
        sheet.paint()

    def _reading(self, confirmed: bool) -> ev.ReadingTaken:
        before, rain = self._before, self._rain.value
        measured = {
            name: None if self._only_rain else field.value for name, field in self._fields.items()
        }
        # Minutes left as they were leave the rain at its time, to the second.
        kept = before is not None and self._left is not None and rain == self._left
        now_us = self._host.cart.bench.now_us
        return ev.ReadingTaken(
            **measured,
            place=self._place.value,  # type: ignore[arg-type]  # one of the words of the type
            moving=self._moving.value,  # type: ignore[arg-type]  # one of the words of the type
            rain_at_us=before.rain_at_us if kept and before else rain_at_us(rain, now_us),
            confirmed=confirmed,
        )

    @property
    def _only_rain(self) -> bool:
        """True if rain is all that was entered, and the figures are too old to stand by it."""
        return self._stale and self._rain.entered and not self._measured

    @property
    def _measured(self) -> bool:
        """True if anything of the reading but rain was entered."""
        told = any(field.number.entered for field in self._fields.values())
        return told or self._place.turned or self._moving.turned

    @property
    def _entered(self) -> bool:
        return self._measured or self._rain.entered

    def _write(self, confirmed: bool = False) -> None:
        cart = self._host.cart
        if self._worn.value != self._wore:
            cart.write(rules.note_shift, ev.ClothingSaid(self._worn.value))
            self._wore = self._worn.value
        try:
            reading = self._reading(confirmed)
        except Refused:
            # One figure that cannot be is mended where it stands; the others are not lost by it.
            self.show(self._cannot_be())
            raise
        try:
            cart.write(rules.note_shift, reading, unit=self._unit)
        except Asks as odd:
            self._ask(str(odd), reading)
            return
        ask_roof(self._host, reading)

    def _cannot_be(self) -> str:
        """The field whose figure is refused; the rain if none of the measured ones is."""
        for name, field in self._fields.items():
            try:
                _ = field.value
            except Refused:
                return name
        return "rain"

    def _ask(self, question: str, reading: ev.ReadingTaken) -> None:
        """What looks odd: back to the figures, or they are kept as they are."""
        odd = unlikely(reading, self._before, self._unit)
        lines = [
            Line("no: back to the figures", lambda: self.show(odd[0].field if odd else "")),
            Line("yes: keep them, the record says so", lambda: self._write(True)),
        ]
        question = f"{question[:1].upper()}{question[1:]}"
        self._host.sheet.open(question, lines, "up, down: choose   space: take it   esc: nothing")


def _reading_of(row: Row | None) -> ev.ReadingTaken | None:
    return row.event if row is not None and isinstance(row.event, ev.ReadingTaken) else None


def _title(newest: Row | None, now_us: Instant, worker: str) -> str:
    if newest is None:
        return "Reading"
    by = "" if newest.worker == worker or newest.by == "machine" else f", by {newest.worker}"
    ago = age_text(newest.at_us, newest.at_us, now_us)
    return f"Reading. These figures are {ago} old{by}: SPACE confirms what stands"


def open_reading(host: Host) -> None:
    """A reading; its last line leads on to the forecast of the day.

    An instrument of the settings is asked meanwhile, and its figures are offered likewise.
    """
    entered = Entered(host)
    entered.show()
    host.cart.ask_instrument(entered.came)


def ask_roof(host: Host, reading: ev.ReadingTaken) -> None:
    """Once a shift, at the first hot reading indoors without a globe: is the roof hot?"""
    cart, shift = host.cart, host.cart.bench.shift()
    asked = shift is None or any(isinstance(row.event, ev.RoofSaid) for row in shift.facts)
    if asked or not roof_unseen(reading):
        ask_hot_days(host)
        return

    def said(hot: bool) -> Callable[[], None]:
        def write() -> None:
            cart.write(rules.note_shift, ev.RoofSaid(hot))
            ask_hot_days(host)

        return write

    added = round(HOT_ROOF_C) if cart.settings.temperature == "C" else round(HOT_ROOF_C * 1.8)
    lines = [
        Line("no", said(False)),
        Line(f"yes: {added} {cart.settings.temperature} more, until a globe is read", said(True)),
    ]
    title = "Hot, and no globe was read. Is the roof or the door hot to the hand?"
    hint = "up, down: choose   space: say it   esc: not told"
    host.sheet.open(title, lines, hint, closed=lambda: ask_hot_days(host))


def ask_hot_days(host: Host) -> None:
    """At the first hot reading of a worker of whom the log does not know it: hot days?"""
    cart = host.cart
    watch = cart.workplace.body()
    if watch is None or not watch.heat_judged or watch.held.acclimatization:
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
        f"It is hot. On how many of the last 14 days did you work {HOT_DAY_MINUTES / 60:.0f} hours "
        "or more in heat? Not told: the alert limit."
    )
    host.sheet.open(title, lines, "up, down: choose   space: say it   esc: not told")


def open_forecast(host: Host, then: Callable[[], None] = nothing) -> None:
    """Today's low and high by the forecast; the ones entered last are offered.

    then: called once they are written, or left with esc.
    """
    bench = host.cart.bench
    shift = bench.shift()
    known = None if shift is None else expected(shift, bench.now_us)
    unit = host.cart.settings.temperature
    low = Degrees(LOW, unit, None if known is None else known.low_c)
    high = Degrees(HIGH, unit, None if known is None else known.high_c)

    def write() -> None:
        try:
            host.cart.write(rules.expect_day, low.value, high.value)
        except Refused:
            show()
            raise
        then()

    def show() -> None:
        title = "Today by the forecast, air outdoors; it plans the next reading and judges nothing"
        lines = [low.line(), high.line()]
        host.sheet.open(title, lines, HINT, done=write, closed=then, enter_goes_on=True)

    show()
