"""Somebody looks on at a terminal: a caption below the screens, and keys that steer the play."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Literal

from textual import events

from cartclock.demo_sessions.onlooker import TICK_S, Onlooker
from cartclock.engine.facts.shift import Hands
from cartclock.engine.letters import cells, wrapped
from cartclock.engine.store.clock import HandClock
from cartclock.tui.terminal.colours import Colours

if TYPE_CHECKING:
    from cartclock.demo_sessions.watched import WatchedApp
    from cartclock.tui.app import CartClock
    from cartclock.tui.told.workplace import Workplace

# An onlooker of a fast session still sees about as many pictures in a second as of a film.
PICTURES_A_SECOND = 20
LONGEST_TICK_S = 60.0
# How fast captions and keys are shown is right at this speed; our own judgement.
USUAL_SPEED = 600.0
SLOWEST, FASTEST = 1.0, 100_000.0
# A stretch in which no key goes down and nothing is to be read is never longer. Our own judgement.
LONGEST_SPAN_S = 4.0
# So long a key is told of before it goes down, and what it did stands. Our own judgement.
KEY_S = 0.35
# Letters a second that are read beside a picture, and what the eye needs to come to them. Our own
# judgement.
READ_LETTERS = 22.0
FOUND_S = 1.5
# The caption is looked at so often; keys are heard in between.
LOOK_S = 0.05
# The onlooker's own time, once the keys are theirs.
LIVE_S = 0.1
MORE_MINUTES = 5

KEYS = (
    "SPACE: hold and go on. Right: to the next caption. S: to the next stage of work. + faster, "
    "- slower. T: take over; from then on every key is the program's, on this scratch log. "
    "Q leaves. ? goes on."
)
YOURS = (
    "The keys are yours, as at the cart; the log is a scratch one and is thrown away. "
    f"ctrl+T lets {MORE_MINUTES} minutes go by. Q leaves, ? shows the keys."
)
ENDED = "The day is over: this is its record. " + YOURS
PARTED = "Your keys and the session part here. " + YOURS
# Cells for the name of a key that goes down, as " key SPACE" or " key DOWN".
_KEY_ROOM = 10
# What the keys do, from the longest to the shortest.
_HINTS = (
    "SPACE holds  right: next  S stage  +-  T take over  Q leaves  ? keys",
    "SPACE holds  right: next  T take over  Q leaves  ? keys",
    "SPACE holds  T take over  Q leaves  ? keys",
    "T take over  Q leaves  ? keys",
    "Q leaves  ? keys",
    "? keys",
    "",
)


class Left(Exception):
    """The onlooker left before the end."""


class TakenOver(Exception):
    """From here on the keys are the onlooker's."""


