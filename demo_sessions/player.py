"""Plays a script: winds a hand clock and presses keys on the real screens."""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual import events
from textual.keys import KEY_NAME_REPLACEMENTS, key_to_character

from cartclock.demo_sessions.large_key import call_in_s, through
from cartclock.demo_sessions.onlooker import Onlooker
from cartclock.demo_sessions.script import Opening, Step, file_text, read_script
from cartclock.demo_sessions.session_shop import SessionShop
from cartclock.engine.dates import instant, local
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.now.key_line import NEWS_US
from cartclock.engine.products.reminders import BeforeWork
from cartclock.engine.rules import rules
from cartclock.engine.store.alarm_settings import AlarmSettings
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.plan_file.duration import step_seconds
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from cartclock.engine.store.settings import Settings
from cartclock.engine.trouble import PlanFault
from cartclock.tui.lists.attaching import FILES
from cartclock.tui.screens.cart import CartScreen

if TYPE_CHECKING:
    from textual.pilot import Pilot

    from cartclock.tui.app import CartClock
    from cartclock.tui.terminal.colours import Colours

# A press takes a moment; the keys' own silence needs one too.
PRESS_S = 2
READ_S = NEWS_US // SECOND_US - PRESS_S
LETTERS_A_SECOND = 4
# From three minutes on the program would take the time for one in which it did not run.
SLICE_S = 150.0
# A key goes from the app to the screen and from there on; enter, from the line of text to its list.
HOPS = 3


def seeded(name: str) -> Callable[[int], bytes]:
    """Bytes that look random and are the same each time, so that a record can be compared."""
    count = 0

    def entropy(length: int) -> bytes:
        nonlocal count
        count += 1
        found = b""
        while len(found) < length:
            found += hashlib.sha256(f"{name} {count} {len(found)}".encode()).digest()
        return found[:length]

    return entropy


def key_name(key: str) -> str:
    """The name under which the screens know a key that is written as its letter or its name."""
    if len(key) > 1 or key.isalnum():
        return key
    name = "_".join(unicodedata.name(key).lower().replace("-", " ").split())
    return KEY_NAME_REPLACEMENTS.get(name, name)


