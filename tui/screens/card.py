"""Vehicle: what one that comes again brings with it, from History, from Today and at a new job."""

from __future__ import annotations

from typing import ClassVar

from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused
from cartclock.engine.until import bare
from cartclock.tui.face.page import Page, Words
from cartclock.tui.pages.card import NO_JOB, card_page
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.screens.program import CardAsked


class CardScreen(ListingScreen):
    """The card of one vehicle, read from top to bottom."""

    called: ClassVar[str] = "card"
    # The press that goes on may have been meant for the line of text before it.
    advancing: ClassVar[frozenset[str]] = frozenset({"go_on"})
    _made_for: tuple[object, ...] = ()
    _page = NO_JOB

    def on_screen_resume(self) -> None:
        """Opens at the top."""
        self.at = 0
        super().on_screen_resume()

    def page(self) -> Page:
        """The card; made anew with the log and with the day."""
        asked, now_us = self.cart.card, Instant(bare(self.cart.workplace.moment.now_us))
        if not asked.job:
            return NO_JOB
        goes_on = asked.goes_on is not None
        left = self.cart.bench.library.left("job")
        made_for = (asked.job, goes_on, self.cart.bench.log.head.seq, left, now_us // HOUR_US)
        if made_for != self._made_for:
            try:
                card = self.cart.shop.vehicle_card(asked.job, now_us)
            except Refused as why:
                self._page = Page("Vehicle", (Words(str(why)),), reading=True)
            else:
                self._page = card_page(card, goes_on, left)
            self._made_for = made_for
        return self._page

    def reasons(self) -> dict[str, str]:
        """Only a new job that waits can go on."""
        waits = self.cart.card.goes_on is not None
        return {} if waits else {"go_on": "No new job waits here: + on Today opens one."}

    def press_go_on(self) -> None:
        """Back to the new job that was being opened."""
        goes_on = self.cart.card.goes_on
        self.cart.card = CardAsked(self.cart.card.job)
        if goes_on is not None:
            goes_on()

    def press_back(self) -> None:
        """Back; what was said of a new job already is not lost."""
        left = self.cart.card.left
        self.cart.card = CardAsked(self.cart.card.job)
        super().press_back()
        if left is not None:
            left()

    def press_record(self) -> None:
        """To the record of the job that the card was asked for by."""
        self.cart.record_of = self.cart.card.job
        self.cart.show("record")
