"""History: every job of the log, found by letters, and the record and the card of each."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import ClassVar, Literal

from msgspec.structs import replace
from textual import events

from cartclock.engine.desk.past import ANY
from cartclock.engine.history.answers import PastJob, Sought
from cartclock.engine.history.typed import sought_by
from cartclock.tui.face.page import Page
from cartclock.tui.pages.history import MOST_SHOWN, NO_JOB, history_page
from cartclock.tui.screens.listing import SOUGHT_MOST, ListingScreen
from cartclock.tui.screens.program import CardAsked
from cartclock.tui.widgets.keyrow import KeyItem, KeyRow
from cartclock.tui.widgets.sheet import Line

_KEYS = (
    KeyItem("letters", "find"),
    KeyItem("enter", "its record"),
    KeyItem("right", "its vehicle"),
    KeyItem("/", "only some"),
    KeyItem("tab", "charts"),
    KeyItem("backspace", "wipe one"),
    KeyItem("?", "keys"),
    KeyItem("esc", "back"),
)
_RECORD = frozenset({"enter", "pagedown"})
_STATES: tuple[Literal["open", "closed"], ...] = ("open", "closed")


class HistoryScreen(ListingScreen):
    """A row a job. Every letter finds, so that no other key is one here."""

    called: ClassVar[str] = "history"
    typed = ""
    only: Sought = ANY
    _found_for: object = None
    _found: Sequence[PastJob] = ()
    _page = Page("History", ())

    def found(self) -> Sequence[PastJob]:
        """The jobs that filter and letters leave, so many of the newest as are shown."""
        self.page()
        return self._found

    def page(self) -> Page:
        """The jobs; asked anew with the log, with each letter and with the filter."""
        past, library = self.cart.shop.past, self.cart.bench.library
        unread = library.left("job")
        made_for = (self.cart.bench.log.head.seq, unread, self.typed, self.only)
        if made_for != self._found_for:
            only = sought_by(self.typed, self.only)
            found = past.jobs(only, MOST_SHOWN + 1)
            self._found, self._found_for = found[:MOST_SHOWN], made_for
            self._page = history_page(
                self._found,
                len(found) > MOST_SHOWN,
                past.count(),
                self.typed,
                unread,
                only,
                self.cart.settings.currency,
            )
        return self._page

    def paint_keys(self) -> None:
        """Shows the few keys of this screen, or those of its list."""
        if self.sheet.is_open:
            super().paint_keys()
        else:
            self.part("KeyRow", KeyRow).show(_KEYS, 2)

    def on_key(self, event: events.Key) -> None:
        """A letter or a digit finds; a few keys do what they do everywhere."""
        if self.sheet.is_open:
            super().on_key(event)
            return
        event.stop()
        event.prevent_default()
        key, letter = event.key, event.character or ""
        if key == "escape":
            self._answer(self.press_back)
        elif key in _RECORD or (key == "space" and not self.typed):
            self._answer(self.press_choose)
        elif key == "tab":
            self._answer(self.press_charts)
        elif key == "right":
            self._answer(self.press_card)
        elif key in ("up", "down"):
            self._answer(self.press_up if key == "up" else self.press_down)
        elif letter == "?":
            self._answer(self.press_help)
        elif letter == "/":
            self._answer(self.press_only)
        elif key == "backspace":
            self._find(self.typed[:-1])
        elif key == "space":
            self._find(f"{self.typed.rstrip(' ')} ")
        elif letter.isprintable() and letter.strip():
            self._find(self.typed + letter)
        else:
            self.say("That key has no meaning here; letters find, esc goes back.")

    def _find(self, typed: str) -> None:
        self.typed, self.at = typed[:SOUGHT_MOST], 0
        self.say("")
        self.paint()

    def _chosen(self) -> str:
        """The id of the chosen job; "" where none is left, which is said."""
        found = self.found()
        if self.at < len(found):
            return found[self.at].job
        past, library = self.cart.shop.past, self.cart.bench.library
        none = past.count() == library.left("job") == 0
        self.say(NO_JOB if none else "No job says that; backspace wipes a letter.")
        return ""

    def press_choose(self) -> None:
        """To the record of the chosen job."""
        job = self._chosen()
        if job:
            self.cart.record_of = job
            self.cart.show("record")

    def press_card(self) -> None:
        """To the card of its vehicle."""
        job = self._chosen()
        if job:
            self.cart.card = CardAsked(job)
            self.cart.show("card")

    def press_only(self) -> None:
        """The list of what may be looked at alone: a state, a plan, a body; they go together."""
        pairs = self.cart.shop.past.plans()
        choices = [("all jobs", ANY)]
        choices += [(f"{state} ones", replace(self.only, state=state)) for state in _STATES]
        choices += [
            (f"plan: {plan}", replace(self.only, plan=plan))
            for plan in dict.fromkeys(plan for plan, _shape in pairs)
        ]
        choices += [
            (f"body: {shape}", replace(self.only, shape=shape))
            for shape in sorted({shape for _plan, shape in pairs if shape})
        ]
        lines = [Line(name, partial(self._look_at, only)) for name, only in choices]
        self.sheet.open("Only which jobs?", lines)

    def _look_at(self, only: Sought) -> None:
        self.only, self.at = only, 0
