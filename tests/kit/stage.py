"""The real app on a stage without a terminal: fake time, fake fingers, the text it shows.

Job time moves only by `wind`. Fingers have a clock of their own for the keys' silence; every
press moves it on, unless the fingers are said to be fast.
"""

from __future__ import annotations

import asyncio
import hashlib
import os
import unicodedata
from collections.abc import AsyncIterator, Callable, Iterator, Sequence
from contextlib import asynccontextmanager
from itertools import combinations
from pathlib import Path
from typing import Any

from textual import events
from textual.app import App
from textual.drivers.headless_driver import HeadlessDriver
from textual.geometry import Size
from textual.keys import KEY_NAME_REPLACEMENTS, REPLACED_KEYS
from textual.widget import Widget
from textual.widgets import Input

import cartclock.tui.app
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts.events import ClockedOn, JobOpened
from cartclock.engine.now.glance import Glance
from cartclock.engine.now.key_line import NEWS_US
from cartclock.engine.plan.plan import Stage
from cartclock.engine.products.reminders import BeforeWork
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from cartclock.tui.app import CartClock
from cartclock.tui.face.canvas import Canvas
from cartclock.tui.face.run_layout import layout
from cartclock.tui.keys import on_screen
from cartclock.tui.lists.attaching import FILES
from cartclock.tui.screens.caller import CallerScreen
from cartclock.tui.screens.cart import CartScreen
from cartclock.tui.terminal.colours import Colours
from cartclock.tui.told.workplace import Workplace
from cartclock.tui.widgets.keyrow import KeyRow
from cartclock.tui.widgets.painted import Painted
from cartclock.tui.widgets.sheet import Sheet
from tests.kit.blank import bench_at
from tests.kit.drawn import drawn, drawn_at_end, hold
from tests.kit.library import keep
from tests.kit.plans import opening

# 2026-09-21 14:13:20 UTC.
START_US = 1_790_000_000_000_000
# Less than the program takes for time in which it did not run.
SLICE_S = 120.0
# The program looks every second; a wind looks once so long before its end, so that what changed
# before that is no news at its end.
READ_S = NEWS_US / 1e6
keep()
# The page before a coat is met where a test is about it.
PLAIN = Settings(reminders=BeforeWork(before_coat=False))
NAMES = {"esc": "escape", "?": "question_mark"}


def seeded(seed: str) -> Callable[[int], bytes]:
    """Bytes that look random and are the same in every run."""
    count = 0

    def entropy(length: int) -> bytes:
        nonlocal count
        count += 1
        return hashlib.shake_256(f"{seed} {count}".encode()).digest(length)

    return entropy


class Fingers:
    """A clock for the keys' own silence; every look at it is `step` seconds later."""

    def __init__(self) -> None:
        self.now = 0.0
        self.step = 2.0

    def __call__(self) -> float:
        self.now += self.step
        return self.now


class Driven(CartClock):
    """The app, counting its bells."""

    CSS_PATH = Path(cartclock.tui.app.__file__).with_name("look.tcss")
    bells = 0

    def bell(self) -> None:
        self.bells += 1


def key_event(key: str) -> events.Key:
    """The event of a key by Textual's name or by the character on it."""
    key = NAMES.get(key, key)
    if len(key) == 1:
        character: str | None = key
        if key == " ":
            key = "space"
        elif not key.isalnum():
            name = unicodedata.name(key).lower().replace("-", "_").replace(" ", "_")
            key = KEY_NAME_REPLACEMENTS.get(name, name)
    else:
        try:
            name = REPLACED_KEYS.get(key, key)
            character = unicodedata.lookup(name.replace("_", " ").upper())
        except KeyError:
            character = None
    return events.Key(key, character)


