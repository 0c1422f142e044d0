"""What the open jobs still need of each product, and what is to be said about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from cartclock.engine.dates import day_of, spoken_day
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.section import Section, next_turn, work_of
from cartclock.engine.figures.mix import decimal_text
from cartclock.engine.plan.amounts import COUNTED, StockUnit, concentrate, exact
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.products.item import Item
from cartclock.engine.products.stock import Stock
from cartclock.engine.times import Instant

Need = dict[tuple[str, StockUnit], Fraction]


def needed(job: Job, of: str = "", up_to: int | None = None) -> Need:
    """What the sections left of an open job still take, in concentrate, by product and unit.

    It is what will be booked if all is done by the plan: every work step left on every section
    that is not over, the step in hand included, and the priming of a step not begun. A closed
    job needs nothing.

    Args:
        of: a stage, alone; "": all of them.
        up_to: a layer, and those below it; None: all of them.
    """
    found: Need = {}
    if job.state != "open":
        return found
    plan = job.opened.plan
    for stage in job.stages:
        if of and stage.name != of:
            continue
        for (layer, step), count in _left(stage, job.of(stage.name)).items():
            if up_to is not None and layer > up_to:
                continue
            begun = any(
                (stint.stage, stint.turn.layer, stint.turn.step) == (stage.name, layer, step)
                for stint in job.stints
            )
            work = stage.steps[step]
            for use in work.uses if isinstance(work, Work) else ():
                amount = exact(use.amount) * count
                if use.first is not None and not begun:
                    amount += exact(use.first) - exact(use.amount)
                product = plan.product(use.product)
                if product is None:
                    continue
                taken = concentrate(product, amount)
                if taken is not None:
                    key = (product.id, COUNTED[product.unit])
                    found[key] = found.get(key, Fraction(0)) + taken
    return found


def _left(stage: Stage, sections: Iterable[Section]) -> dict[tuple[int, int], int]:
    """(layer, step) -> on how many sections that work is left."""
    found: dict[tuple[int, int], int] = {}
    for section in sections:
        turn = None if section.over else section.turn
        while turn is not None:
            try:
                work_of(stage, turn)
            except KeyError:
                break
            key = (turn.layer, turn.step)
            found[key] = found.get(key, 0) + 1
            turn = next_turn(stage, turn)
    return found


def will_not_last(stock: Stock, jobs: Iterable[Job]) -> dict[str, Fraction]:
    """Products of which less is left than the open jobs still need -> what they need.

    Only what was weighed is judged, and only where every use since then could be reckoned.
    """
    wanted: Need = {}
    for job in jobs:
        for key, amount in needed(job).items():
            wanted[key] = wanted.get(key, Fraction(0)) + amount
    found = {}
    for (product, unit), amount in wanted.items():
        item = stock.items.get(product)
        if item is None or item.unit != unit or item.unclear or item.left is None:
            continue
        if item.left < amount:
            found[product] = amount
    return found


def expired(item: Item, now_us: Instant, zone: str) -> bool:
    """True if the pack in use is past the last day printed on it, by the date in the zone."""
    last = "" if item.pack is None else item.pack.expires
    return bool(last) and day_of(now_us, zone).isoformat() > last


def last_day_text(expires: str) -> str:
    """The last day of a pack as a calendar date is said; what is no date as it was noted."""
    try:
        return spoken_day(expires)
    except ValueError:
        return expires


def stock_notices(stock: Stock, jobs: Mapping[str, Job], now_us: Instant) -> tuple[str, ...]:
    """What the worker should know of the packs before the next section, a sentence each.

    jobs: by id; only open ones are looked at. The date on a pack is judged in the zone of the
    job that needs the product.
    """
    still = open_jobs(jobs.values())
    whose = "this job" if len(still) == 1 else "the open jobs"
    found = []
    for product, amount in will_not_last(stock, still).items():
        item = stock.items[product]
        left = max(item.left or Fraction(0), Fraction(0))
        found.append(
            f"{item.called} will not last for {whose}: {amount_words(left, item.unit, 'down')} "
            f"left, {amount_words(amount, item.unit, 'up')} needed."
        )
    said = set()
    for job in still:
        zone = job.opened.zone
        for product, _unit in needed(job):
            known = stock.items.get(product)
            if known is None or product in said or not expired(known, now_us, zone):
                continue
            said.add(product)
            pack = known.pack
            lot = f"lot {pack.lot}" if pack is not None and pack.lot else "the pack in use"
            day = "" if pack is None else last_day_text(pack.expires)
            found.append(f"{known.called}: {lot} expired, last day {day}.")
    return tuple(found)


def amount_words(amount: Fraction, unit: str, toward: str = "near") -> str:
    """An amount with at most one decimal: to the nearest, or "down" or "up" to the next."""
    tenths = amount * 10
    if toward == "down":
        tenths = Fraction(tenths.numerator // tenths.denominator)
    elif toward == "up":
        tenths = Fraction(-(-tenths.numerator // tenths.denominator))
    number = decimal_text(tenths / 10, 1)
    return number if unit in ("each", "") else f"{number} {unit}"
