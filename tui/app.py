"""The app: one bench, one tick, and the screens that look at them."""

from __future__ import annotations

import asyncio
import gc
import time
from collections.abc import Callable, Coroutine, Sequence
from contextlib import suppress
from functools import cached_property
from importlib import import_module
from typing import TYPE_CHECKING, Any, ClassVar, Concatenate, ParamSpec

from textual.app import App
from textual.screen import Screen

from cartclock.engine.body.signs import Advice, Emergency, first_aid, whom_to_call
from cartclock.engine.dates import day_of
from cartclock.engine.desk.bench import Pressed
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import MINUTE_US, Draft, Row
from cartclock.engine.facts.words import main_row, row_text, said_in
from cartclock.engine.films.before_coat import BEFORE_COAT
from cartclock.engine.now.alarm import battery_alarm, question_alarm, should_stay_awake
from cartclock.engine.now.faces import Face
from cartclock.engine.now.ringing import by_urgency
from cartclock.engine.now.running import running_films
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules.rules import Drafts, note_shift
from cartclock.engine.store.laptop.battery import Battery, battery
from cartclock.engine.store.laptop.instrument import polled
from cartclock.engine.store.laptop.places import plans_folder, sounds_folder
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused, StoreFault
from cartclock.engine.until import Kept
from cartclock.tui.screens import helper
from cartclock.tui.screens.cart import CartScreen
from cartclock.tui.screens.program import CardAsked, ChartAsked
from cartclock.tui.screens.run import RunScreen
from cartclock.tui.sound.alarm import Voice
from cartclock.tui.terminal.awake import Awake
from cartclock.tui.terminal.colours import Colours
from cartclock.tui.terminal.driver import GroundFound, terminal_driver
from cartclock.tui.terminal.filters import FILTERS
from cartclock.tui.terminal.title import Title, title_text
from cartclock.tui.themes import THEMES
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.sight import Sight
from cartclock.tui.told.workplace import Workplace

if TYPE_CHECKING:
    from cartclock.engine.desk.outlet import Outlet
    from cartclock.engine.desk.planner import Planner
    from cartclock.engine.desk.shelf import Shelf
    from cartclock.engine.joined.carrying import Carrier
    from cartclock.tui.terminal.raw import RawTerminal

P = ParamSpec("P")

# Our own judgement: a finger in a wet glove bounces within a second, a decision does not.
SILENCE_S = 1.0
BEAT_TICKS = 60
# After so long a question that waits is heard; our own judgement.
ASKED_US = 10_000_000
# A page with which somebody looks about takes longer; our own judgement.
READ_US = MINUTE_US
# Our own judgement: a garage does not change faster than a reading every ten minutes tells.
POLL_US = 10 * MINUTE_US
BATTERY_US = MINUTE_US
# What is known of the log is made in pieces of this length, with pauses for the keys. Our own
# judgement: a press waits no longer than for one job.
SLICE_S = 0.02
PAUSE_S = 0.1


def _sentence(phrase: str) -> str:
    return phrase[:1].upper() + phrase[1:] + "."


def _later(module: str, name: str) -> Callable[[], Screen[Any]]:
    """A screen that is imported when it is first shown: the first picture does not wait for it."""

    def made() -> Screen[Any]:
        found: Screen[Any] = getattr(import_module(f"cartclock.tui.screens.{module}"), name)()
        return found

    return made


