"""The program as an onlooker sees it: a caption below, and two hands at the keys."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from textual import events

from cartclock.engine.store.clock import HandClock
from cartclock.tui.app import CartClock
from cartclock.tui.app import __file__ as app_file
from cartclock.tui.terminal.captioned import Captioned, captioned_driver
from cartclock.tui.terminal.colours import Colours
from cartclock.tui.told.workplace import Workplace

# Where the terminal keeps no rows: what a caption is then reckoned for.
_NO_ROOM = (80, 3)


class Steering(Protocol):
    """What the onlooker's keys do.

    Fields:
        yours: True once the keys are the onlooker's.
    """

    yours: bool

    def take(self, key: str, character: str | None = None) -> None:
        """A key of the onlooker while the session plays."""

    def let_pass(self) -> None:
        """Some minutes of the scratch log's own time go by."""


class WatchedApp(CartClock):
    """Keys of the session go to the screens, those of the onlooker to `watching` until they take
    over.

    Args:
        steering: what the onlooker's keys do.
        workplace: what is known at the cart.
        clock: the session's, by which the keys' own silence goes as well.
        colours: what the terminal has.
    """

    # The library looks for it beside the class that names it.
    CSS_PATH = str(Path(app_file).with_name(CartClock.CSS_PATH))

    def __init__(
        self, steering: Steering, workplace: Workplace, clock: HandClock, colours: Colours
    ) -> None:
        super().__init__(
            workplace, seconds=lambda: clock.tick_us / 1e6, ticking=False, colours=colours
        )
        self._steering = steering
        self._session_keys: list[events.Key] = []
        self.captions: list[str] = []
        driver = captioned_driver()
        if driver is not None:
            self.driver_class = driver

    def post_session_key(self, event: events.Key) -> None:
        """A key of the session."""
        self._session_keys.append(event)
        self.post_message(event)

    async def on_event(self, event: events.Event) -> None:
        """Parts the keys of the session from those of the onlooker."""
        given = isinstance(event, events.Key | events.Paste) and not event.is_forwarded
        if given and not self._is_for_screen(event):
            return
        await super().on_event(event)

    def _is_for_screen(self, event: events.Event) -> bool:
        for at, mine in enumerate(self._session_keys):
            if mine is event:
                del self._session_keys[at]
                # What was on its way when somebody took over is not theirs.
                return not self._steering.yours
        if self._steering.yours:
            if isinstance(event, events.Key) and event.key == "ctrl+t":
                self._steering.let_pass()
                return False
            return True
        if isinstance(event, events.Key):
            self._steering.take(event.key, event.character)
        return False

    def caption_room(self) -> tuple[int, int]:
        """Columns and rows that the caption has."""
        driver = self._driver
        return driver.room() if isinstance(driver, Captioned) else _NO_ROOM

    def show_caption(self, lines: Sequence[str]) -> None:
        """Shows the caption; where the terminal keeps no rows for it, in the line that answers."""
        driver = self._driver
        if isinstance(driver, Captioned):
            driver.caption(lines)
        elif self.captions != (said := list(lines[1:])):
            self.captions = said
            self.say(" ".join(line.strip() for line in said))