class Watching(Onlooker):
    """An onlooker's pace, caption and keys.

    Args:
        speed: how many times faster than the clock, SLOWEST to FASTEST.
        steps: how many the session has.
        seconds: a clock that never runs back.

    Fields:
        speed: as it is now.
        held: True while the play waits for the onlooker.
        yours: True once the keys are the onlooker's.
        skips: what is skipped to.
    """

    def __init__(
        self, speed: float, steps: int, seconds: Callable[[], float] = time.monotonic
    ) -> None:
        super().__init__()
        self.speed = speed
        self.held = self.yours = False
        self.skips: Literal["", "caption", "stage"] = ""
        self._steps, self._seconds = steps, seconds
        self._at, self._said, self._key = 0, "", ""
        self._since = seconds()
        self._jump = 1.0
        self._helps = False
        self._from: tuple[str, str] | None = None
        self._more_s = 0.0
        self._app: WatchedApp | None = None

    # What the player tells.

    @property
    def tick_s(self) -> float:
        """How often the screens are painted while time passes, in seconds."""
        if self.skips:
            return TICK_S
        tick_s = max(1.0, min(LONGEST_TICK_S, self.speed / PICTURES_A_SECOND))
        return tick_s * self._jump

    def app(self, workplace: Workplace, clock: HandClock, colours: Colours) -> CartClock:
        """The program with the caption below it."""
        # The screens are heavy, as for whoever looks at nothing.
        from cartclock.demo_sessions.watched import WatchedApp

        self._app = WatchedApp(self, workplace, clock, colours)
        return self._app

    def post(self, app: CartClock, event: events.Key) -> None:
        """Gives the program a key of the session, which is not one of the onlooker's."""
        assert self._app is not None
        self._app.post_session_key(event)

    async def began(self, at: int, said: str) -> None:
        """A step begins; its caption is given the time to be read."""
        self._at = at
        if not said:
            return
        if self.skips == "caption":
            self.skips = ""
        self._tell(said)
        await self._wait(self._reading_s() * self._pace())

    def span(self, seconds: float) -> None:
        """So long nothing is pressed: what takes longer than is looked at with patience is
        jumped.
        """
        self._jump = max(1.0, seconds / self.speed / LONGEST_SPAN_S)

    async def pressing(self, key: str) -> None:
        """A key is told of before it goes down."""
        self._key = key
        await self._wait(KEY_S * self._pace())

    async def passed(self, seconds: float) -> None:
        """So many seconds went by."""
        if self.skips == "stage" and self._place() not in (None, self._from):
            self.skips = ""
        stands_s = KEY_S * self._pace() if self._key else 0.0
        await self._wait(max(seconds / self.speed / self._jump, stands_s))
        self._key = ""

    # What the onlooker's keys do.

    def take(self, key: str, character: str | None = None) -> None:
        """A key of the onlooker while the session plays.

        Args:
            key: its name; character: what it writes, None for none.
        """
        letter = (character or "").lower()
        if letter == "q" or key == "ctrl+c":
            assert self._app is not None
            self._app.exit()
        elif letter == "t":
            self.take_over(YOURS)
        elif letter == "?":
            self._helps = self.held = not self._helps
            self._since = self._seconds()
        elif key == "space":
            self.held, self._helps = not self.held, False
        elif letter == "s":
            self._skip("stage")
        elif key == "right":
            self._skip("caption")
        elif letter in ("+", "=") or key == "up":
            self.speed = min(FASTEST, self.speed * 2)
        elif letter in ("-", "_") or key == "down":
            self.speed = max(SLOWEST, self.speed / 2)

    def _skip(self, to: Literal["caption", "stage"]) -> None:
        self.skips, self.held, self._helps = to, False, False
        self._from = self._place()

    def take_over(self, said: str) -> None:
        """From now on the keys are the onlooker's; said: the caption that says so."""
        self.yours, self.held, self._helps, self.skips = True, False, False, ""
        self._key = ""
        self._tell(said)

    def let_pass(self) -> None:
        """Some minutes of the scratch log's own time go by."""
        self._more_s += MORE_MINUTES * 60

    async def live(self, clock: HandClock) -> None:
        """The scratch log's time goes on as the onlooker's does, until the program is left."""
        app = self._app
        assert app is not None
        before = ticked = self._seconds()
        while app.return_code is None and app.is_running:
            await asyncio.sleep(LIVE_S)
            now = self._seconds()
            more_s = min(self._more_s, LONGEST_TICK_S)
            self._more_s -= more_s
            # A laptop that slept meanwhile is no matter of the scratch log.
            clock.wind(min(now - before, 1.0) + more_s)
            before = now
            if now - ticked >= 1.0 or more_s:
                ticked = now
                app.tick()
            self._show()

    # The caption.

    def lines(self, width: int, rows: int) -> list[str]:
        """The caption on so many rows of so many columns: where the session is and what the
        keys do, then what happens; a text that is longer than its room turns its pages.
        """
        if rows < 1 or width < 1:
            return []
        pages = self._pages(width, rows)
        at = int((self._seconds() - self._since) / self._page_s(width, rows))
        # What is waited over is read again from its beginning.
        at = at % len(pages) if self.held or self.yours else min(at, len(pages) - 1)
        if rows == 1:
            return [pages[at][0] if self.yours or self._helps else self._status(width)]
        return [self._status(width), *pages[at]]

    def _status(self, width: int) -> str:
        if self.yours:
            return f" DEMO, yours  ctrl+T: {MORE_MINUTES} min  Q leaves"[:width]
        speed = "held" if self.held else "hurries" if self.skips else f"x{self.speed:g}"
        said = f" DEMO {self._at} of {self._steps} {speed}"
        key = f" key {self._key.upper() if len(self._key) > 1 else self._key}" if self._key else ""
        # The room of a key is kept, so that the hint stands still.
        head = f"{said}{key}"
        kept = max(cells(head), cells(said) + _KEY_ROOM) + 2
        room = width - kept - 1
        hints = [hint.replace("holds", "goes on") if self.held else hint for hint in _HINTS]
        hint = next(hint for hint in hints if cells(hint) <= room or not hint)
        return head + " " * (width - cells(head) - cells(hint) - 1) + hint

    def _pages(self, width: int, rows: int) -> list[list[str]]:
        text = KEYS if self._helps else self._said
        lines = [f" {line}" for line in wrapped(text, width - 2)]
        each = max(1, rows - 1)
        return [lines[at : at + each] for at in range(0, len(lines), each)]

    def _page_s(self, width: int, rows: int) -> float:
        room = width * max(1, rows - 1)
        return FOUND_S + min(room, len(self._said)) / READ_LETTERS

    def _reading_s(self) -> float:
        assert self._app is not None
        width, rows = self._app.caption_room()
        return len(self._pages(width, rows)) * self._page_s(width, rows)

    def _tell(self, said: str) -> None:
        self._said, self._since = said, self._seconds()
        self._show()

    def _show(self) -> None:
        if self._app is not None:
            self._app.show_caption(self.lines(*self._app.caption_room()))

    # Waiting.

    def _pace(self) -> float:
        """How many times as long as usual keys and captions stand."""
        return min(2.0, USUAL_SPEED / self.speed)

    def _place(self) -> tuple[str, str] | None:
        """Job and stage of what is in hand; None with nothing in hand."""
        shift = None if self._app is None else self._app.bench.shift()
        doing = None if shift is None else shift.doing
        return (doing.job, doing.stage) if isinstance(doing, Hands) else None

    async def _wait(self, seconds: float) -> None:
        """Waits as the onlooker wishes. Raises `Left` and `TakenOver`."""
        left = seconds
        before = self._seconds()
        while True:
            if self._app is not None and self._app.return_code is not None:
                raise Left
            if self.yours:
                raise TakenOver
            self._show()
            if not self.held and (left <= 0 or self.skips):
                await asyncio.sleep(0)
                return
            await asyncio.sleep(LOOK_S if self.held else min(LOOK_S, left))
            now = self._seconds()
            left -= 0.0 if self.held else now - before
            before = now
