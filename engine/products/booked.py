"""What the steps of one job booked, and what that drew from the packs.

Steps book amounts of the mix as applied; what leaves the pack is the product in that mix, so
stock is reckoned in concentrate: `ml` (drops by the bottle's calibration), `g` or `each`.
Everything is an exact fraction of the decimals that were written; rounding is for print only.

A correction speaks of what its job had used before it: it counts where the job's last use of
the product stands, and at its own time if there was none. So an amount put right after a
weighing is not taken off twice, and one put right after a new pack stays with the old lot.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, bringing
from cartclock.engine.facts.rows import Row
from cartclock.engine.plan.amounts import COUNTED, StockUnit, exact, per_ml, taken
from cartclock.engine.plan.plan import Plan, Product
from cartclock.engine.times import Instant

# Where a row stands among the rows as they are told (`engine.facts.rows.Row.happened`).
Place = tuple[int, str, int]


class Booked(Struct, frozen=True):
    """What a step or a correction took of one product.

    Fields:
        at_us: when.
        product: id.
        planned: the product as the job's plan has it; None if it has none of that id.
        stage, sections: where it went; "" and none for a correction.
        applied: of the mix as applied, in the plan's unit; negative if a correction lowers.
        amount: concentrate in `unit`; None if it cannot be reckoned.
        unit: what the plan's product is counted in; "" without one.
        counts: where it counts; of a correction the use it corrects.
    """

    at_us: Instant
    product: str
    planned: Product | None
    stage: str
    sections: tuple[str, ...]
    applied: Fraction
    amount: Fraction | None
    unit: StockUnit
    counts: Place

    @property
    def cart(self) -> str:
        """Identity of the cart from whose packs it came: what is put right of a use counts where
        that use does."""
        return self.counts[1]


def booked(plan: Plan, rows: Iterable[Row]) -> Iterator[Booked]:
    """What was booked in a job, in order; a step that books several products is several.

    rows: of the job, as they are to be believed; others than uses and corrections of uses are
    passed over. plan: the job's.
    """
    last: dict[str, Place] = {}
    for row in rows:
        here = row.happened
        amounts: Mapping[str, float]
        match row.event:
            case ev.ProductUsed(stage, sections, _turn, amounts):
                last |= dict.fromkeys(amounts, here)
            case ev.UseCorrected(product, by):
                stage, sections, amounts = "", (), {product: by}
                last.setdefault(product, here)
            case _:
                continue
        for product, number in amounts.items():
            planned = plan.product(product)
            yield Booked(
                at_us=row.at_us,
                product=product,
                planned=planned,
                stage=stage,
                sections=sections,
                applied=exact(number),
                amount=None if planned is None else _taken(planned, number),
                unit="" if planned is None else COUNTED[planned.unit],
                counts=last[product],
            )


def rows_told(job: Job) -> list[Row]:
    """The rows of a job in which something may be booked, in the order told.

    Also those that its fold had to set aside: whatever the section was, it left the bottle.
    """
    aside = [odd.row for odd in job.odd]
    return sorted([*job.facts, *aside], key=lambda row: row.happened) if aside else job.facts


def booked_by(job: Job) -> Iterator[Booked]:
    """What was booked in a job, in order."""
    return booked(job.opened.plan, rows_told(job))


def booked_here(job: Job) -> Iterator[Booked]:
    """What was booked in a job on the cart that has it, in order: what another cart used of it
    before it was handed over came from that cart's packs. What this one used while another had it
    left its own."""
    rows = rows_told(job)
    if job.late:
        rows = sorted([*rows, *job.late], key=lambda row: row.happened)
    return (one for one in booked(job.opened.plan, rows) if one.cart == job.holder)


def _taken(product: Product, number: float) -> Fraction | None:
    return taken(product.unit, product.mix, product.drops_per_ml, number)


class Drawn(Struct, frozen=True):
    """What one job drew of a product.

    Fields:
        product: id.
        unit: of the stock; "" if it cannot be reckoned.
        amount: concentrate in `unit`; 0 if that is "".
        times: how many uses and corrections it is the sum of, 1 or more.
        first, last: between these places all of it counts.
    """

    product: str
    unit: StockUnit
    amount: Fraction
    times: int
    first: Place
    last: Place


def drawn(found: Iterable[Booked]) -> tuple[Drawn, ...]:
    """What was booked in one job, added up by product.

    Its plan says once and for all what a product is counted in, or that it cannot be reckoned.
    """
    sums: dict[str, Drawn] = {}
    for one in found:
        unit = one.unit if one.amount is not None else ""
        amount, times, first, last = one.amount or Fraction(0), 1, one.counts, one.counts
        before = sums.get(one.product)
        if before is not None:
            amount, times = before.amount + amount, before.times + 1
            first, last = min(before.first, first), max(before.last, last)
        sums[one.product] = Drawn(one.product, unit, amount, times, first, last)
    return tuple(sums[product] for product in sorted(sums))


class Named(Struct, frozen=True):
    """A product as the plan of a job names it.

    Fields:
        product: id.
        name: what the plan calls it.
        unit: what the plan's unit is counted in.
        per_ml: drops in a millilitre; None if the plan does not count it in drops.
        opened: time, number and id of the job; the newest plan is that of the greatest.
    """

    product: str
    name: str
    unit: StockUnit
    per_ml: Fraction | None
    opened: tuple[int, int, str]


def with_brought(opened: ev.JobOpened, rows: Iterable[Row]) -> ev.JobOpened:
    """The opening of a job, its plan with the products that added stages brought along.

    rows: of the job, in the order told.
    """
    for row in rows:
        if isinstance(row.event, ev.StageAdded):
            opened = bringing(opened, row.event)
    return opened


def named(job: str, opened_us: int, opened: ev.JobOpened) -> tuple[Named, ...]:
    """The products of the plan of a job, in the plan's order."""
    return tuple(
        Named(
            product.id,
            product.name,
            COUNTED[product.unit],
            per_ml(product) if product.unit == "drops" else None,
            (opened_us, opened.number, job),
        )
        for product in opened.plan.products
    )
