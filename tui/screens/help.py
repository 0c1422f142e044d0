"""Help: every key, what it does, and what the words and signs mean."""

from __future__ import annotations

from typing import ClassVar

from tui.keys import on_screen
from tui.screens.listing import ListingScreen

WORDS = (
    "WAIT: the film is not ready. READY ground: it is; the word is the work, the digits",
    "run to the close. LATE: it closed; do the work all the same, the record says so.",
    "Chemistry does not pause: a break or a phone call never stops a window.",
    "SPACE ends what is in hand and takes up what the line says. Digits before SPACE:",
    "minutes ago. Backspace takes back the newest press. Nothing advances by itself.",
    "Numbers are screening estimates; the eye, the label, local rules and medical",
    "advice come first.",
)


class HelpScreen(ListingScreen):
    """Keys and words."""

    called: ClassVar[str] = "help"

    def heading(self) -> str:
        """What this is."""
        return "Keys and words"

    def lines(self) -> list[str]:
        """Every key of the Run screen first, then those of the others."""
        found = [*WORDS, ""]
        for key in self.cart.keymap:
            faces = ", ".join(key.faces)
            found.append(f"{faces:<34} {key.help}")
        known = {key.id for key in on_screen(self.cart.keymap, "run")}
        assert known
        return found
