"""Outlook: when the open jobs will be done, with their windows."""

from __future__ import annotations

from typing import ClassVar

from cartclock.engine.facts.job import open_jobs
from cartclock.engine.times import Instant
from cartclock.tui.face.page import Page
from cartclock.tui.pages.outlook import outlook_page
from cartclock.tui.screens.ahead import AheadScreen
from cartclock.tui.told import long_windows


class OutlookScreen(AheadScreen):
    """A text that is read."""

    called: ClassVar[str] = "outlook"

    def on_screen_resume(self) -> None:
        """Opens at the top."""
        self.at = 0
        super().on_screen_resume()

    def press_as_told(self) -> None:
        """To the chart of how the finish was told over the day."""
        self.cart.chart = "told"
        self.cart.show("charts")

    def page_at(self, now_us: Instant) -> Page:
        """Every open job."""
        bench = self.cart.bench
        return outlook_page(
            open_jobs(bench.jobs.values()),
            long_windows.long_windows(bench, now_us),
            self.cart.workplace.moment.ahead,
            now_us,
            self.cart.settings.zone,
            self.cart.settings.temperature,
        )
