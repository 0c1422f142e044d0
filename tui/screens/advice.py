"""What is to be done about signs of being unwell: one page that fills the screen."""

from __future__ import annotations

from typing import ClassVar

from msgspec.structs import replace

from cartclock.engine.body.signs import Advice
from cartclock.engine.letters import cells
from cartclock.tui.face.laying import MARGIN, RIM
from cartclock.tui.face.page import Head, Page
from cartclock.tui.pages.advice import advice_page
from cartclock.tui.screens.cart import LOW
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.widgets.keyrow import KeyRow

# Rows below the page: two of keys and one that answers.
_BELOW = 3


class AdviceScreen(ListingScreen):
    """A page of short sentences; esc goes back to the clocks."""

    called: ClassVar[str] = "advice"

    @property
    def advice(self) -> Advice:
        """What is shown."""
        return self.cart.advice

    def page(self) -> Page:
        """What to do first, and the sentences."""
        width, height = self.size
        return advice_page(self.advice, width, height - (_BELOW if height >= LOW else 0))

    def _head(self, name: str) -> Head:
        """Without the clock where it would cut what to do first."""
        head = super()._head(name)
        room = self.size.width - MARGIN - RIM - cells(head.window) - 2
        return head if cells(self.advice.title) <= room else replace(head, window="")

    def paint(self) -> None:
        """The whole field says how serious it is; the title says the same in words."""
        self.set_class(self.advice.serious, "emergency")
        super().paint()
        # Where rows are few the sentences need them; the last one names the way back.
        for part in (KeyRow, "#notice"):
            self.query_one(part).display = self.size.height >= LOW
