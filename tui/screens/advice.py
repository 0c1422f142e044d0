"""What is to be done about signs of being unwell: one page that fills the screen."""

from __future__ import annotations

from typing import ClassVar

from cartclock.engine.body.signs import Advice
from cartclock.engine.letters import wrapped
from cartclock.tui.face.laying import MARGIN, RIM
from cartclock.tui.screens.cart import LOW
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.widgets.keyrow import KeyRow


class AdviceScreen(ListingScreen):
    """A page of short sentences; esc goes back to the clocks."""

    called: ClassVar[str] = "advice"
    reading: ClassVar[bool] = True

    @property
    def advice(self) -> Advice:
        """What is shown."""
        return self.cart.advice

    def heading(self) -> str:
        """What to do first."""
        return self.advice.title

    def lines(self) -> list[str]:
        """The sentences, wrapped, with air between them where there is room."""
        width = max(20, self.size.width - MARGIN - RIM)
        air = [""] if self.size.height >= 20 else []
        found: list[str] = list(air)
        for sentence in (*self.advice.lines, "esc: back to the clocks"):
            found += [*wrapped(sentence, width), *air]
        return found

    def paint(self) -> None:
        """The whole field says how serious it is; the title says the same in words."""
        serious = self.advice.seriousness in ("emergency", "skin")
        self.set_class(serious, "emergency")
        self.ground = "late" if serious else "page"
        super().paint()
        # Where rows are few the sentences need them; the last one names the way back.
        for part in (KeyRow, "#notice"):
            self.query_one(part).display = self.size.height >= LOW
