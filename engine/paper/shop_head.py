"""Who made a paper: what stands at its head, and how to reach the shop."""

from __future__ import annotations

from msgspec import Struct


class ShopHead(Struct, frozen=True):
    """The shop as papers name it.

    Fields:
        name: of the shop; "" if nothing is to be said.
        lines: of its address, in order.
        phone: as it is dialled; "" if none is to be given.
    """

    name: str = ""
    lines: tuple[str, ...] = ()
    phone: str = ""


NO_SHOP = ShopHead()