async def settle(app: App[Any]) -> None:
    """Until every message is taken: a key goes from the app to the screen to a widget.

    What a look of the screen at itself leads to is waited for, too. A pause of the pilot does
    the same, but has each of some sixty widgets answer.
    """
    waiting = asyncio.get_running_loop()._ready  # type: ignore[attr-defined]  # no public name
    while True:
        await asyncio.sleep(0)
        if any(worker.group == FILES and worker.is_running for worker in app.workers):
            # A file is read in a thread.
            await asyncio.sleep(0.001)
        elif not waiting:
            app.screen._on_timer_update()
            if not waiting:
                return


def say_size(app: App[Any], size: tuple[int, int]) -> None:
    """The terminal says its size; nobody has heard it yet."""
    driver = app._driver
    assert isinstance(driver, HeadlessDriver)
    driver._size = Size(*size)
    app.post_message(events.Resize(driver._size, driver._size))


async def hear_size(app: App[Any]) -> None:
    """Until the size has come down to the parts; nothing else happens, no second goes by.

    The library waits for a hundred and twentieth of a second whether another one comes.
    """
    await settle(app)
    app._check_resize()
    await settle(app)


class Play:
    """One run of the app: presses, time, and what is on the screen."""

    def __init__(self, app: Driven, clock: HandClock, fingers: Fingers) -> None:
        self.app, self.clock, self.fingers = app, clock, fingers
        self.bench = app.bench

    # What the worker does.

    async def settle(self) -> None:
        """Until every message is taken."""
        await settle(self.app)

    async def press(self, *keys: str) -> None:
        """Presses keys one after the other, by Textual's name or by character."""
        for key in keys:
            self.app.post_message(key_event(key))
            await self.settle()
            # A letter that stands for two lines would only ever pick the first.
            letters = [line.hot for line in self.sheet._lines if line.hot]
            assert len(set(letters)) == len(letters), letters

    async def clock_on(self) -> None:
        """Clocks the worker on as the list of the clock does, and reads the reminders."""
        settings, bench = self.app.settings, self.bench
        used = self.app.shop.acclimatization(bench.worker, bench.now_us, settings.zone)
        because = used.sentence if used.source else ""
        on = ClockedOn("", settings.rule_set, settings.zone, used.word, because)
        self.app.write(rules.clock_on, on)
        self.app.repaint()
        await self.settle()

    async def choose(self, text: str) -> None:
        """Goes down the moves until SPACE would do what the text says."""
        for _ in self.app.workplace.moves:
            if text in self.next_line:
                return
            await self.press("down")
        raise AssertionError(f"no move says {text!r}")

    async def resize(self, size: tuple[int, int]) -> None:
        """Another size of the terminal, and a tick for what is made to measure."""
        self.say_size(size)
        await self.hear_size()
        self.app.repaint()
        await self.settle()

    def say_size(self, size: tuple[int, int]) -> None:
        """The terminal says its size; nobody has heard it yet."""
        say_size(self.app, size)

    async def hear_size(self) -> None:
        """Until the size has come down to the parts; nothing else happens, no second goes by."""
        await hear_size(self.app)

    async def hold(self, key: str, times: int) -> None:
        """A key held down: it repeats thirty times a second."""
        await self.press(key)
        self.fingers.step = 1 / 30
        await self.press(*[key] * (times - 1))
        self.fingers.step = 2.0

    async def type(self, text: str) -> None:
        """Types a text into the open line of text and presses enter."""
        for letter in text:
            self.app.post_message(key_event(letter))
        await self.press("enter")
        await self.settle()

    async def paste(self, text: str) -> None:
        """Pastes a text where the focus is."""
        self.app.post_message(events.Paste(text))
        await self.settle()

    async def wind(self, seconds: float) -> None:
        """Lets time pass while the program runs, and the worker read what changed on the way."""
        if seconds > READ_S:
            await self.leap(seconds - READ_S)
            seconds = READ_S
        await self.leap(seconds)

    async def leap(self, seconds: float) -> None:
        """Lets time pass; the screens are looked at once, at its end."""
        while seconds > SLICE_S:
            self.clock.wind(SLICE_S)
            self.bench.tick()
            self.bench.beat()
            seconds -= SLICE_S
        self.clock.wind(seconds)
        self.app.tick()
        self.bench.beat()
        await self.settle()

    async def wind_to_rest(self) -> None:
        """Lets whole minutes pass until a rest is called; where it is far, several at once."""
        for _ in range(90):
            if any(face.word == "REST NOW" for face in self.glance.faces):
                return
            fares = self.app.workplace.body()
            left_s = None if fares is None else fares.pace.left_s
            # It comes about when it is told, and the last two minutes are looked at one by one.
            await self.wind(60 * max(1, (left_s or 0) // 60 - 2))
        raise AssertionError("no rest in an hour and a half")

    # What the worker sees.

    @property
    def screen(self) -> CartScreen:
        """The screen on top."""
        assert isinstance(self.app.screen, CartScreen)
        return self.app.screen

    @property
    def called(self) -> str:
        """Its name in the key registry."""
        return self.screen.called

    @property
    def lines(self) -> list[str]:
        """Every line of the screen, trailing blanks cut off."""
        return drawn(self.app)

    @property
    def text(self) -> str:
        """The whole screen."""
        return "\n".join(self.lines)

    @property
    def seen(self) -> str:
        """What Run says in letters, a line for each face, and below it the whole screen."""
        told = self.app.run_screen.told
        faces = () if told is None else told.faces
        if isinstance(self.screen, CallerScreen):
            faces = (self.screen.answer().face,)
        large = [
            f"{face.large}   {face.beside} {face.runs} {face.clock}   {face.under}   "
            f"{' '.join(face.second)}"
            for face in faces
        ]
        return "\n".join([*large, self.text])

    def times_said(self, sentence: str) -> int:
        """How often a sentence stands on the screen, however it is folded."""
        return " ".join(self.text.split()).count(sentence)

    @property
    def notice(self) -> str:
        """The line that answers."""
        told = self.app.run_screen.told if self.called == "run" else None
        # On Run advice takes the place of an answer that was read.
        answer = self.screen.answered
        return answer if told is None or told.answer else " ".join(told.notices) or answer

    @property
    def next_line(self) -> str:
        """What SPACE would do."""
        return self.app.run_screen.next_line

    @property
    def sheet(self) -> Sheet:
        """The list of the screen on top."""
        return self.screen.sheet

    @property
    def spoken(self) -> list[str]:
        """The lines of the open list."""
        assert self.sheet.is_open
        return self.sheet.spoken

    @property
    def typing(self) -> bool:
        """True if a line of text takes what is typed."""
        return isinstance(self.app.focused, Input)

    @property
    def glance(self) -> Glance:
        """What Run has to say."""
        return self.app.run_screen.look()

    @property
    def picture(self) -> Canvas:
        """The picture of Run."""
        return self.app.run_screen.query_one(Painted).canvas

    def digits(self) -> int:
        """Rows of the large digits on Run; 0 where there are none."""
        picture = self.picture
        place = layout(picture.width, picture.height, self.app.run_screen.sheet.is_open)
        end = place.digits_top + -(-(place.digits + place.digits_off) // 2)
        room = picture.width - place.side - 2 * place.edge
        rows = [line[:room] for line in picture.lines[place.digits_top : end]]
        return sum(any(char in "█▀▄" for char in row) for row in rows)

    # What is in the log.

    @property
    def kinds(self) -> list[str]:
        """Kinds of the rows, in the order written."""
        return [row.kind for row in self.bench.rows]

    def odd(self) -> list[str]:
        """What the folds set aside, with the broken links of the log: empty if all is well."""
        found = [odd.why for job in self.bench.jobs.values() for odd in job.odd]
        found += [odd.why for shift in self.bench.shifts.values() for odd in shift.odd]
        return found + self.bench.log.check()


@asynccontextmanager
async def played(
    folder: Path,
    *openings: JobOpened | Sequence[Stage],
    size: tuple[int, int] = (80, 24),
    clock: HandClock | None = None,
    settings: Settings | None = None,
    on: bool = True,
    seed: str = "stage",
    every_picture: bool = False,
    colours: Colours = "many",
) -> AsyncIterator[Play]:
    """The app on the log in `folder`; every opening is a job, or the stages of one.

    Args:
        folder: holds log.db, made if it is not there.
        size: columns and rows.
        clock: goes on from an earlier run of the program.
        settings: what the worker has settled.
        on: True to clock the worker on if the log is new.
        seed: makes ids; another one for a second run that makes ids too.
        every_picture: True to draw those on the way, too.
        colours: what the terminal has.
    """
    clock = clock or HandClock(START_US)
    bench = bench_at(folder / "log.db", clock, "me", seeded(seed))
    fresh = not bench.rows
    for index, one in enumerate(openings, 1):
        opened = one if isinstance(one, JobOpened) else opening(*one, number=index)
        bench.do(rules.open_job, bench.new_id(), opened)
    fingers = Fingers()
    shop = Shop(bench.log, library=bench.library)
    app = Driven(
        Workplace(bench, shop, settings or PLAIN),
        seconds=fingers,
        ticking=False,
        colours=colours,
    )
    if not every_picture:
        hold(app)
    try:
        async with app.run_test(size=size):
            play = Play(app, clock, fingers)
            await play.settle()
            if fresh and on:
                await play.clock_on()
            yield play
            drawn_at_end(app)
    finally:
        bench.close()


def ends(widget: Widget) -> Iterator[Widget]:
    """What of a part is displayed and holds nothing else that is."""
    for child in widget.displayed_children:
        inner = list(ends(child))
        yield from inner or [child]


def whole(play: Play) -> list[str]:
    """What is wrong with the picture: overlapping or outlying parts, keys that are missing."""
    width, height = play.app.size
    found = [f"line longer than the screen: {line!r}" for line in play.lines if len(line) > width]
    if len(play.lines) != height:
        found.append(f"{len(play.lines)} lines on {height} rows")
    leaves = [(widget, region) for widget in ends(play.screen) if (region := widget.region).area]
    all_of_it = play.screen.region
    for widget, region in leaves:
        if not all_of_it.contains_region(region):
            found.append(f"{widget!r} lies outside: {region}")
    for (one, here), (other, there) in combinations(leaves, 2):
        if here.overlaps(there):
            found.append(f"{one!r} overlaps {other!r}: {here}, {there}")
    for row in play.screen.query(KeyRow):
        if not row.display:
            continue
        area = row.content_region
        words = " ".join(play.lines[area.y : area.bottom]).replace("×", " ").split()
        if play.sheet.is_open:
            keys = [word for key in play.sheet.keys for word in key.key.split()]
            found += [
                f"no key {word} of the list in the key row" for word in keys if word not in words
            ]
            return found
        if width < 60 and "?" in words:
            # A narrow row has the first keys, and the one that shows all of them.
            return found
        for key in on_screen(play.app.workplace.keymap, play.called):
            if key.label and key.id != play.called and key.face not in words:
                found.append(f"no key {key.face} in the key row")
    return found


GOLDENS = Path(__file__).parent.parent / "screens" / "goldens"


def compare(name: str, play: Play) -> None:
    """Compares the screen with tests/screens/goldens/NAME_COLUMNSxROWS.txt.

    With CARTCLOCK_GOLDENS=write in the environment nothing is compared: the file is written
    anew. Look at the difference before it is kept.
    """
    width, height = play.app.size
    path = GOLDENS / f"{name}_{width}x{height}.txt"
    shown = play.text + "\n"
    if os.environ.get("CARTCLOCK_GOLDENS") == "write":
        path.write_text(shown, encoding="utf-8")
        return
    assert shown == path.read_text(encoding="utf-8")


HOME, SMALL, LARGE = (80, 24), (40, 12), (120, 40)
SIZES = (HOME, SMALL, LARGE)


async def compare_sizes(name: str, play: Play) -> None:
    """Compares with the goldens of every size, each of them whole; ends at home."""
    for size in SIZES:
        if play.app.size != size:
            await play.resize(size)
        assert whole(play) == []
        compare(name, play)
    await play.resize(HOME)
