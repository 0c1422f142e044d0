"""What a cart tells its shop of its products: a line each, as its own fold has them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from uuid import UUID, uuid5

from cartclock.engine.store.library import Library
from cartclock.engine.store.views.stocked import STOCKED


def stock_lines(library: Library, origin: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """(id, line of `stock_line`) of each product of a log that was opened or weighed.

    The id is made of the log and the product (RFC 9562, version 5): a product has none that is a
    UUID. Quantities are in `unit`, price is that of one unit of the pack in use.
    """
    for product, item in STOCKED.stock(library).items.items():
        pack = item.pack
        if pack is None and item.weighed_us is None:
            continue
        rate = None if pack is None else pack.rate
        yield (
            str(uuid5(UUID(origin), product)),
            {
                "product": product,
                "name": item.called,
                "unit": item.unit,
                "left": None if item.left is None else float(item.left),
                "weighed_us": item.weighed_us,
                "book": None if item.book is None else float(item.book),
                "unclear": item.unclear,
                "content": None if pack is None else float(pack.content),
                "opened_us": None if pack is None else pack.at_us,
                "lot": "" if pack is None else pack.lot,
                "expires": "" if pack is None else pack.expires,
                "price": None if rate is None else float(rate),
            },
        )
