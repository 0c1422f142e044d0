"""What a job will take before there is one: hours, the earliest hand-over, products and money.

It is the finish of a job that is not opened, by the same reckoning.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.visits import reasons_text
from cartclock.engine.ahead.durations import Z80, Sum
from cartclock.engine.ahead.job_ahead import JobAhead
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.body.pace import NO_LENGTH
from cartclock.engine.dates import day_of, nearest_minute
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.hours.planned import planned_us
from cartclock.engine.plan.amounts import COUNTED, StockUnit
from cartclock.engine.plan.plan import Plan, Product, Work
from cartclock.engine.products.consumption import rate_of, rounded
from cartclock.engine.products.item import Item
from cartclock.engine.products.supply import needed
from cartclock.engine.times import Instant, Length

PaintState = Literal["better than usual", "as usual", "worse than usual"]
# By how much the planned minutes of work with a machine are multiplied. Our own judgement, no
# source.
PAINT_FACTORS: dict[PaintState, float] = {
    "better than usual": 0.85,
    "as usual": 1.0,
    "worse than usual": 1.25,
}


class StageEstimate(Struct, frozen=True):
    """A stage of an estimate.

    Fields:
        stage: its name.
        planned_us, hands_us, by_us: hands on it by the plan, expected, and four times in five.
        measured: how many earlier pieces its least known step rests on.
    """

    stage: str
    planned_us: Length
    hands_us: Length
    by_us: Length
    measured: int


class ProductEstimate(Struct, frozen=True):
    """A product of an estimate.

    Fields:
        product, name: its id, and as the plan calls it.
        amount: of the concentrate, in `unit`; None for a mix that is no ratio.
        cost: in money with two decimals; None if the price or the amount is not known.
    """

    product: str
    name: str
    amount: float | None
    unit: StockUnit
    cost: Decimal | None


class Estimate(Struct, frozen=True):
    """What a job will take.

    Fields:
        plan, shape: its plan's name and body.
        paint: the state of the paint; `machine` is False if no step of the plan goes by it.
        jobs, same_shape: how many earlier jobs it rests on, and how many of them on such a body.
        from_shop: whether other carts of the shop taught of it.
        stages: in order.
        planned_us, hands_us, hands_by_us: hands on it by the plan, expected, four times in five.
        stood_us, other_us: standing by for its films; other work for it, expected.
        own_us, own_by_us: all work on it, as of a `PastJob`: hands on, standing by and other work,
            each to the minute, so that a table of them adds up; expected and, as much longer as the
            hands, four times in five.
        gaps_us, rests_us, meals_us, nights_us: what of the time is no work, expected.
        closed: why the shop is closed on the day on which it is begun, in words; "" if it is open.
        begin_us, done_us, by_us: from when to when, expected and four times in five.
        ready_us, ready_by_us: when it may be handed over, which a cure may make later.
        heat: True if the heat of the day is in it.
        products: in the plan's order.
        products_cost: of those with a price; None if none has one.
        unpriced: names of those without.
        labour, labour_by: `own_us` and `own_by_us` at `hourly`; None without a rate.
        hourly: the rate as a decimal text; "" if none is settled.
        currency: code, "" if not settled.
        whole: False if a step has no minutes in the plan.
    """

    plan: str
    shape: str
    paint: PaintState
    machine: bool
    jobs: int
    same_shape: int
    from_shop: bool
    stages: tuple[StageEstimate, ...]
    planned_us: Length
    hands_us: Length
    hands_by_us: Length
    stood_us: Length
    other_us: Length
    own_us: Length
    own_by_us: Length
    gaps_us: Length
    rests_us: Length
    meals_us: Length
    nights_us: Length
    closed: str
    begin_us: Instant
    done_us: Instant
    by_us: Instant
    ready_us: Instant
    ready_by_us: Instant
    heat: bool
    products: tuple[ProductEstimate, ...]
    products_cost: Decimal | None
    unpriced: tuple[str, ...]
    labour: Decimal | None
    labour_by: Decimal | None
    hourly: str
    currency: str
    whole: bool


class Basis(Struct, frozen=True):
    """What an estimate rests on beside the plan.

    Fields:
        same_shape: of the earlier jobs, how many were on such a body.
        pieces: stage -> measured pieces of its least known step.
        items: product id -> what there is of it on the cart.
        hourly: what an hour costs; None if not settled.
        currency: code, "" if not settled.
    """

    same_shape: int = 0
    pieces: Mapping[str, int] = {}
    items: Mapping[str, Item] = {}
    hourly: Fraction | None = None
    currency: str = ""


def in_state(plan: Plan, paint: PaintState) -> Plan:
    """The plan with the minutes that a paint in such a state asks for: those of machine work."""
    factor = PAINT_FACTORS[paint]
    if factor == 1.0:
        return plan
    stages = []
    for stage in plan.stages:
        steps = tuple(
            replace(step, minutes=step.minutes * factor)
            if isinstance(step, Work) and step.tool
            else step
            for step in stage.steps
        )
        stages.append(replace(stage, steps=steps))
    return replace(plan, stages=tuple(stages))


def estimate(ahead: JobAhead, prospect: Prospect, paint: PaintState, basis: Basis) -> Estimate:
    """What a job will take.

    Args:
        ahead: the job, of a plan that is `in_state`; alone in `prospect`, from its begin on.
    """
    job, id_ = ahead.job, ahead.job.id
    told = prospect.finish(id_)
    assert told is not None
    parts = {part.what: part.length_us for part in told.parts}
    hands = prospect.hands(id_)
    planned = {stage.name: planned_us(job, stage) for stage in job.stages}
    expected = {stage.stage: stage.hands_us for stage in told.stages}
    stages = [
        StageEstimate(
            stage=stage.name,
            planned_us=planned[stage.name],
            hands_us=expected.get(stage.name, NO_LENGTH),
            by_us=_by(prospect.hands(id_, stage.name), expected.get(stage.name, NO_LENGTH)),
            measured=basis.pieces.get(stage.name, 0),
        )
        for stage in job.stages
    ]
    products = _products(job, basis)
    costs = [one.cost for one in products if one.cost is not None]
    stood_us, other_us = parts.get("waits", 0), parts.get("other work", 0)
    own_us = sum(map(_to_minute, (told.hands_us, stood_us, other_us)))
    by_us = _by(hands, told.hands_us)
    own_by_us = _to_minute(own_us * by_us / told.hands_us) if told.hands_us else own_us
    return Estimate(
        plan=job.opened.plan.name,
        shape=job.opened.plan.shape,
        paint=paint,
        machine=_by_machine(job),
        jobs=ahead.learned,
        from_shop=ahead.from_shop,
        same_shape=basis.same_shape,
        stages=tuple(stages),
        planned_us=Length(sum(planned.values())),
        hands_us=told.hands_us,
        hands_by_us=by_us,
        stood_us=Length(stood_us),
        other_us=Length(other_us),
        own_us=Length(own_us),
        own_by_us=Length(own_by_us),
        gaps_us=Length(parts.get("gaps", 0)),
        rests_us=Length(parts.get("rests by the heat", 0)),
        meals_us=Length(parts.get("meals", 0)),
        nights_us=Length(parts.get("nights", 0)),
        closed=_closed(prospect, told.now_us),
        begin_us=told.now_us,
        done_us=told.done_us,
        by_us=told.by_us,
        ready_us=told.ready_us,
        ready_by_us=told.ready_by_us,
        heat=prospect.around.heat is not None,
        products=products,
        products_cost=sum(costs, Decimal("0.00")) if costs else None,
        unpriced=tuple(one.name for one in products if one.cost is None),
        labour=_money(own_us, basis.hourly),
        labour_by=_money(own_by_us, basis.hourly),
        hourly="" if basis.hourly is None else f"{rounded(basis.hourly)}",
        currency=basis.currency,
        whole=told.whole,
    )


def _closed(prospect: Prospect, begin_us: Instant) -> str:
    day = prospect.around.work_day
    reason = "" if day is None else day.closed.reason(day_of(begin_us, day.zone))
    return reasons_text((reason,)) if reason else ""


def _minutes(minutes: float) -> Length:
    return Length(round(minutes * MINUTE_US))


def _to_minute(length_us: float) -> int:
    return nearest_minute(length_us / SECOND_US) * MINUTE_US


def _by(of: Sum, expected_us: Length) -> Length:
    """Four times in five; never under what is expected."""
    return max(expected_us, _minutes(of.quantile(Z80)))


def _money(length_us: int, hourly: Fraction | None) -> Decimal | None:
    return None if hourly is None else rounded(hourly * Fraction(length_us, HOUR_US))


def _by_machine(job: Job) -> bool:
    return any(
        isinstance(step, Work) and bool(step.tool) for stage in job.stages for step in stage.steps
    )


def _products(job: Job, basis: Basis) -> tuple[ProductEstimate, ...]:
    plan, amounts = job.opened.plan, needed(job)
    used = {
        use.product
        for stage in job.stages
        for step in stage.steps
        if isinstance(step, Work)
        for use in step.uses
    }
    found = []
    for product in plan.products:
        if product.id in used:
            unit = COUNTED[product.unit]
            amount = amounts.get((product.id, unit))
            found.append(
                ProductEstimate(
                    product.id,
                    product.name,
                    None if amount is None else float(amount),
                    unit,
                    _cost(product, amount, unit, basis.items.get(product.id)),
                )
            )
    return tuple(found)


def _cost(
    product: Product, amount: Fraction | None, unit: StockUnit, item: Item | None
) -> Decimal | None:
    pack = None if item is None else item.pack
    if pack is not None and pack.unit != unit:
        # What is counted otherwise cannot be told of that pack.
        pack = None
    rate = rate_of(pack, product)
    return None if rate is None or amount is None else rounded(rate * amount)
