"""The way of a command to the shop that this cart belongs to."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from cartclock.tui.commands.door import REFUSED, leave

if TYPE_CHECKING:
    import psycopg


@contextmanager
def to_shop(log: Path) -> Iterator[psycopg.Connection]:
    """An open line to the shop of the cart whose log this is; ends the command where what speaks to
    it is not installed. Raises ShopFault."""
    from cartclock.engine.joined.link import linked
    from cartclock.engine.joined.membership import membership

    try:
        with linked(membership(log), log) as line:
            yield line
    except ModuleNotFoundError as missing:
        if missing.name != "psycopg":
            raise
        leave(REFUSED, "What speaks to the shop is not installed: pip install 'cartclock[shop]'.")
