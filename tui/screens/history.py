"""History: every job of the log, found by letters, and the record of each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events

from cartclock.engine.hours.summary import JobLine
from cartclock.tui.face.page import Page
from cartclock.tui.pages.history import found_jobs, history_page
from cartclock.tui.screens.listing import SOUGHT_MOST, ListingScreen
from cartclock.tui.widgets.keyrow import KeyItem, KeyRow

_KEYS = (
    KeyItem("letters", "find"),
    KeyItem("backspace", "wipe one"),
    KeyItem("space", "show its record"),
    KeyItem("?", "keys"),
    KeyItem("esc", "back"),
)
_OPENS = frozenset({"space", "enter", "pagedown", "right"})


class HistoryScreen(ListingScreen):
    """A row a job. Every letter finds, so that no other key is one here."""

    called: ClassVar[str] = "history"
    typed = ""
    _jobs: tuple[object, Sequence[tuple[str, JobLine]]] = (None, ())
    _made_for: tuple[object, str] | None = None
    _page = Page("History", ())

    def found(self) -> Sequence[tuple[str, JobLine]]:
        """The jobs that what was typed leaves, with their ids."""
        shop, library = self.cart.shop, self.cart.bench.library
        of = (self.cart.bench.log.head.seq, library.left("job"))
        if self._jobs[0] != of:
            self._jobs = (of, shop.job_lines())
        return found_jobs(self._jobs[1], self.typed)

    def page(self) -> Page:
        """The jobs; made anew with the log, and with each letter."""
        lines = [line for _job, line in self.found()]
        made_for = (self._jobs[0], self.typed)
        if made_for != self._made_for:
            unread = self.cart.bench.library.left("job")
            self._page = history_page(lines, len(self._jobs[1]), self.typed, unread)
            self._made_for = made_for
        return self._page

    def paint_keys(self) -> None:
        """Shows the few keys of this screen."""
        self.part("KeyRow", KeyRow).show(_KEYS, 2)

    def on_key(self, event: events.Key) -> None:
        """A letter or a digit finds; a few keys do what they do everywhere."""
        event.stop()
        event.prevent_default()
        key, letter = event.key, event.character or ""
        if key == "escape":
            self._answer(self.press_back)
        elif key in _OPENS:
            self._answer(self.press_choose)
        elif key in ("up", "down"):
            self._answer(self.press_up if key == "up" else self.press_down)
        elif letter == "?":
            self._answer(self.press_help)
        elif key == "backspace":
            self._find(self.typed[:-1])
        elif letter.isprintable() and letter.strip():
            self._find(self.typed + letter)
        else:
            self.say("That key has no meaning here; letters find, esc goes back.")

    def _find(self, typed: str) -> None:
        self.typed, self.at = typed[:SOUGHT_MOST], 0
        self.say("")
        self.paint()

    def press_choose(self) -> None:
        """To the record of the chosen job."""
        found = self.found()
        if not found:
            self.say("No job says that; backspace wipes a letter.")
            return
        self.cart.record_of = found[self.at][0]
        self.cart.show("record")
