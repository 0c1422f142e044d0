"""An estimate in words, for whoever is on the phone: the answer first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cartclock.engine.ahead.telling import TOLD_US, about_us, at_the_latest_us, learned_text
from cartclock.engine.dates import hour_minutes, hours_text, spoken_near
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.mix import decimal_text
from cartclock.engine.plan.amounts import exact, in_currency
from cartclock.engine.planning.estimate import Estimate, ProductEstimate
from cartclock.engine.times import Instant

NO_OFFER = "An estimate, no offer. Stages do not add up to the four times in five of the whole."
NO_PRICE = "no price"
HANDS, ALL_WORK = "hands on it", "all work"


class EstimateWords:
    """How one estimate is told.

    Args:
        of: the estimate.
        zone: of the place of work.
        now_us: when it is told.
    """

    def __init__(self, of: Estimate, zone: str, now_us: Instant) -> None:
        self.of, self.zone, self.now_us = of, zone, now_us

    def answer(self) -> tuple[str, ...]:
        """What is said into the phone: hours, when it is ready, money."""
        of = self.of
        if not of.hands_us:
            return "No hours: the plan has no minutes.", self.money()
        hours = f"{_band(of.own_us, of.own_by_us)} of all work"
        if not of.whole:
            hours += " without what has no minutes in the plan"
        begins = spoken_near(of.begin_us, self.now_us, self.zone)
        if of.closed:
            begins += f" ({of.closed})"
        # The day on which it is begun has been said.
        ready = spoken_near(about_us(of.ready_us), of.begin_us, self.zone)
        by = spoken_near(at_the_latest_us(of.ready_by_us), of.begin_us, self.zone)
        return (
            f"{hours}, {self.rests_on()}.",
            f"Begun {begins}: ready about {ready}, four times in five by {by}.",
            self.money(),
        )

    def rests_on(self) -> str:
        """How many earlier jobs it is learned from."""
        of = self.of
        said = learned_text(of.jobs, of.from_shop)
        return f"{said}, {of.same_shape} on such a body" if of.jobs else said

    def money(self) -> str:
        """Labour and products; what has no price is named and never counted as nothing."""
        of = self.of
        if not of.hands_us:
            labour = "no labour: there are no hours"
        elif of.labour is None or of.labour_by is None:
            labour = 'no labour: shop = { hourly = "38" } settles a rate'
        else:
            labour = f"labour {in_currency(of.labour, of.currency)}"
            labour += f" ({of.labour_by} four times in five), all work at {of.hourly} an hour"
        if of.products_cost is None:
            products = "products: no price is known" if of.products else "no products"
        else:
            products = f"products {in_currency(of.products_cost, of.currency)}"
            if of.unpriced:
                products += f" without {_without(of.unpriced)} no price"
        return f"{labour[:1].upper()}{labour[1:]}; {products}."

    def work(self) -> Iterator[tuple[str, str, str, str]]:
        """All work and what it is of: name, expected, four times in five, by the plan."""
        of = self.of
        hands = (_table(of.hands_us), _table(of.hands_by_us), _table(of.planned_us))
        yield HANDS, *hands
        for name, length_us in (("standing by", of.stood_us), ("other work", of.other_us)):
            if length_us:
                yield name, _table(length_us), "", ""
        yield ALL_WORK, _table(of.own_us), _table(of.own_by_us), ""

    def between(self) -> Iterator[tuple[str, str]]:
        """What of the time is no work, and how long it is expected to be."""
        of = self.of
        for name, length_us in (
            ("gaps between layers", of.gaps_us),
            ("rests by the heat", of.rests_us),
            ("meals", of.meals_us),
            ("nights", of.nights_us),
        ):
            if length_us >= MINUTE_US:
                yield name, _table(length_us)

    def notes(self) -> Iterator[str]:
        """What is to be known of it, a sentence each."""
        of = self.of
        if of.paint != "as usual":
            yield (
                f"Paint {of.paint}: machine work reckoned so, our own judgement."
                if of.machine
                else f"Paint {of.paint} changes nothing: the plan has no machine work."
            )
        yield (
            "Rests by the heat are a screening estimate, no medical advice."
            if of.heat
            else "The heat of the day is not in it: no forecast, nothing read today."
        )
        yield NO_OFFER


def bottle_text(one: ProductEstimate) -> str:
    """How much of the concentrate: "118 ml"; "mix no ratio" where it cannot be reckoned."""
    if one.amount is None:
        return "mix no ratio"
    return f"{decimal_text(exact(one.amount), 0 if one.amount >= 10 else 1)} {one.unit}"


def bottle_cost_text(one: ProductEstimate) -> str:
    """What it costs; "no price" where that is not known."""
    return NO_PRICE if one.cost is None else f"{one.cost}"


def _band(own_us: int, by_us: int) -> str:
    """How much work it is, expected to four times in five, as a finish is said."""
    low = hours_text(max(about_us(own_us), TOLD_US) / SECOND_US)
    high = hours_text(at_the_latest_us(by_us) / SECOND_US)
    return f"about {low}" if low == high else f"{low} to {high}"


def _table(length_us: int) -> str:
    return hour_minutes(length_us / SECOND_US)


def _without(names: Sequence[str]) -> str:
    """Names and their verb: "Clay, which has", "Clay and Shampoo, which have"."""
    *others, last = names
    if not others:
        return f"{last}, which has"
    return f"{', '.join(others)} and {last}, which have"