class CartClock(App[None]):
    """The program on the cart.

    Args:
        workplace: what is known at the cart.
        theme: a name as in the settings; "" for theirs.
        seconds: a clock for the keys' own silence; tests give their own.
        ticking: False if whoever made the app ticks it (tests, demo sessions).
        colours: what the terminal has.
        held: what holds the terminal already; None: nothing.
        sight: what the first picture had in sight; None: there was none.
    """

    CSS_PATH = "look.tcss"
    ENABLE_COMMAND_PALETTE = False
    TITLE = "cartclock"
    BINDINGS: ClassVar = []

    def __init__(
        self,
        workplace: Workplace,
        theme: str = "",
        seconds: Callable[[], float] = time.monotonic,
        ticking: bool = True,
        colours: Colours = "many",
        held: RawTerminal | None = None,
        sight: Sight | None = None,
    ) -> None:
        super().__init__(driver_class=terminal_driver(held))
        # The library takes an empty NO_COLOR for one that was set, and greys for no colour.
        self.no_color = colours == "none"
        self._filters = [*self._filters[:1], *(made() for made in FILTERS[colours])]
        self.workplace = workplace
        self.bench, self.shop = workplace.bench, workplace.shop
        self.settings, settings = workplace.settings, workplace.settings
        self.sight = sight or Sight(workplace)
        self.record_of = ""
        self.card = CardAsked()
        self.chart: ChartAsked = ""
        self._before = "run"
        # Id of the key that is pressed on Today at the start; "" for none.
        self.opens = ""
        self.presses = 0
        self._seconds = seconds
        self._ticking = ticking
        self._heard: dict[str, float] = {}
        self._ticks = 0
        self._tending = False
        self._next: asyncio.TimerHandle | None = None
        self._polled_us: int | None = None
        self.advice: Advice = first_aid(())
        # A lambda, because a test counts the bells of its own app.
        self.voice = Voice(settings.alarm, lambda: self.bell(), sounds_folder())
        # Whoever ticks the app has no laptop to hold awake.
        self.awake = Awake() if ticking else None
        self.battery: Battery | None = None
        self._battery_us: int | None = None
        self.carrier: Carrier | None = None
        # What was said of jobs that another cart took.
        self._heeded: set[str] = set()
        self._no_backup = self._went_on = ""
        self._backs_up = self._leaves = False
        self._title = Title(self._write_unseen, time.monotonic)
        self._wakeful: Kept[bool] = Kept()
        for one in THEMES:
            self.register_theme(one)
        # What has no colour is told apart by the grounds of one theme.
        theme = (theme or settings.theme) if colours != "none" else "shade"
        self._asks_ground = theme == "auto"
        self.theme = "sun" if theme == "sun" else "shade"

    @cached_property
    def outlet(self) -> Outlet:
        """The way of papers out of this laptop; imported when the first one is asked for."""
        from cartclock.engine.desk.copies import FOLDER
        from cartclock.engine.desk.outlet import Outlet

        return Outlet(self.bench, self.shop, self.settings, self.bench.log.path.parent / FOLDER)

    @property
    def signals(self) -> bool:
        """Whether Run turns round for a second where something is due."""
        return self.settings.alarm.signal

    @cached_property
    def shelf(self) -> Shelf:
        """The plans at hand; imported when they are first asked for."""
        from cartclock.engine.desk.shelf import Shelf

        return Shelf(plans_folder(self.bench.log.path))

    @cached_property
    def planner(self) -> Planner:
        """What is planned; imported when it is first asked for."""
        from cartclock.engine.desk.planner import Planner

        return Planner(self.bench, self.shop, self.settings)

    SCREENS: ClassVar[dict[str, Callable[[], Screen[Any]]]] = {
        "run": RunScreen,
        "today": _later("today", "TodayScreen"),
        "plan": _later("plan", "PlanScreen"),
        "log": _later("log", "LogScreen"),
        "record": _later("record", "RecordScreen"),
        "products": _later("products", "ProductsScreen"),
        "outlook": _later("outlook", "OutlookScreen"),
        "history": _later("history", "HistoryScreen"),
        "card": _later("card", "CardScreen"),
        "charts": _later("charts", "ChartsScreen"),
        "tomorrow": _later("tomorrow", "TomorrowScreen"),
        "estimate": _later("estimate", "EstimateScreen"),
        "help": _later("help", "HelpScreen"),
        "advice": _later("advice", "AdviceScreen"),
        "caller": _later("caller", "CallerScreen"),
    }

    def get_default_screen(self) -> Screen[Any]:
        """Run lies under every other screen; the library would lay an empty one under it."""
        return self.get_screen("run")

    def on_mount(self) -> None:
        """Looks for time in which nothing ran, and opens where the worker is needed."""
        said = self.workplace.woken
        if not self.bench.jobs:
            self.push_screen("today")
            if said:
                self.call_after_refresh(self.say, said)
            if self.opens and isinstance(self.screen, CartScreen):
                self.screen.press(self.opens)
        if self._ticking:
            self.call_after_refresh(self._settle)

    def on_ground_found(self, found: GroundFound) -> None:
        """The theme of the terminal's own ground, unless the worker has chosen one meanwhile."""
        if self._asks_ground:
            self.theme = "sun" if found.light else "shade"

    def turn_theme(self) -> None:
        """The other theme, until the program is left."""
        if self.no_color:
            self.say("Without colour, light and dark are the terminal's own.")
            return
        self._asks_ground = False
        self.theme = "shade" if self.theme == "sun" else "sun"
        ground = "Dark" if self.theme == "shade" else "Light"
        self.say(f'{ground} ground. theme = "{self.theme}" in the settings keeps it.')

    def _settle(self) -> None:
        """After the first picture: what was made for it stays, and the collector need not look at
        it again; from now on the clocks are looked at, and the laptop, which the picture would
        have waited for. So would it have for what a press is digested with.
        """
        import hashlib  # noqa: F401  # for the first press, which finds it there

        gc.enable()
        gc.freeze()
        self._carry()
        self._arm()

    def _carry(self) -> None:
        """What sends to the shop runs beside the program, if this cart belongs to one."""
        from cartclock.engine.joined.membership import membership_file

        path = self.bench.log.path
        belongs = membership_file(path).exists()
        if self.carrier is not None and not (
            belongs and self.carrier.runs and self.carrier.log == path
        ):
            self.carrier.close()
            self.carrier = None
        if belongs and self.carrier is None:
            from cartclock.engine.joined.carrying import Carrier

            with suppress(OSError):
                self.carrier = Carrier(path)

    def _arm(self) -> None:
        # Two milliseconds behind the second, so that a repaint never shows the one before. A timer
        # of the library would be a task and a message, which cost a tenth of what a second does.
        self._next = asyncio.get_running_loop().call_later(1.002 - time.time() % 1.0, self._tick)

    def _tick(self) -> None:
        if self._exit or self.fault is not None:
            # The terminal is given back, or will be.
            return
        try:
            self.tick()
            self._tend()
        except Exception as fault:
            # As in a handler of the library: the program ends with it.
            self._handle_exception(fault)
        else:
            self._arm()

    def _tend(self) -> None:
        """Between ticks, what is known of the log is written down, a little at a time."""
        library = self.bench.library
        with suppress(StoreFault):
            if library.tend(SLICE_S) and not self._tending:
                self._tending = True
                self.set_timer(PAUSE_S, self._tend_on)
        if self.bench.ended and not self._backs_up:
            self.bench.ended, self._backs_up = False, True
            self.run_worker(self.back_up(), group="backup")

    def _tend_on(self) -> None:
        self._tending = False
        self._tend()

    def tick(self) -> None:
        """One second went by: the machine's own watch, and what is shown."""
        evidence = self.bench.clock.read()
        self.workplace.look_again(evidence)
        try:
            for told in self.bench.tick(evidence):
                self.say(_sentence(self._row_text(told.rows[0])))
            self._ticks += 1
            if self._ticks % BEAT_TICKS == 0:
                self.bench.beat()
                self._say_where()
                self._heed_taken()
                if self._ticking:
                    self._carry()
            self._call_rest()
            self._poll()
            self.workplace.photos.look()
        except (Refused, StoreFault) as why:
            self.say(str(why))
        self._mind_laptop()
        self.repaint()

    def _heed_taken(self) -> None:
        """Lets go of the jobs that another cart took, as the last sending heard of it."""
        taken = self.workplace.shop_side.taken
        if not taken:
            return
        from cartclock.engine.desk.holding import heed_taken

        for sentence in heed_taken(self.bench, taken):
            if sentence not in self._heeded:
                self._heeded.add(sentence)
                self.say(sentence)

    def _call_rest(self) -> None:
        """A rest that is due is told once, and what was told is a fact."""
        found = self.workplace.body()
        if found is not None and found.rest == "due" and found.call is not None:
            self.bench.machine([Draft(found.call)], self.bench.worker)
        helper.call_rest(self)

    def _poll(self) -> None:
        """Asks the instrument for a reading, if there is one and it is time."""
        shift = self.bench.shift()
        if not self.settings.reading_command or shift is None or not shift.on_clock:
            return
        now_us = self.workplace.moment.now_us
        if self._polled_us is None or now_us - self._polled_us >= POLL_US:
            self._polled_us = now_us
            self.run_worker(self.read_instrument(), group="instrument", exclusive=True)

    async def read_instrument(self) -> None:
        """Writes one reading of the settings' command, or keeps the sentence that says why not."""
        shift = self.bench.shift()
        last = None if shift is None else shift.last_reading
        try:
            reading = await polled(self.settings.reading_command, last)
            if self.workplace.body() is not None:
                drafts = note_shift(self.bench.scene(), reading)
                self.bench.machine(drafts, self.bench.worker)
            self.workplace.instrument_trouble = ""
        except Asks as odd:
            # A machine cannot say that what looks odd is right.
            self.workplace.instrument_trouble = f"The reading command: {odd} R looks at it."
        except (Refused, StoreFault) as why:
            self.workplace.instrument_trouble = f"{why} R enters a reading by hand."
        self.repaint()

    def ask_instrument(self, came: Callable[[ev.ReadingTaken], None]) -> None:
        """Asks the reading command of the settings, if there is one; `came` is given its answer."""
        if self.settings.reading_command:
            self.beside(self._ask_instrument(came), "asked instrument")

    async def _ask_instrument(self, came: Callable[[ev.ReadingTaken], None]) -> None:
        shift = self.bench.shift()
        last = None if shift is None else shift.last_reading
        try:
            came(await polled(self.settings.reading_command, last))
        except Refused as why:
            self.say(f"{why} The figures are entered by hand.")

    def advise(self, signs: Sequence[str]) -> None:
        """Shows what is to be done about signs of being unwell."""
        self.advice = first_aid(signs, self._emergency())
        self.show("advice")

    def _emergency(self) -> Emergency:
        """Whom to call, and where help has to come to."""
        shop, shift = self.settings.shop, self.bench.shift()
        place = "" if shift is None or not shift.on_clock else shift.on.place
        return whom_to_call(shop.emergency, place, shop.name, shop.lines)

    def repaint(self) -> None:
        """The screen on top shows what is so now; one that is being made does so by itself."""
        if isinstance(self.screen, CartScreen) and self.screen.is_mounted:
            self.screen.paint()

    def say(self, sentence: str) -> None:
        """Answers on the screen on top."""
        if isinstance(self.screen, CartScreen):
            self.screen.say(sentence)

    def ask(self, asked: Asked) -> None:
        """Puts a question on the Run screen and keeps it until it is answered."""
        self.run_screen.ask(asked)

    def beside(self, work: Coroutine[Any, Any, None], group: str) -> None:
        """Lets something that takes long run beside the clocks; `group` names its kind."""
        self.run_worker(work, group=group)

    def show(self, name: str) -> None:
        """Goes to a screen; esc comes back to the one before it, and from there to Run."""
        before = self.screen.called if isinstance(self.screen, CartScreen) else "run"
        if before != name:
            self._before = before if before in self.SCREENS else "run"
        while len(self.screen_stack) > 1:
            self.pop_screen()
        if name != "run":
            self.push_screen(name)
        if before != name and isinstance(self.screen, CartScreen):
            self.screen.hush()
        self.call_after_refresh(self.repaint)

    def back(self) -> None:
        """Goes to the screen this one was called from."""
        self.show(self._before)
        self._before = "run"

    def counts(self, key: str) -> bool:
        """False for a key that was down within the last second: held, or bouncing."""
        now = self._seconds()
        before = self._heard.get(key)
        self._heard[key] = now
        return before is None or now - before >= SILENCE_S

    def ring(self) -> None:
        """Rings what is to be heard, on whatever screen, each alarm in its own rhythm."""
        now = self.workplace.moment
        found = now.alarms
        if self.battery is not None and self.battery.urgent and self.workplace.body() is not None:
            found = by_urgency((*found, battery_alarm(self.battery.sentence)))
        asked = self.sight.asked
        read_us = READ_US if asked is not None and asked.rule_id == BEFORE_COAT else ASKED_US
        if asked is not None and now.now_us - self.sight.asked_us >= read_us:
            asks = said_in(asked.sentence, self.settings.temperature)
            found = by_urgency((*found, question_alarm(asks)))
        self.voice.hear(found, now.now_us)

    def _mind_laptop(self) -> None:
        """Awake while it must be looked at; its battery once a minute, if the app ticks itself."""
        if self.awake is None:
            return
        now = self.workplace.moment
        wakeful = self._wakeful.at(
            now.now_us,
            now.facts,
            lambda now_us: should_stay_awake(
                now.me.shift, running_films(now.jobs, Instant(now_us))
            ),
        )
        self.awake.want(wakeful)
        if self._battery_us is None or now.now_us - self._battery_us >= BATTERY_US:
            self._battery_us = now.now_us
            self.run_worker(self.read_battery(), group="battery", exclusive=True)

    async def read_battery(self) -> None:
        """Looks at the battery; in a thread, because some laptops take long to answer."""
        self.battery = await asyncio.to_thread(battery)

    async def back_up(self) -> None:
        """Copies the log, in a thread with a connection of its own: no key waits for the disk."""
        from cartclock.engine.store.whole.backups import back_up, broken_off_once

        date = day_of(self.bench.now_us, self.settings.zone).isoformat()
        try:
            told = broken_off_once(lambda: self._leaves)
            await asyncio.to_thread(back_up, self.bench.log.path, date, told)
            self._no_backup = ""
        except StoreFault as why:
            self._no_backup = str(why)
        finally:
            self._backs_up = False

    def with_laptop(self, news: Sequence[str]) -> list[str]:
        """What is said of the laptop: what presses in front of the news, the rest behind."""
        low = [self.battery.sentence] if self.battery is not None and self.battery.low else []
        urgent = low if self.battery is not None and self.battery.urgent else []
        failed = list(self.voice.troubles.values())[:1]
        awake = [] if self.awake is None else self.awake.notices
        went_on = [self.bench.log.went_on] if self.bench.log.went_on else []
        unsaved = [self._no_backup] if self._no_backup else []
        return [*urgent, *went_on, *unsaved, *news, *([] if urgent else low), *failed, *awake]

    def entitle(self, faces: Sequence[Face]) -> None:
        """Shows the clock that hurts first in the title of the terminal's window."""
        if not self.is_headless:
            self._title.show(title_text(faces))

    def _write_unseen(self, text: str) -> None:
        if self._driver is not None:
            self._driver.write(text)

    def on_unmount(self) -> None:
        """Leaves the laptop as it was found."""
        self._leaves = True
        if self._backs_up:
            # It is broken off and made anew, with a line that says how far it is.
            self.bench.ended = True
        if self._next is not None:
            self._next.cancel()
        self._title.clear()
        self.voice.close()
        if self.carrier is not None:
            self.carrier.close()
        if self.awake is not None:
            self.awake.close()

    @property
    def in_shop(self) -> bool:
        """Whether this cart belongs to a shop."""
        from cartclock.engine.joined.membership import membership_file

        return membership_file(self.bench.log.path).exists()

    @property
    def run_screen(self) -> RunScreen:
        """The screen of the day."""
        screen = self.get_screen("run")
        assert isinstance(screen, RunScreen)
        return screen

    def write(
        self,
        rule: Callable[Concatenate[Scene, P], Drafts],
        /,
        *args: P.args,
        **facts: P.kwargs,
    ) -> Pressed:
        """One press; answers what it did. Raises what the bench raises."""
        return self.told(self.bench.do(rule, *args, **facts))

    def _row_text(self, row: Row) -> str:
        """What a row says, in the worker's unit."""
        bench, unit = self.bench, self.settings.temperature
        return row_text(row, bench.jobs, bench.meant(row), unit)

    def told(self, told: Pressed) -> Pressed:
        """Answers what a press did."""
        self.presses += 1
        self.workplace.picked = None
        self.workplace.look_again(told.evidence)
        row = main_row(told.rows)
        self.say(_sentence(self._row_text(row)))
        self._say_where()
        return told

    def _say_where(self) -> None:
        """Says once, before anything else, that the rows are in another file from here on."""
        if self.bench.log.went_on != self._went_on:
            self._went_on = self.bench.log.went_on
            self.say(self._went_on)

    @property
    def fault(self) -> Exception | None:
        """What ended the program although nobody asked it to; None if nothing did."""
        return self._exception

    async def action_quit(self) -> None:
        """Leaves; everything pressed is on disk."""
        self.exit()
