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
from cartclock.engine.facts.rows import Row, believed_rows, tenures
from cartclock.engine.figures.mix import WATER_DROPS_PER_ML
from cartclock.engine.plan.amounts import COUNTED, StockUnit, exact, money
from cartclock.engine.products.booked import Booked, Named, Place, booked, named, with_brought
from cartclock.engine.products.item import Item, Pack
from cartclock.engine.times import Instant


class PackSum(Struct, frozen=True):
    """What packs and weighings say of one product, added up.

    Fields:
        pack, opened_us: the newest pack and when it was opened; None without one.
        begins: the first of the packs that are counted as the newest is, with none counted
            otherwise between them; None without a pack.
        otherwise: True if one that is counted otherwise was opened before that.
        weighed, left: the newest weighing and what it found; None without one.
        held: what the packs from `begins` on held that were opened behind the newest weighing,
            by the unit that was noted.
        by_plan: True if what packs held or weighings found cannot be said without the newest plan.
    """

    pack: ev.PackOpened | None = None
    opened_us: Instant | None = None
    begins: Place | None = None
    otherwise: bool = False
    weighed: Place | None = None
    left: Fraction | None = None
    held: Mapping[str, Fraction] = {}
    by_plan: bool = True


class PackLog(Struct, frozen=True):
    """Packs opened and products weighed, in the order in which that happened.

    Fields:
        opened, weighed: product id -> rows of `PackOpened`, of `PackWeighed`.
    """

    opened: Mapping[str, Sequence[Row]] = {}
    weighed: Mapping[str, Sequence[Row]] = {}

    def on_cart(self, origin: str) -> PackLog:
        """What was opened and weighed on the cart of that identity."""
        return PackLog(_on(self.opened, origin), _on(self.weighed, origin))

    def packs(self, product: str, drops_per_ml: Fraction = WATER_DROPS_PER_ML) -> tuple[Pack, ...]:
        """The packs of a product in the order opened.

        drops_per_ml: of a pack that was noted in drops.
        """
        rows = self.opened.get(product, ())
        return tuple(_pack(_opened(row), row.at_us, drops_per_ml) for row in rows)

    def lot_at(self, product: str, at_us: Instant, origin: str) -> str:
        """The lot in force on a cart at a time; "" if no pack was open or its lot was not noted."""
        rows = self.opened.get(product, ())
        found = [row for row in rows if row.origin == origin and row.at_us <= at_us]
        return _opened(found[-1]).lot if found else ""

    def sum_of(self, product: str) -> PackSum:
        """What these packs and weighings of a product come to."""
        opened, weighings = self.opened.get(product, ()), self.weighed.get(product, ())
        newest = weighings[-1] if weighings else None
        found = (
            PackSum() if newest is None else PackSum(weighed=newest.happened, left=_left(newest))
        )
        if not opened:
            return found
        units = [_counted(row) for row in opened]
        run = len(units)
        while run and units[run - 1] == units[-1]:
            run -= 1
        held: dict[str, Fraction] = {}
        for row in opened[run:]:
            pack = _opened(row)
            if newest is None or row.happened > newest.happened:
                held[pack.unit] = held.get(pack.unit, Fraction(0)) + exact(pack.content)
        return replace(
            found,
            pack=_opened(opened[-1]),
            opened_us=opened[-1].at_us,
            begins=opened[run].happened,
            otherwise=run > 0,
            held=held,
            by_plan=any(_opened(row).unit == "drops" for row in opened)
            or (bool(weighings) and weighings[0].happened < opened[0].happened),
        )


def _on(rows: Mapping[str, Sequence[Row]], origin: str) -> Mapping[str, Sequence[Row]]:
    return {product: [row for row in of if row.origin == origin] for product, of in rows.items()}


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


def _opened(row: Row) -> ev.PackOpened:
    if not isinstance(row.event, ev.PackOpened):
        raise TypeError(f"row {row.seq} opens no pack")
    return row.event


def _counted(row: Row) -> StockUnit:
    return COUNTED.get(_opened(row).unit, "")


def _left(row: Row) -> Fraction:
    return exact(row.event.left) if isinstance(row.event, ev.PackWeighed) else Fraction(0)


def _pack(opened: ev.PackOpened, at_us: Instant, drops_per_ml: Fraction) -> Pack:
    content, price = exact(opened.content), money(opened.price)
    if opened.unit == "drops":
        content /= drops_per_ml
    return Pack(
        at_us=at_us,
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
    summed: PackSum,
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
    pack = None
    if summed.pack is not None and summed.opened_us is not None:
        pack = _pack(summed.pack, summed.opened_us, per_ml)
    planned: StockUnit = "" if newest is None else newest.unit
    unit = planned if pack is None else pack.unit
    anew = summed.otherwise or (newest is not None and planned != unit)
    weighed = summed.weighed
    if weighed is not None and anew and summed.begins is not None and weighed < summed.begins:
        weighed = None
    found = Item(
        product=product,
        name=product if newest is None else newest.name,
        unit=unit,
        per_ml=per_ml,
        pack=pack,
        weighed_us=None if weighed is None else Instant(weighed[0]),
    )
    since = summed.begins if weighed is None else weighed
    if since is None:
        return found
    unread = unread_since(None if summed.by_plan else since)
    if unread:
        return replace(found, unread=unread)
    book = Fraction(0) if weighed is None or summed.left is None else summed.left
    for noted, content in summed.held.items():
        book += content / per_ml if noted == "drops" else content
    unclear = 0
    for other, amount, times in drawn_since(since):
        if other == unit and unit:
            book -= amount
        else:
            unclear += times
    return replace(found, book=book, unclear=unclear)


class Stock(Struct, frozen=True):
    """What is on the cart.

    Fields:
        items: product id -> what there is of it: of every product that was ever named by a
            plan, used, opened or weighed.
    """

    items: Mapping[str, Item] = {}


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
        opened = with_brought(opening.event, own)
        for one in named(job, opening.at_us, opened):
            names.setdefault(one.product, []).append(one)
        holder = tenures(own, job)[-1].origin
        for use in booked(opened.plan, own):
            if use.cart != holder:
                # From the packs of a cart that had the job before.
                continue
            uses.setdefault(use.product, []).append(use)
    packs = pack_log(believed)
    products = sorted({*names, *uses, *packs.opened, *packs.weighed})
    return Stock(
        {
            product: _item(
                product, packs.sum_of(product), names.get(product, ()), uses.get(product, ())
            )
            for product in products
        }
    )


def _item(product: str, summed: PackSum, names: Iterable[Named], uses: Iterable[Booked]) -> Item:
    by_age = sorted(names, key=lambda one: one.opened)
    drops = [one.per_ml for one in by_age if one.per_ml is not None]
    return item(
        product,
        summed,
        by_age[-1] if by_age else None,
        drops[-1] if drops else None,
        lambda since: [
            ("", Fraction(0), 1) if use.amount is None else (use.unit, use.amount, 1)
            for use in uses
            if use.counts > since
        ],
    )
