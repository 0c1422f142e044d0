"""What belongs to no shift and no job: packs on the cart, and corrections of any press."""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.facts.sealed import Words
from cartclock.engine.times import Instant


class PackOpened(Struct, frozen=True):
    """A new pack of a product on the cart.

    Fields:
        product: the id that plans give it.
        content, unit: what a full pack holds, > 0; ml, g, drops or each.
        lot: as printed on the pack; "" if not noted.
        expires: last day of use as printed, ISO 8601 date; "" if not noted.
        price: of the pack, decimal text, currency from settings; None if not noted.
        name: what the bottle is called; "" if as in the plan.
    """

    product: str
    content: float
    unit: str = "ml"
    lot: str = ""
    expires: str = ""
    price: str | None = None
    name: str = ""


class PackWeighed(Struct, frozen=True):
    """What is left of a product, in its unit."""

    product: str
    left: float


# Corrections: nothing is edited; a later event takes back, restores or moves a press. Which one
# is said by its number and its `origin`, "" for the row's own: `Row.corrects` is the one reader.


class PressStruck(Struct, frozen=True):
    """A press (sequence number of its first row) does not stand."""

    press: int
    why: Words = ""
    origin: str = ""


class PressRestored(Struct, frozen=True):
    """A struck press stands again."""

    press: int
    origin: str = ""


class PressMoved(Struct, frozen=True):
    """A press happened at another time: its first row at `to_us`, the others as far behind."""

    press: int
    to_us: Instant
    origin: str = ""
