"""The first hour: five questions before there is a log, each with a key that leaves it out.

An answer stands in the settings as soon as it is given; whoever breaks off has what was answered
and nothing else.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Literal, cast

from textual import events
from textual.app import App, ComposeResult
from textual.screen import Screen
from textual.widgets import Input
from textual.worker import Worker

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.words import said_in
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.hours.breaks import NO_RULES, US_FEDERAL
from cartclock.engine.store.laptop.instrument import INSTRUMENT_TIMEOUT_S, polled
from cartclock.engine.store.settling import (
    PLACE_LIKE,
    place_of,
    premises_of,
    settle,
    settled_keys,
)
from cartclock.engine.trouble import Refused
from cartclock.tui.face.page import Head, Page
from cartclock.tui.pages.settling import QUESTIONS, question_page, settled_page
from cartclock.tui.terminal.colours import Colours
from cartclock.tui.terminal.driver import GroundFound, terminal_driver
from cartclock.tui.terminal.filters import FILTERS
from cartclock.tui.themes import THEMES
from cartclock.tui.widgets.pageview import PageView
from cartclock.tui.widgets.plain import Plain
from cartclock.tui.widgets.sheet import Line, Sheet

if TYPE_CHECKING:
    from cartclock.tui.terminal.raw import RawTerminal

Next = Literal["demo", "job", "look"]
"""What is wanted behind the questions: see a day, open a job, look around."""

LEFT_OUT = "left out"
OF_THE_FILE = "as your file says"
BY_HAND = "typed with R"
_TEXT_KEYS = "enter: take it   esc: leave it out"
_LIST_KEYS = "up, down: choose   space: take it   esc: leave it out"
# Our own judgement, as on the cart: a finger in a wet glove bounces within a second.
_SILENCE_S = 1.0
# Rows under which the page says less, and under which the list has no hint; our own judgement.
_LOW, _TINY = 16, 8


class SettlingScreen(Screen[None]):
    """A question, and its list or line of text."""

    AUTO_FOCUS = ""
    BINDINGS: ClassVar = []

    def __init__(self) -> None:
        super().__init__()
        # The key that was taken last, and when.
        self._heard: tuple[str, float] = ("", 0.0)
        self._page: Callable[[bool], Page] = partial(question_page, 0)
        self._at = 0
        self._answers: dict[str, str] = {}
        # The text that the notice says cannot be; "" if it says nothing of a text.
        self._refused = ""
        # How readings are come by, as it stands.
        self._measured = BY_HAND
        # Settings whose line was written here, and which may be changed here again.
        self._ours: set[str] = set()
        self._returns = False
        self._trying: Worker[None] | None = None

    @property
    def _own(self) -> Settling:
        return cast("Settling", self.app)

    def compose(self) -> ComposeResult:
        """Page, what was refused, list."""
        yield PageView()
        yield Plain("", id="notice", fold=True)
        yield Sheet()

    def on_mount(self) -> None:
        """Begins; what the file says already is not asked."""
        try:
            there = settled_keys(self._own.path)
        except Refused as why:
            self._own.leave_refused(str(why))
            return
        for question in QUESTIONS:
            if there.intersection(question.keys):
                self._answers[question.name] = OF_THE_FILE
        self._go_on(0)

    # The order.

    def _go_on(self, at: int) -> None:
        """The first question from `at` on that is open, else the end."""
        while at < len(QUESTIONS) and QUESTIONS[at].name in self._answers:
            at += 1
        if self._returns or at == len(QUESTIONS):
            self._end()
        else:
            self._ask(at)

    def _ask(self, at: int) -> None:
        self._at = at
        self._show(partial(question_page, at))
        (self._ask_name, self._ask_shop, self._ask_hours, self._ask_degrees, self._ask_place)[at]()

    def _again(self, at: int) -> None:
        self._returns = True
        self._ask(at)

    def _leave_out(self) -> None:
        self._tell("")
        self._answers.setdefault(QUESTIONS[self._at].name, LEFT_OUT)
        self._go_on(self._at + 1)

    def _take(self, values: dict[str, object], said: str) -> None:
        """Writes an answer and goes on; raises Refused."""
        question = QUESTIONS[self._at]
        old = {key: None for key in question.keys if key in self._ours and key not in values}
        self._settle({**old, **values}, said)
        self._ours.difference_update(old)
        self._go_on(self._at + 1)

    def _settle(self, values: dict[str, object], said: str) -> None:
        """Writes an answer, or the part of one that is known; raises Refused."""
        settle(self._own.path, values, self._ours)
        self._ours.update(values)
        self._answers[QUESTIONS[self._at].name] = said
        self._tell("")

    # The questions.

    def _text(
        self,
        title: str,
        taken: Callable[[str], None],
        start: str = "",
        told: Callable[[str], str] | None = None,
    ) -> None:
        """A line of text; what is refused can be mended, and an empty line leaves out."""

        def entered(typed: str) -> None:
            if not typed:
                self._leave_out()
                return
            try:
                taken(typed)
            except Refused as why:
                self._text(title, taken, typed, told)
                self._refuse(typed, str(why))

        self.sheet.open_text(
            title, entered, start, closed=self._leave_out, hint=_TEXT_KEYS, told=told
        )

    def _list(self, title: str, *lines: Line) -> None:
        self.sheet.open(title, lines, closed=self._leave_out, hint=_LIST_KEYS)

    def _ask_name(self) -> None:
        self._text("Your name", lambda typed: self._take({"worker": typed}, typed))

    def _ask_shop(self) -> None:
        def told(typed: str) -> str:
            try:
                return _spoken_premises(premises_of(typed)) if typed else ""
            except Refused as why:
                return str(why)

        def taken(typed: str) -> None:
            found = premises_of(typed)
            self._take({"shop": found}, _spoken_premises(found))

        self._text("Name, address, phone, parted by commas", taken, told=told)

    def _ask_hours(self) -> None:
        def taken(rule_set: str, said: str) -> None:
            self._refusing(partial(self._take, {"rule_set": rule_set}, said), self._ask_hours)

        judged, not_judged = f"by the hour, {US_FEDERAL}", "not by the hour"
        self._list(
            "Are you paid by the hour?",
            Line(f"yes, by {US_FEDERAL} (US)", partial(taken, US_FEDERAL, judged)),
            Line("no: breaks are not judged", partial(taken, NO_RULES, not_judged)),
        )

    def _ask_degrees(self) -> None:
        def taken(unit: TemperatureUnit) -> None:
            # They stand whatever becomes of the list behind them.
            self._settle({"temperature": unit}, f"{unit}, {self._measured}")
            self._ask_measures(unit)

        def line(unit: TemperatureUnit, name: str) -> Line:
            take = partial(self._refusing, partial(taken, unit), self._ask_degrees)
            return Line(name, take, hot=unit.lower())

        self._list("Degrees", line("C", "Celsius"), line("F", "Fahrenheit"))

    def _ask_measures(self, unit: TemperatureUnit) -> None:
        def by_hand() -> None:
            self._take({"temperature": unit}, f"{unit}, {BY_HAND}")
            self._measured = BY_HAND

        self._list(
            "What measures air and humidity?",
            Line(
                "I read it and type it with R", lambda: self._refusing(by_hand, self._ask_degrees)
            ),
            Line("a command prints it", partial(self._ask_command, unit, "")),
        )

    def _ask_command(self, unit: TemperatureUnit, start: str) -> None:
        title = "A command that prints air_c=31.5 rh=44"
        self._text(title, partial(self._try, unit), start)

    def _try(self, unit: TemperatureUnit, command: str) -> None:
        """Asks the command once: what cannot be read is not settled."""
        begun = self._own.seconds()

        def waiting() -> str:
            return f"asked {self._own.seconds() - begun:.0f} of at most {INSTRUMENT_TIMEOUT_S:g} s"

        def let_go() -> None:
            if self._trying is not None:
                self._trying.cancel()
            self._leave_out()

        line = Line(waiting, lambda: None, stays=True)
        self.sheet.open(f"Asking: {command}", [line], closed=let_go, hint="esc: leave it out")
        self._trying = self.run_worker(self._tried(unit, command), exclusive=True)

    async def _tried(self, unit: TemperatureUnit, command: str) -> None:
        try:
            reading: ev.ReadingTaken = await polled(command)
            self.sheet.close()
            said = f"printed by {command}"
            self._take({"temperature": unit, "reading_command": command}, f"{unit}, {said}")
            self._measured = said
            air = said_in(f"air {reading.air_c:g} C", unit)
            self._tell(f"It printed {air}, humidity {reading.rh:g} %.")
        except Refused as why:
            self._ask_command(unit, command)
            self._refuse(command, str(why))

    def _ask_place(self) -> None:
        def told(typed: str) -> str:
            try:
                return _spoken_place(place_of(typed)) if typed else ""
            except Refused as why:
                return str(why)

        def taken(typed: str) -> None:
            found = place_of(typed)
            self._take(found, _spoken_place(found))

        self._text(f"Write it like {PLACE_LIKE}", taken, told=told)

    def _refusing(self, do: Callable[[], None], again: Callable[[], None]) -> None:
        """A list that cannot be written opens again, with the reason."""
        try:
            do()
        except Refused as why:
            again()
            self._tell(str(why))

    def _end(self) -> None:
        path = str(self._own.path) if set(self._answers.values()) - {LEFT_OUT} else ""
        self._show(lambda _low: settled_page(self._answers, path))
        changed = [
            Line(f"{question.name}: answer it anew", partial(self._again, at))
            for at, question in enumerate(QUESTIONS)
            if self._answers.get(question.name) != OF_THE_FILE
        ]
        offered = [
            Line("see a day: a demo plays it", partial(self._leave, "demo"), hot="d"),
            Line("open a job", partial(self._leave, "job"), hot="j"),
            Line("look around", partial(self._leave, "look"), hot="l"),
        ]
        if not self._own.offers:
            offered = [Line("done", partial(self._leave, "look"), hot="d")]
        self.sheet.open(
            "What now?",
            [*offered, *changed],
            closed=partial(self._leave, "look"),
            hint=f"up, down: choose   space: take it   esc: {offered[-1].text}",
        )

    def _leave(self, wanted: Next) -> None:
        self._own.exit(wanted)

    # The screen.

    @property
    def answers(self) -> Mapping[str, str]:
        """Name of a question -> what was answered."""
        return self._answers

    @property
    def sheet(self) -> Sheet:
        """The open list."""
        return self.query_one(Sheet)

    @property
    def notice(self) -> str:
        """What was refused last, or told."""
        return self.query_one("#notice", Plain).text

    def _refuse(self, typed: str, why: str) -> None:
        self._tell(why)
        self._refused = typed

    def _tell(self, sentence: str) -> None:
        self._refused = ""
        notice = self.query_one("#notice", Plain)
        notice.show(sentence)
        notice.display = bool(sentence)

    def _show(self, page: Callable[[bool], Page]) -> None:
        self._page = page
        self.paint()

    def paint(self) -> None:
        """Shows the page at the size there is."""
        height = self.app.size.height
        self.set_class(height < _TINY, "tiny")
        self.query_one(PageView).tell(self._page(height < _LOW), Head(), 0)

    def on_resize(self) -> None:
        """Another size has room for other things."""
        if self.is_mounted:
            self.paint()

    def on_key(self, event: events.Key) -> None:
        """Gives a key to the list; one that is held or bounces picks nothing."""
        now = self._own.seconds()
        held = self._heard[0] == event.key and now - self._heard[1] < _SILENCE_S
        if not self.sheet.is_text:
            self._heard = (event.key, now)
        do = self.sheet.take(event.key, event.character, not held)
        if do is not None:
            event.stop()
            event.prevent_default()
            do()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Why a text was refused is said of that text and of no other."""
        if self._refused not in ("", event.input.value):
            self._tell("")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter on a line of text; the same press takes nothing of the list behind it."""
        now = self._own.seconds()
        if self._heard[0] == "enter" and now - self._heard[1] < _SILENCE_S:
            return
        self._heard = ("enter", now)
        self.sheet.entered(event.value)()


def _spoken_premises(found: dict[str, object]) -> str:
    lines = found.get("lines")
    address = " / ".join(lines) if isinstance(lines, list) else ""
    phone = f"phone {found['phone']}" if "phone" in found else ""
    return "; ".join(part for part in (str(found.get("name", "")), address, phone) if part)


def _spoken_place(found: dict[str, object]) -> str:
    place = found.get("place")
    if isinstance(place, dict):
        return f"{place['latitude']:g} north, {place['longitude']:g} east"
    return f"time zone {found['zone']}"


class Settling(App[Next]):
    """The questions, full screen; answers what is wanted next, None if they were broken off.

    Args:
        path: the settings.
        offers: True if a day and a job are offered at the end.
        colours: what the terminal has.
        held: what holds the terminal already; None: nothing.
        seconds: a clock for the keys' own silence; tests give their own.
    """

    CSS_PATH = "look.tcss"
    ENABLE_COMMAND_PALETTE = False
    TITLE = "cartclock"

    def __init__(
        self,
        path: Path,
        offers: bool = True,
        colours: Colours = "many",
        held: RawTerminal | None = None,
        seconds: Callable[[], float] = time.monotonic,
    ) -> None:
        super().__init__(driver_class=terminal_driver(held))
        self.no_color = colours == "none"
        self._filters = [*self._filters[:1], *(made() for made in FILTERS[colours])]
        self.path, self.offers, self.seconds = path, offers, seconds
        self.refused = ""
        for one in THEMES:
            self.register_theme(one)
        self.theme = "shade"

    def on_mount(self) -> None:
        """Begins."""
        self.push_screen(SettlingScreen())
        # A command that is asked says how long it has been.
        self.set_interval(1.0, self._tick)

    def _tick(self) -> None:
        if isinstance(self.screen, SettlingScreen) and self.screen.sheet.is_open:
            self.screen.sheet.paint()

    def on_ground_found(self, found: GroundFound) -> None:
        """The theme of the terminal's own ground."""
        if not self.no_color:
            self.theme = "sun" if found.light else "shade"

    @property
    def fault(self) -> Exception | None:
        """What ended the program although nobody asked it to; None if nothing did."""
        return self._exception

    def leave_refused(self, sentence: str) -> None:
        """Ends with the sentence that says why nothing can be asked."""
        self.refused = sentence
        self.exit()