class Player:
    """Plays one script on a log in `folder`.

    Args:
        name: of the session. Raises `Refused` and `PlanFault` like `read_script`.
        folder: where the scratch log goes.
        onlooker: who looks on; None: nobody.
        colours: what the terminal has.

    Fields:
        keys: every key pressed, with its job time in microseconds; typed texts are left out.
        said: what the notice line said after each of these keys, with the same job times.
    """

    def __init__(
        self,
        name: str,
        folder: Path,
        onlooker: Onlooker | None = None,
        colours: Colours = "many",
    ) -> None:
        self.name = name
        self.script = read_script(name)
        self.clock = HandClock(instant(self.script.starts, self.script.zone))
        self.path = folder / "log.db"
        # Without reminders: the cart of a session has had its products for long.
        self.settings = Settings(
            worker="me",
            zone=self.script.zone,
            rule_set=self.script.rule_set,
            alarm=AlarmSettings(bell=False),
            reminders=BeforeWork(products=False),
        )
        self.entropy = seeded(name)
        self.keys: list[tuple[int, str]] = []
        self.app: CartClock | None = None
        self.said: list[tuple[int, str]] = []
        self._at = 0
        self._boots = 1
        self._onlooker = onlooker or Onlooker()
        self._colours: Colours = colours

    def bench(self) -> Bench:
        """The scratch log, opened."""
        return Bench.open(self.path, self.clock, self.settings.worker, self.entropy)

    def start(self) -> CartClock:
        """The program, started on the scratch log."""
        # As heavy as the screens; a list of the sessions must not need it.
        from cartclock.tui.told.workplace import Workplace

        bench = self.bench()
        shop = SessionShop(self.name, bench.log, bench.library)
        self.app = self._onlooker.app(
            Workplace(bench, shop, self.settings), self.clock, self._colours
        )
        return self.app

    async def run(self, pilot: Pilot[Any]) -> bool:
        """Plays until the end, or until the laptop dies; True at the end."""
        await pilot.pause()
        while self._at < len(self.script.step):
            step = self.script.step[self._at]
            self._at += 1
            await self._play(step, pilot)
            if step.die:
                self._die(step_seconds(step.die))
                return False
        return True

    async def _play(self, step: Step, pilot: Pilot[Any]) -> None:
        app = self.cart
        await self._onlooker.began(self._at, step.say)
        if step.open is not None:
            self._open(step.open)
            await pilot.pause()
        if step.wall:
            back = step.wall.startswith("-")
            seconds = step_seconds(step.wall.lstrip("+-"))
            self.clock.set_wall(-seconds if back else seconds)
            app.tick()
        if step.wind == "opens":
            moves = self.cart.workplace.moves
            if not moves or moves[0].opens_us is None:
                raise self.fault("no window lies in front of the next move")
            await self.wind_to(moves[0])
        elif step.wind:
            await self.wind(step_seconds(step.wind))
        if step.until:
            await self.wind(self._seconds_until(step.until))
        for key in step.keys:
            await self.press(key, pilot)
        if step.type:
            await self._type(step.type, pilot)
        if step.through:
            await through(self, step.through, step.pace, pilot, step.layer)

    def _die(self, seconds: int) -> None:
        app = self.cart
        self._boots += 1
        # A program that runs gives a sign of life once a minute; only the last one tells.
        app.bench.beat()
        app.bench.close()
        self.clock.reboot(f"boot-{self._boots}", seconds)
        app.exit()

    @property
    def cart(self) -> CartClock:
        """The program, while it runs."""
        assert self.app is not None
        return self.app

    def fault(self, sentence: str) -> PlanFault:
        """What is wrong with the script, with the step it is wrong in."""
        return PlanFault((f"{self.name}/steps.toml, step {self._at}: {sentence}.",))

    def _open(self, opening: Opening) -> None:
        bench = self.cart.bench
        if opening.plan.endswith(".toml"):
            text = file_text(self.name, opening.plan)
        else:
            text = starter(opening.plan)
        if opening.body:
            text = with_body(text, opening.body)
        zone = self.script.zone
        opened = ev.JobOpened(
            plan=read_plan(text, opening.plan),
            plan_sha256=bench.keep_plan(text),
            number=self.cart.shop.next_number(),
            vehicle=opening.vehicle,
            zone=zone,
            customer=bench.seal(opening.customer) if opening.customer else None,
            phone=bench.seal(opening.phone) if opening.phone else None,
            plate=bench.seal(opening.plate) if opening.plate else None,
            promised_us=instant(opening.promised, zone) if opening.promised else None,
            price=opening.price or None,
        )
        bench.do(rules.open_job, bench.new_id(), opened)
        self.cart.show("run")
        self.cart.repaint()

    async def press(self, key: str, pilot: Pilot[Any]) -> None:
        """One key, and what the notice line says to it."""
        await self._onlooker.pressing(key)
        self.clock.wind(PRESS_S)
        self.cart.tick()
        now_us = self.cart.bench.now_us
        self.keys.append((now_us, key))
        await self._send(key_name(key), key_to_character(key), pilot)
        screen = self.cart.screen
        answered = screen.answered if isinstance(screen, CartScreen) else ""
        self.said.append((now_us, answered))
        await self._onlooker.passed(PRESS_S)

    async def _type(self, text: str, pilot: Pilot[Any]) -> None:
        if not any(line.display for line in self.cart.screen.query("Input")):
            raise self.fault("no line of text is open to type into")
        await pilot.pause()
        for letter in text:
            self._post(key_name(letter), letter)
            await self._onlooker.passed(1 / LETTERS_A_SECOND)
        # Whole seconds, so that the hours of a session can be added up by hand.
        await self.wind(-(-len(text) // LETTERS_A_SECOND))
        await self._send("enter", None, pilot)

    async def _send(self, key: str, character: str | None, pilot: Pilot[Any]) -> None:
        """One key event, all of whose work is done on return: however busy the machine is,
        the next key finds the screen that a person would see."""
        app = self.cart
        before = app.screen
        self._post(key, character)
        for _ in range(HOPS):
            await pilot.pause(0)
        if reading := [worker for worker in app.workers if worker.group == FILES]:
            await app.workers.wait_for_complete(reading)
            await pilot.pause()
        if app.screen is not before:
            await pilot.pause()

    def _post(self, key: str, character: str | None) -> None:
        event = events.Key(key, character)
        event.set_sender(self.cart)
        self._onlooker.post(self.cart, event)

    async def wind(self, seconds: float, until_rest: bool = False) -> float:
        """Lets time pass; the program finds a rest due at the second at which it is.

        Args:
            seconds: so many.
            until_rest: True: no longer than until a rest is called.

        Returns:
            The seconds that are left, 0 unless a rest was called.
        """
        self._onlooker.span(seconds)
        while seconds > 0 and not (until_rest and self.rest_called):
            # A look before the end: what became another by then was read when the next key goes
            # down, as on a cart, where the program looks every second.
            ahead = seconds - READ_S if seconds > READ_S else seconds
            step = min(self._onlooker.tick_s, ahead, call_in_s(self.cart))
            self._wind_unseen(step)
            seconds -= step
            self.cart.tick()
            await self._onlooker.passed(step)
        return seconds

    def _wind_unseen(self, seconds: float) -> None:
        """Lets time pass; the program runs, and nobody looks at its screens."""
        while seconds > SLICE_S:
            self.clock.wind(SLICE_S)
            self.cart.bench.tick()
            seconds -= SLICE_S
        self.clock.wind(seconds)

    @property
    def rest_called(self) -> bool:
        """True while the screen says REST NOW."""
        watch = self.cart.workplace.body()
        return watch is not None and watch.rest_now

    async def wind_to(self, move: Move) -> None:
        """Lets time pass until the window in front of a move opens."""
        if move.opens_us is not None:
            left_us = move.opens_us - self.cart.bench.now_us
            await self.wind(max(0, -(-left_us // SECOND_US)))

    def _seconds_until(self, clock: str) -> float:
        now_us = self.cart.bench.now_us
        here = local(now_us, self.script.zone)
        then_us = instant(f"{here.date()} {clock}", self.script.zone)
        if then_us <= now_us:
            raise self.fault(f"it is {here:%H:%M:%S}, past {clock}")
        return (then_us - now_us) / SECOND_US
