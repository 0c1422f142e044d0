"""What a job used of each product: as applied, from the pack, from which lot, and its cost."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from engine.job.amounts import StockUnit
from engine.job.item import Use
from engine.job.plan import Unit
from engine.job.stock import Stock


class LotUse(Struct, frozen=True):
    """What came from one lot.

    Fields:
        lot, expires: as noted when the pack was opened; "" if not.
        applied: in the plan's unit.
        sections: (stage, section) it went on, in order, each once.
        amount: concentrate in the stock's unit; None if some of it cannot be reckoned.
        cost: in money; None if the price of some of it is not known.
    """

    lot: str
    expires: str
    applied: Fraction
    sections: tuple[tuple[str, str], ...]
    amount: Fraction | None = None
    cost: Fraction | None = None


class Consumed(Struct, frozen=True):
    """A product's use in a job.

    Fields:
        product, name, unit, mix: as in the job's plan; the id and "" if the plan lacks it.
        applied: of the mix as applied, in `unit`, what was put right included.
        amount: concentrate in `stock_unit`; None if some of it cannot be reckoned.
        lots: in the order first used.
        cost: of all of it, in money; None if the price of some of it is not known.
    """

    product: str
    name: str
    unit: Unit | str
    mix: str
    applied: Fraction
    amount: Fraction | None
    stock_unit: StockUnit
    lots: tuple[LotUse, ...]
    cost: Fraction | None

    @property
    def changed_lot(self) -> bool:
        """True if it came from more than one lot."""
        return len(self.lots) > 1


def consumed(stock: Stock, job: str) -> tuple[Consumed, ...]:
    """The products that a job used, in its plan's order."""
    plan = stock.plans.get(job)
    order = [] if plan is None else [product.id for product in plan.products]
    by_product: dict[str, list[Use]] = {}
    for use in stock.uses.get(job, ()):
        by_product.setdefault(use.product, []).append(use)
    ranked = sorted(by_product, key=lambda p: order.index(p) if p in order else len(order))
    found = []
    for product_id in ranked:
        uses, product = by_product[product_id], stock.product(job, product_id)
        found.append(
            Consumed(
                product=product_id,
                name=product_id if product is None else product.name,
                unit="" if product is None else product.unit,
                mix="" if product is None else product.mix,
                applied=sum((use.applied for use in uses), Fraction(0)),
                amount=_sum(use.amount for use in uses),
                stock_unit=uses[-1].unit,
                lots=_lots(uses),
                cost=_sum(use.cost for use in uses),
            )
        )
    return tuple(found)


def _sum(parts: Iterable[Fraction | None]) -> Fraction | None:
    total = Fraction(0)
    for part in parts:
        if part is None:
            return None
        total += part
    return total


def _lots(uses: Iterable[Use]) -> tuple[LotUse, ...]:
    by_lot: dict[tuple[str, str], list[Use]] = {}
    for use in uses:
        by_lot.setdefault((use.lot, use.expires), []).append(use)
    return tuple(
        LotUse(
            lot,
            expires,
            sum((use.applied for use in same), Fraction(0)),
            tuple(dict.fromkeys((use.stage, name) for use in same for name in use.sections)),
            _sum(use.amount for use in same),
            _sum(use.cost for use in same),
        )
        for (lot, expires), same in by_lot.items()
    )


def rounded(cost: Fraction) -> Decimal:
    """Money with two decimals, half to even."""
    return Decimal(round(cost * 100)).scaleb(-2)


def total(consumed: Iterable[Consumed]) -> Decimal | None:
    """The costs that are known, each rounded, added up as a reader would; None if none is."""
    costs = [rounded(one.cost) for one in consumed if one.cost is not None]
    return sum(costs, Decimal("0.00")) if costs else None
