"""Outlook: when the open jobs will be done, with their windows."""

from __future__ import annotations

from typing import ClassVar

from cartclock.engine.facts.job import open_jobs
from cartclock.engine.times import Instant
from cartclock.engine.until import Kept
from cartclock.tui.face.page import Page
from cartclock.tui.lists import wet
from cartclock.tui.pages.outlook import outlook_page
from cartclock.tui.screens.listing import ListingScreen


class OutlookScreen(ListingScreen):
    """A text that is read; made anew each minute."""

    called: ClassVar[str] = "outlook"

    def __init__(self) -> None:
        super().__init__()
        self._kept: Kept[Page] = Kept()

    def on_screen_resume(self) -> None:
        """Opens at the top."""
        self.at = 0
        super().on_screen_resume()

    def press_as_told(self) -> None:
        """To the chart of how the finish was told over the day."""
        self.cart.chart = "told"
        self.cart.show("charts")

    def page(self) -> Page:
        """Every open job; made anew when something of it is another."""
        bench, now = self.cart.bench, self.cart.workplace.moment
        wet.load_readings(bench)
        made_for = (bench.log.head.seq, tuple(bench.jobs), tuple(bench.shifts))
        return self._kept.at(
            now.now_us,
            made_for,
            lambda us: outlook_page(
                open_jobs(bench.jobs.values()),
                wet.long_windows(bench, Instant(us)),
                now.ahead,
                Instant(us),
                self.cart.settings.zone,
            ),
        )
