"""What is left of each product, and which lot and price was in force at each use.

A fold of the rows of all jobs. Steps book amounts of the mix as applied; what leaves the pack
is the product in that mix, so stock is reckoned in concentrate: `ml` (drops by the bottle's
calibration), `g` or `each`. Everything is an exact fraction of the decimals that were
written; rounding is for print only.

A correction speaks of what its job had used before it: it counts where the job's last use of
the product stands, and at its own time if there was none. So an amount put right after a
weighing is not taken off twice, and one put right after a new pack stays with the old lot.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from engine.job import events as ev
from engine.job.amounts import COUNTED, exact, full_pack, money, per_ml, taken
from engine.job.item import Item, Pack, Use
from engine.job.plan import Plan, Product
from engine.job.rows import Row, told

STOCK_EVENTS: tuple[type[Struct], ...] = (
    ev.JobOpened,
    ev.ProductUsed,
    ev.UseCorrected,
    *ev.CART_EVENTS,
    *ev.CORRECTIONS,
)


class Stock(Struct):
    """Products by id, and uses by job. Treat as frozen outside this module.

    Fields:
        items: product id -> what there is of it.
        uses: job id -> what it used, in order.
        plans: job id -> its plan.
        last: the newest row read (`Row.happened`).
    """

    items: dict[str, Item] = {}
    uses: dict[str, tuple[Use, ...]] = {}
    plans: dict[str, Plan] = {}
    last: tuple[int, str, int] = (-1, "", -1)

    def lot_at(self, product: str, at_us: int) -> str:
        """The lot in force at a time; "" if no pack was open or its lot was not noted."""
        item = self.items.get(product)
        opened = [] if item is None else [pack for pack in item.packs if pack.at_us <= at_us]
        return opened[-1].lot if opened else ""

    def product(self, job: str, product: str) -> Product | None:
        """The product as the plan of a job has it."""
        plan = self.plans.get(job)
        return None if plan is None else plan.product(product)


def stock(rows: Sequence[Row]) -> Stock:
    """The stock by the rows of a log as written; other events than `STOCK_EVENTS` say nothing.

    A press must be there with all its rows, because a move in time is reckoned from its first.
    """
    return _after(Stock(), rows)


def followed(before: Stock, rows: Sequence[Row]) -> Stock | None:
    """The stock after more rows as written; None if they reach back, and all must be told anew.

    They reach back if one of them corrects a press that is not among them, or speaks of a
    time before the newest row of `before`.
    """
    presses = {row.press for row in rows}
    for row in rows:
        meant = row.corrects
        if meant is not None and meant not in presses:
            return None
    after = Stock(before.items.copy(), before.uses.copy(), before.plans.copy(), before.last)
    believed = told(rows)
    if any(row.happened < before.last for row in believed):
        return None
    return _after(after, rows)


def _after(found: Stock, rows: Sequence[Row]) -> Stock:
    speaking = [row for row in told(rows) if isinstance(row.event, STOCK_EVENTS)]
    for row in speaking:
        if isinstance(row.event, ev.JobOpened):
            found.plans[row.job] = row.event.plan
    for row in sorted(speaking, key=lambda row: row.happened):
        _take(found, row)
    return found


def _take(found: Stock, row: Row) -> None:
    match row.event:
        case ev.JobOpened(plan=plan):
            for product in plan.products:
                _name(found, product)
        case ev.PackOpened() as opened:
            _open(found, row, opened)
        case ev.PackWeighed(product_id, left):
            _weigh(found, row, product_id, exact(left))
        case ev.ProductUsed(stage, sections, _turn, amounts):
            for product_id, amount in amounts.items():
                _use(found, row, product_id, amount, stage, sections)
        case ev.UseCorrected(product_id, by):
            _use(found, row, product_id, by, "", ())
    found.last = max(found.last, row.happened)


def _item(found: Stock, product_id: str) -> Item:
    return found.items.get(product_id) or Item(product_id, product_id)


def _name(found: Stock, product: Product) -> None:
    item = replace(_item(found, product.id), name=product.name)
    if not item.packs and item.book is None:
        item = replace(item, unit=COUNTED[product.unit])
    if product.unit == "drops":
        item = replace(item, per_ml=per_ml(product))
    found.items[product.id] = item


def _open(found: Stock, row: Row, opened: ev.PackOpened) -> None:
    item = _item(found, opened.product)
    unit = COUNTED.get(opened.unit, "")
    content = exact(opened.content)
    if opened.unit == "drops":
        content /= item.per_ml
    rate = money(opened.price)
    pack = Pack(
        at_us=row.at_us,
        content=content,
        unit=unit,
        lot=opened.lot,
        expires=opened.expires,
        name=opened.name,
        rate=rate / content if rate is not None and content > 0 else None,
    )
    if unit != item.unit:
        # Counted in something else from now on: what there was before says nothing any more.
        item = replace(item, unit=unit, weighed_us=None, book=None)
    if item.book is None:
        item = replace(item, book=Fraction(0), since=row.happened, unclear=0)
    found.items[opened.product] = replace(
        item, packs=(*item.packs, pack), book=(item.book or 0) + content
    )


def _weigh(found: Stock, row: Row, product_id: str, left: Fraction) -> None:
    found.items[product_id] = replace(
        _item(found, product_id),
        weighed_us=row.at_us,
        book=left,
        since=row.happened,
        unclear=0,
    )


def _use(
    found: Stock,
    row: Row,
    product_id: str,
    number: float,
    stage: str,
    sections: tuple[str, ...],
) -> None:
    item, product = _item(found, product_id), found.product(row.job, product_id)
    applied, amount, unit = exact(number), None, item.unit
    if product is not None and item.takes(product.unit):
        amount = taken(product.unit, product.mix, product.drops_per_ml, number)
        unit = COUNTED[product.unit]
    pack = item.pack
    use = Use(
        at_us=row.at_us,
        counts=row.happened,
        product=product_id,
        stage=stage,
        sections=sections,
        applied=applied,
        amount=amount,
        unit=unit,
        lot="" if pack is None else pack.lot,
        expires="" if pack is None else pack.expires,
        rate=_rate(pack, product),
    )
    uses = found.uses.get(row.job, ())
    if not stage:
        use = _as_the_last(use, uses)
    found.uses[row.job] = (*uses, use)
    if unit != item.unit:
        item = replace(item, unit=unit)
    if use.counts > item.since:
        if amount is None:
            item = replace(item, unclear=item.unclear + 1)
        elif item.book is not None:
            item = replace(item, book=item.book - amount)
    found.items[product_id] = item


def _as_the_last(use: Use, uses: Sequence[Use]) -> Use:
    """A correction where it counts: with the job's last use of the product, if there is one."""
    for last in reversed(uses):
        if last.product == use.product:
            return replace(
                use, counts=last.counts, lot=last.lot, expires=last.expires, rate=last.rate
            )
    return use


def _rate(pack: Pack | None, product: Product | None) -> Fraction | None:
    """Price of one unit: of the pack in force, else by the plan."""
    if pack is not None and pack.rate is not None:
        return pack.rate
    if product is None or product.pack is None:
        return None
    price, content = money(product.price), full_pack(product)
    return price / content if price is not None and content > 0 else None
