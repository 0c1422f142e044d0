"""Help: every key, what it does, and what the words and signs mean."""

from __future__ import annotations

from typing import ClassVar

from cartclock.engine.letters import wrapped
from cartclock.tui.face.laying import MARGIN, RIM
from cartclock.tui.screens.listing import ListingScreen

WORDS = (
    "WAIT: the film is not ready. On a READY ground it is: the word is the work, the digits run "
    "down to when it must be begun, the small ones to the close. LATE: it closed; do the work all "
    "the same, the record says so. Chemistry does not pause: a break or a call never stops a "
    "window. SPACE ends what is in hand and takes up what the line says; digits before SPACE mean "
    "minutes ago; backspace takes back the newest press. Nothing advances by itself. The eye, the "
    "label, local rules and medical advice come first."
)


class HelpScreen(ListingScreen):
    """Keys and words."""

    called: ClassVar[str] = "help"
    reading: ClassVar[bool] = True

    def heading(self) -> str:
        """What this is."""
        return "Keys and words"

    def lines(self) -> list[str]:
        """Every key of the Run screen first, then those of the others."""
        width = max(20, self.size.width - MARGIN - RIM)
        reasons = self.cart.run_screen.reasons()
        found = [*wrapped(WORDS, width), ""]
        for key in self.cart.keymap:
            found.append(f"{', '.join(key.faces)}")
            not_now = f" Not now: {reasons[key.id]}" if key.id in reasons else ""
            found += [f"    {line}" for line in wrapped(key.help + not_now, width - 4)]
        return found
