"""An estimate in words, for whoever is on the phone: the answer first."""

from __future__ import annotations

from collections.abc import Iterator

from cartclock.engine.ahead.telling import learned_text
from cartclock.engine.dates import hour_minutes, hours_text, spoken_near
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.mix import decimal_text
from cartclock.engine.plan.amounts import exact, in_currency
from cartclock.engine.planning.estimate import Estimate, ProductEstimate
from cartclock.engine.times import Instant

NO_OFFER = "An estimate, no offer. Stages do not add up to the four times in five of the whole."
NO_PRICE = "no price"
# What is told is told in steps of so many minutes. Our own judgement.
_STEP_US = 15 * MINUTE_US
# Of less work than this, in these. Our own judgement.
_SHORT_US, _SHORT_STEP_US = 2 * HOUR_US, 5 * MINUTE_US


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
        hours = _band(of.hands_us, of.hands_by_us)
        begins = spoken_near(of.begin_us, self.now_us, self.zone)
        # The day on which it is begun has been said.
        ready = spoken_near(_up(of.ready_us), of.begin_us, self.zone)
        by = spoken_near(_up(of.ready_by_us), of.begin_us, self.zone)
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
        if of.labour is None or of.labour_by is None:
            labour = 'no labour: shop = { hourly = "38" } settles a rate'
        else:
            labour = f"labour {in_currency(of.labour, of.currency)}"
            labour += f" ({of.labour_by} four times in five)"
        if of.products_cost is None:
            products = "products: no price is known" if of.products else "no products"
        else:
            products = f"products {in_currency(of.products_cost, of.currency)}"
            if of.unpriced:
                products += f" without {', '.join(of.unpriced)}, which have no price"
        return f"{labour[:1].upper()}{labour[1:]}; {products}."

    def between(self) -> Iterator[tuple[str, str]]:
        """What lies between beside the hands, and how long it is expected to."""
        of = self.of
        for name, length_us in (
            ("standing by", of.waits_us),
            ("other work", of.other_us),
            ("rests by the heat", of.rests_us),
            ("meals", of.meals_us),
            ("nights", of.nights_us),
        ):
            if length_us >= MINUTE_US:
                yield name, hour_minutes(length_us / SECOND_US)

    def notes(self) -> Iterator[str]:
        """What is to be known of it, a sentence each."""
        of = self.of
        if of.paint != "as usual":
            yield (
                f"Paint {of.paint}: machine work reckoned so, our own judgement."
                if of.machine
                else f"Paint {of.paint} changes nothing: the plan has no machine work."
            )
        if not of.whole:
            yield "A step has no minutes in the plan and is not in it."
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


def _band(hands_us: int, by_us: int) -> str:
    """How much work it is, expected to four times in five: in quarters of an hour, what is short
    in steps of five minutes.
    """
    if by_us >= _SHORT_US:
        return f"{_hours(hands_us)} to {_hours(by_us)} hours of work"
    low, high = (
        hours_text(-(-length_us // _SHORT_STEP_US) * _SHORT_STEP_US // SECOND_US)
        for length_us in (hands_us, by_us)
    )
    return f"about {low} of work" if low == high else f"{low} to {high} of work"


def _hours(length_us: int) -> str:
    """To the next quarter of an hour: "10.5"."""
    quarters = -(-length_us // _STEP_US)
    return f"{quarters * _STEP_US / HOUR_US:g}"


def _up(at_us: Instant) -> Instant:
    return Instant(-(-at_us // _STEP_US) * _STEP_US)
