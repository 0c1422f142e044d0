"""What a job used of each product: as applied, from the pack, from which lot, and its cost."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.figures.mix import WATER_DROPS_PER_ML
from cartclock.engine.plan.amounts import StockUnit, full_pack, money, per_ml
from cartclock.engine.plan.plan import Product, Unit
from cartclock.engine.products.booked import Place, booked_by
from cartclock.engine.products.item import Pack
from cartclock.engine.products.stock import PackLog
from cartclock.engine.times import Instant


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


class Booking(Struct, frozen=True):
    """What a step or a correction took, and the pack it came from.

    Fields:
        at_us: when.
        product: id.
        stage, sections: where it went; "" and none for a correction.
        applied: of the mix as applied, in the plan's unit; negative if a correction lowers.
        amount: concentrate in `unit`; None if it cannot be reckoned.
        unit: what the pack is counted in; without one, what the plan's product is.
        lot, expires: of the pack in force; "" if none or not noted.
        rate: price of one unit of concentrate; None if not known.
    """

    at_us: Instant
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


def uses(job: Job, packs: PackLog) -> tuple[Booking, ...]:
    """What a job used, in order; lots and prices are those of `packs`."""
    made: dict[tuple[str, str], tuple[list[Place], tuple[Pack, ...]]] = {}
    found = []
    for one in booked_by(job):
        # Of a job that went from cart to cart each use came from a pack of its own cart.
        key = one.product, one.cart
        if key not in made:
            there = packs.on_cart(one.cart)
            calibrated = WATER_DROPS_PER_ML if one.planned is None else per_ml(one.planned)
            places = [row.happened for row in there.opened.get(one.product, ())]
            made[key] = places, there.packs(one.product, calibrated)
        places, opened = made[key]
        before = bisect_left(places, one.counts)
        pack = opened[before - 1] if before else None
        # What is counted otherwise cannot be told of that pack.
        fits = pack is None or one.unit == pack.unit
        found.append(
            Booking(
                at_us=one.at_us,
                product=one.product,
                stage=one.stage,
                sections=one.sections,
                applied=one.applied,
                amount=one.amount if fits else None,
                unit=one.unit if pack is None else pack.unit,
                lot="" if pack is None else pack.lot,
                expires="" if pack is None else pack.expires,
                rate=rate_of(pack, one.planned),
            )
        )
    return tuple(found)


def consumed(job: Job, packs: PackLog) -> tuple[Consumed, ...]:
    """The products that a job used, in its plan's order; lots and prices are those of `packs`."""
    plan = job.opened.plan
    order = [product.id for product in plan.products]
    by_product: dict[str, list[Booking]] = {}
    for use in uses(job, packs):
        by_product.setdefault(use.product, []).append(use)
    ranked = sorted(by_product, key=lambda p: order.index(p) if p in order else len(order))
    found = []
    for product_id in ranked:
        own = by_product[product_id]
        product = plan.product(product_id)
        found.append(
            Consumed(
                product=product_id,
                name=product_id if product is None else product.name,
                unit="" if product is None else product.unit,
                mix="" if product is None else product.mix,
                applied=sum((use.applied for use in own), Fraction(0)),
                amount=_sum(use.amount for use in own),
                stock_unit=own[-1].unit,
                lots=_lots(own),
                cost=_sum(use.cost for use in own),
            )
        )
    return tuple(found)


def rate_of(pack: Pack | None, product: Product | None) -> Fraction | None:
    """Price of one unit of concentrate: of the pack in force, else by the plan; None if neither
    has one.
    """
    if pack is not None and pack.rate is not None:
        return pack.rate
    if product is None or product.pack is None:
        return None
    price, content = money(product.price), full_pack(product)
    return price / content if price is not None and content > 0 else None


def _sum(parts: Iterable[Fraction | None]) -> Fraction | None:
    total = Fraction(0)
    for part in parts:
        if part is None:
            return None
        total += part
    return total


def _lots(own: Iterable[Booking]) -> tuple[LotUse, ...]:
    by_lot: dict[tuple[str, str], list[Booking]] = {}
    for use in own:
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
