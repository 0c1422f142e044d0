"""A page of the open jobs: what it says is a function of the log and of the time."""

from __future__ import annotations

from collections.abc import Hashable

from cartclock.engine.times import Instant
from cartclock.engine.until import Kept
from cartclock.tui.face.page import Page
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.told import long_windows


class AheadScreen(ListingScreen):
    """Made anew with the log, and when time makes something of it another."""

    def __init__(self) -> None:
        super().__init__()
        self._kept: Kept[Page] = Kept()

    def page(self) -> Page:
        """The page at this moment."""
        bench = self.cart.bench
        long_windows.load_readings(bench)
        made_for = (bench.log.head.seq, tuple(bench.jobs), tuple(bench.shifts), self.beside())
        now_us = self.cart.workplace.moment.now_us
        return self._kept.at(now_us, made_for, lambda us: self.page_at(Instant(us)))

    def beside(self) -> Hashable:
        """What the page is made of beside the log; another one makes it anew."""
        return None

    def page_at(self, now_us: Instant) -> Page:
        """What to show at an instant."""
        raise NotImplementedError
