"""Whoever looks on while a session plays: what is told of it, and what its keys go through."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import events

from cartclock.engine.store.clock import HandClock
from cartclock.tui.terminal.colours import Colours

if TYPE_CHECKING:
    from cartclock.tui.app import CartClock
    from cartclock.tui.told.workplace import Workplace

# Where nobody looks on, the screens are looked at so often.
TICK_S = 1800.0


class Onlooker:
    """Nobody: nothing is waited for.

    Args:
        tick_s: how often the screens are painted while time passes, in seconds.
    """

    def __init__(self, tick_s: float = TICK_S) -> None:
        self._tick_s = tick_s

    @property
    def tick_s(self) -> float:
        """How often the screens are painted while time passes, in seconds."""
        return self._tick_s

    def app(self, workplace: Workplace, clock: HandClock, colours: Colours) -> CartClock:
        """The program that the session is played on."""
        # The screens are heavy; a list of the sessions must not need them.
        from cartclock.tui.app import CartClock

        return CartClock(
            workplace, seconds=lambda: clock.tick_us / 1e6, ticking=False, colours=colours
        )

    def post(self, app: CartClock, event: events.Key) -> None:
        """Gives the program a key of the session."""
        app.post_message(event)

    async def began(self, at: int, said: str) -> None:
        """Step `at` of the session begins, from 1; said: its caption, "" if it has none."""

    def span(self, seconds: float) -> None:
        """So many seconds begin in which no key is pressed."""

    async def pressing(self, key: str) -> None:
        """A key is about to go down."""

    async def passed(self, seconds: float) -> None:
        """So many seconds went by, and the screens show what is so now."""
