"""Help: every key, what it does, and what the words mean; words typed leave what it is about."""

from __future__ import annotations

from typing import ClassVar

from textual import events

from cartclock.tui.face.page import Page
from cartclock.tui.keys import MINUTES, SCREENS, meaning, on_screen
from cartclock.tui.pages.help import TERMS, found, help_page
from cartclock.tui.screens.cart import CartScreen
from cartclock.tui.screens.listing import SOUGHT_MOST, ListingScreen

NO_KEY = "That is a word of the screens and no key."
HERE = "That key works in a list or on another screen; there is nothing to press here."

# What has no meaning but where it is pressed.
_ONLY_THERE = frozenset({MINUTES, "up", "down", "help", "back", "choose", "press"})


class HelpScreen(ListingScreen):
    """Keys and words."""

    called: ClassVar[str] = "help"
    # A key that is held would press what was found, and then what stands there.
    advancing: ClassVar[frozenset[str]] = frozenset({"press"})
    _typed = ""

    def on_screen_resume(self) -> None:
        """Opens with everything."""
        self.at, self._typed = 0, ""
        super().on_screen_resume()

    def page(self) -> Page:
        """The keys that have to do with what was typed, and the words."""
        return help_page(self.cart.workplace.keymap, self._typed, self.cart.run_screen.reasons())

    def on_key(self, event: events.Key) -> None:
        """Letters say what is looked for, and behind the first of them a blank and whatever else
        can be printed: nothing of a sentence is a press. Every other key is a key.
        """
        known = (
            not self._typed
            and meaning(self.cart.workplace.keymap, self.called, event.key) is not None
        )
        letter = event.character if event.is_printable and not known else None
        if self.sheet.is_open or (letter is None and event.key != "backspace"):
            super().on_key(event)
            return
        event.stop()
        event.prevent_default()
        self._look_for(self._typed[:-1] if letter is None else self._typed + letter.lower())

    def _look_for(self, typed: str) -> None:
        self.at, self._typed = 0, typed[:SOUGHT_MOST]
        self.hush()
        self.paint()

    def press_back(self) -> None:
        """Forgets what was typed; without it, back."""
        if self._typed:
            self._look_for("")
        else:
            super().press_back()

    def press_press(self) -> None:
        """Presses the chosen key where help was asked for, or on the screen where it works."""
        keys = found(self.cart.workplace.keymap, self._typed)
        if self.at >= len(keys):
            self.say(NO_KEY if self.at < len(keys) + len(TERMS) else HERE)
            return
        key = keys[self.at]
        if key.id in _ONLY_THERE:
            self.say(HERE)
            return
        self.cart.back()
        front = self.app.screen
        assert isinstance(front, CartScreen)
        if key not in on_screen(self.cart.workplace.keymap, front.called):
            self.cart.show(next(name for name in ("run", *SCREENS) if name in key.screens))
            front = self.app.screen
            assert isinstance(front, CartScreen)
        front.press(key.id)
