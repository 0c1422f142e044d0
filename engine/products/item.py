"""One product of the cart: the pack in use and what is left."""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from cartclock.engine.figures.mix import WATER_DROPS_PER_ML
from cartclock.engine.plan.amounts import StockUnit
from cartclock.engine.times import Instant


class Pack(Struct, frozen=True):
    """A pack as it was opened.

    Fields:
        at_us: when.
        content: what it held, in `unit`.
        unit: of the stock.
        lot, expires, name: as noted; "" if not.
        rate: price of one unit; None if no price was noted.
    """

    at_us: Instant
    content: Fraction
    unit: StockUnit
    lot: str
    expires: str
    name: str
    rate: Fraction | None


class Item(Struct, frozen=True):
    """One product on the cart.

    Fields:
        product: its id.
        name: as the newest plan calls it; the id if none does.
        unit: what its stock is counted in; "" while nobody said.
        per_ml: drops in a millilitre, by the newest plan that counts it in drops.
        pack: the one in use; None if none was opened.
        weighed_us: the newest weighing; None if there was none.
        book: packs opened and weighings less what was used since; None before the first, and
            while something is unread.
        unclear: uses since then that cannot be reckoned in `unit`.
        unread: jobs that are still to be read before `book` can be said.
    """

    product: str
    name: str
    unit: StockUnit = ""
    per_ml: Fraction = WATER_DROPS_PER_ML
    pack: Pack | None = None
    weighed_us: Instant | None = None
    book: Fraction | None = None
    unclear: int = 0
    unread: int = 0

    @property
    def called(self) -> str:
        """What the bottle is called, else what the plan calls it."""
        return ("" if self.pack is None else self.pack.name) or self.name

    @property
    def left(self) -> Fraction | None:
        """What is left; None until it was weighed. Negative: more was used than there was."""
        return None if self.weighed_us is None else self.book
