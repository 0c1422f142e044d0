"""What is left of each product: packs and weighings as they were told, less what jobs drew.

The stock is a sum over jobs, so it does not matter in which order plans, uses and weighings
came. For that a product must be counted in one thing from the beginning to the end: in what
its newest pack holds; without a pack, in what the newest plan that names it says. A pack that
is counted in something else than what was before begins anew: what was opened and weighed
before it says nothing of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.figures.mix import WATER_DROPS_PER_ML
from cartclock.engine.plan.amounts import COUNTED, StockUnit, exact, money
from cartclock.engine.products.booked import Booked, Named, Place, booked, named
from cartclock.engine.products.item import Item, Pack
from cartclock.engine.times import Instant


class PackLog(Struct, frozen=True):
    """Packs opened and products weighed, in the order in which that happened.

    Fields:
        opened, weighed: product id -> rows of `PackOpened`, of `PackWeighed`.
    """

    opened: Mapping[str, Sequence[Row]] = {}
    weighed: Mapping[str, Sequence[Row]] = {}

    def packs(self, product: str, drops_per_ml: Fraction = WATER_DROPS_PER_ML) -> tuple[Pack, ...]:
        """The packs of a product in the order opened.

        drops_per_ml: of a pack that was noted in drops.
        """
        return tuple(_pack(row, drops_per_ml) for row in self.opened.get(product, ()))

    def lot_at(self, product: str, at_us: Instant) -> str:
        """The lot in force at a time; "" if no pack was open or its lot was not noted."""
        found = [row for row in self.opened.get(product, ()) if row.at_us <= at_us]
        event = found[-1].event if found else None
        return event.lot if isinstance(event, ev.PackOpened) else ""


def pack_log(believed: Iterable[Row]) -> PackLog:
    """What rows say of packs; `believed` as `engine.facts.rows.believed_rows` gives them."""
    opened: dict[str, list[Row]] = {}
    weighed: dict[str, list[Row]] = {}
    for row in sorted(believed, key=lambda row: row.happened):
        match row.event:
            case ev.PackOpened(product):
                opened.setdefault(product, []).append(row)
            case ev.PackWeighed(product):
                weighed.setdefault(product, []).append(row)
    return PackLog(opened, weighed)


def _pack(row: Row, drops_per_ml: Fraction) -> Pack:
    opened = row.event
    if not isinstance(opened, ev.PackOpened):
        raise TypeError(f"row {row.seq} opens no pack")
    content, price = exact(opened.content), money(opened.price)
    if opened.unit == "drops":
        content /= drops_per_ml
    return Pack(
        at_us=row.at_us,
        content=content,
        unit=COUNTED.get(opened.unit, ""),
        lot=opened.lot,
        expires=opened.expires,
        name=opened.name,
        rate=price / content if price is not None and content > 0 else None,
    )


# Of one product: what was drawn behind a place, in any parts: the unit it is counted in, how much,
# and of how many uses. "" where it cannot be reckoned.
DrawnSince = Callable[[Place], Iterable[tuple[StockUnit, Fraction, int]]]
# How many jobs are still to be read that may have a row behind a place; None: at any time.
UnreadSince = Callable[[Place | None], int]


def nothing_unread(since: Place | None) -> int:
    """Everything was read."""
    return 0


def item(
    product: str,
    packs: PackLog,
    newest: Named | None,
    drops_per_ml: Fraction | None,
    drawn_since: DrawnSince,
    unread_since: UnreadSince = nothing_unread,
) -> Item:
    """What there is of one product.

    newest: as the newest plan names it; None if none does.
    drops_per_ml: by the newest plan that counts it in drops; None if none does.
    """
    per_ml = WATER_DROPS_PER_ML if drops_per_ml is None else drops_per_ml
    made = packs.packs(product, per_ml)
    opened = packs.opened.get(product, ())
    before: StockUnit = newest.unit if newest is not None else made[0].unit if made else ""
    unit = made[-1].unit if made else before
    # The first of the packs that are counted like the newest, without another between.
    run = len(made)
    while run and made[run - 1].unit == unit:
        run -= 1
    anew = opened[run].happened if made and (run or before != unit) else None
    weighings = packs.weighed.get(product, ())
    weighed = [w for w in weighings if anew is None or w.happened > anew]
    found = Item(
        product=product,
        name=product if newest is None else newest.name,
        unit=unit,
        per_ml=per_ml,
        packs=made,
        weighed_us=weighed[-1].at_us if weighed else None,
    )
    if weighed:
        since, book = weighed[-1].happened, _weight(weighed[-1])
        run = sum(row.happened < since for row in opened)
    elif made:
        since, book = opened[run].happened, Fraction(0)
    else:
        return found
    unread = unread_since(None if _hang_on_a_plan(opened, weighings) else since)
    if unread:
        return replace(found, unread=unread)
    book += sum((pack.content for pack in made[run:]), Fraction(0))
    unclear = 0
    for other, amount, times in drawn_since(since):
        if other == unit and unit:
            book -= amount
        else:
            unclear += times
    return replace(found, book=book, unclear=unclear)


def _hang_on_a_plan(opened: Sequence[Row], weighings: Sequence[Row]) -> bool:
    """Whether what packs hold, or what was weighed, cannot be said without the newest plan."""
    if not opened or (weighings and weighings[0].happened < opened[0].happened):
        return True
    events = (row.event for row in opened)
    return any(isinstance(event, ev.PackOpened) and event.unit == "drops" for event in events)


def _weight(row: Row) -> Fraction:
    return exact(row.event.left) if isinstance(row.event, ev.PackWeighed) else Fraction(0)


class Stock(Struct, frozen=True):
    """What is on the cart.

    Fields:
        items: product id -> what there is of it: of every product that was ever named by a
            plan, used, opened or weighed.
        packs: what was told of packs.
    """

    items: Mapping[str, Item] = {}
    packs: PackLog = PackLog()


def stock(rows: Sequence[Row]) -> Stock:
    """The stock by all rows of a log as written.

    A press must be there with all its rows, because a move in time is reckoned from its first.
    """
    believed = believed_rows(rows)
    by_job: dict[str, list[Row]] = {}
    for row in sorted(believed, key=lambda row: row.happened):
        by_job.setdefault(row.job, []).append(row)
    names: dict[str, list[Named]] = {}
    uses: dict[str, list[Booked]] = {}
    for job, own in by_job.items():
        opening = next((row for row in own if isinstance(row.event, ev.JobOpened)), None)
        if opening is None or not isinstance(opening.event, ev.JobOpened):
            continue
        for one in named(job, opening.at_us, opening.event):
            names.setdefault(one.product, []).append(one)
        for use in booked(opening.event.plan, own):
            uses.setdefault(use.product, []).append(use)
    packs = pack_log(believed)
    products = sorted({*names, *uses, *packs.opened, *packs.weighed})
    return Stock(
        {
            product: _item(product, packs, names.get(product, ()), uses.get(product, ()))
            for product in products
        },
        packs,
    )


def _item(product: str, packs: PackLog, names: Iterable[Named], uses: Iterable[Booked]) -> Item:
    by_age = sorted(names, key=lambda one: one.opened)
    drops = [one.per_ml for one in by_age if one.per_ml is not None]
    return item(
        product,
        packs,
        by_age[-1] if by_age else None,
        drops[-1] if drops else None,
        lambda since: [
            ("", Fraction(0), 1) if use.amount is None else (use.unit, use.amount, 1)
            for use in uses
            if use.counts > since
        ],
    )
