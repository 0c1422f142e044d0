"""Follows the log for the pages, through presses, restarts and logs that lie elsewhere since."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping

import msgspec

from cartclock.engine.dates import local
from cartclock.engine.desk.bench import GAP_US, Bench
from cartclock.engine.desk.shop import Shop
from cartclock.engine.now.moment import Moment
from cartclock.engine.store.settings import Settings
from cartclock.engine.trouble import Refused, StoreFault
from cartclock.tui.show.seen import CartPage, CustomerPage, LostPage, cart_page, customer_page
from cartclock.tui.told.asked import asked_again
from cartclock.tui.told.sight import Sight
from cartclock.tui.told.workplace import Workplace

CART = "cart"
"""What the page for phone and tablet is of."""
CUSTOMER = "customer/"
"""What a customer's page is of begins so; the id of the job stands behind it."""

Page = CartPage | CustomerPage | LostPage


class Follower:
    """Says what the pages say at this instant.

    Args:
        open_bench: opens the log that there is now, to be read; raises Refused or StoreFault.
        settings: what the worker has settled.
    """

    def __init__(self, open_bench: Callable[[], Bench], settings: Settings) -> None:
        self._open, self._settings = open_bench, settings
        self._sight: Sight | None = None
        self._heard = ""

    def close(self) -> None:
        """Lets go of the log."""
        if self._sight is not None:
            self._sight.workplace.bench.close()
            self._sight = None

    def look(self, pages: Collection[str]) -> Mapping[str, Page]:
        """What each of these pages says now; that the cart is lost where its log cannot be read or
        its program has not given a sign of life.

        pages: what they are of.
        """
        if not pages:
            return {}
        try:
            sight = self._followed()
            now = sight.workplace.look_again()
            silent = self._silent_since(sight.workplace.bench, now)
            if silent is not None:
                return dict.fromkeys(pages, LostPage(silent))
            self._heard = f"{local(now.now_us, self._settings.zone):%H:%M}"
            return {page: self._said(sight, now, page) for page in pages}
        except (Refused, StoreFault):
            # Opened anew with the next look: it may lie elsewhere by then.
            self.close()
            return dict.fromkeys(pages, LostPage(self._heard))

    def _followed(self) -> Sight:
        if self._sight is None:
            bench, said = self._open(), self._settings
            shop = Shop(bench.log, said.rest_place, said.closed, bench.library)
            self._sight = Sight(Workplace(bench, shop, said))
            return self._sight
        bench = self._sight.workplace.bench
        bench.log.still_lies_there()
        bench.follow()
        return self._sight

    def _silent_since(self, bench: Bench, now: Moment) -> str | None:
        """Time of day of the newest sign of life of the cart's program; None if it gave one
        lately.
        """
        beat, newest = bench.log.last_beat(), bench.log.rows_after(bench.log.head.seq - 1)
        signs = [row.entered_us for row in newest] + ([] if beat is None else [beat.at_us])
        if signs and now.now_us - max(signs) <= GAP_US:
            return None
        return f"{local(max(signs), self._settings.zone):%H:%M}" if signs else ""

    def _said(self, sight: Sight, now: Moment, page: str) -> Page:
        at = sight.workplace
        if page != CART:
            job = page.removeprefix(CUSTOMER)
            if job in at.bench.jobs or at.shop.has(job):
                return customer_page(now, at.bench.jobs.get(job), self._settings.zone)
            return LostPage("")
        asked = at.bench.log.asked()
        sight.asked, sight.asked_us = asked_again(asked), now.now_us
        seen = sight.look()
        return cart_page(now, sight.tell(seen, {}), seen.faces, self._settings.zone)


def encoded(page: Page) -> bytes:
    """What a page says as an event of its stream: WHATWG HTML, server-sent events."""
    return b"data: " + msgspec.json.encode(page) + b"\n\n"
