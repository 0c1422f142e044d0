"""One product of the cart: its packs, what is left, and what was taken from it."""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from engine.figures.mix import WATER_DROPS_PER_ML
from engine.job.amounts import COUNTED, StockUnit


class Pack(Struct, frozen=True):
    """A pack as it was opened.

    Fields:
        at_us: when.
        content: what it held, in `unit`.
        unit: of the stock.
        lot, expires, name: as noted; "" if not.
        rate: price of one unit; None if no price was noted.
    """

    at_us: int
    content: Fraction
    unit: StockUnit
    lot: str
    expires: str
    name: str
    rate: Fraction | None


class Use(Struct, frozen=True):
    """What a step or a correction took.

    Fields:
        at_us: of its row.
        counts: where it counts (`Row.happened`); of a correction the use it corrects.
        product: id.
        stage, sections: where it went; "" and none for a correction.
        applied: of the mix as applied, in the plan's unit; negative if a correction lowers.
        amount: concentrate in `unit`; None if it cannot be reckoned.
        unit: of the stock.
        lot, expires: of the pack in force; "" if none or not noted.
        rate: price of one unit of concentrate; None if not known.
    """

    at_us: int
    counts: tuple[int, str, int]
    product: str
    stage: str
    sections: tuple[str, ...]
    applied: Fraction
    amount: Fraction | None
    unit: StockUnit
    lot: str
    expires: str
    rate: Fraction | None

    @property
    def cost(self) -> Fraction | None:
        """What it cost, in money; None if not known."""
        return None if self.rate is None or self.amount is None else self.rate * self.amount


class Item(Struct, frozen=True):
    """One product on the cart.

    Fields:
        product: its id.
        name: as the newest plan calls it; the id if none does.
        unit: what its stock is counted in; "" while nobody said.
        per_ml: drops in a millilitre, by the newest plan that counts it in drops.
        packs: in the order opened.
        weighed_us: the newest weighing; None if there was none.
        book: packs opened and weighings less what was used since; None before the first.
        since: the row behind which uses count (`Row.happened`): of the newest weighing, of the
            first pack if there was none.
        unclear: uses since then that cannot be reckoned in `unit`.
    """

    product: str
    name: str
    unit: StockUnit = ""
    per_ml: Fraction = WATER_DROPS_PER_ML
    packs: tuple[Pack, ...] = ()
    weighed_us: int | None = None
    book: Fraction | None = None
    since: tuple[int, str, int] = (-1, "", -1)
    unclear: int = 0

    @property
    def called(self) -> str:
        """What the bottle is called, else what the plan calls it."""
        return (self.packs[-1].name if self.packs else "") or self.name

    @property
    def pack(self) -> Pack | None:
        """The pack in use."""
        return self.packs[-1] if self.packs else None

    @property
    def left(self) -> Fraction | None:
        """What is left; None until it was weighed. Negative: more was used than there was."""
        return None if self.weighed_us is None else self.book

    def takes(self, unit: str) -> bool:
        """True if an amount in this unit can be reckoned in the stock's."""
        return unit in COUNTED and self.unit in ("", COUNTED[unit])
