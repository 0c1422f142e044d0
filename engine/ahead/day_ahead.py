"""What lies around the work of one pair of hands: rests, meals, nights, other work."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from math import log1p

from msgspec import Struct

from cartclock.engine.ahead.calendar import (
    STAYS_FOR_US,
    Night,
    Pause,
    WorkCalendar,
    WorkDay,
    nights_of,
)
from cartclock.engine.ahead.durations import Sum
from cartclock.engine.ahead.rolling_hour import HeatAhead, RollingHour
from cartclock.engine.body.pace import NO_LENGTH
from cartclock.engine.dates import local, time_on_day
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.hours.interruptions import Interrupted
from cartclock.engine.times import Instant, Length

# Other work and rests of the worker's own for a minute of hands, before anything is learned, and
# how many hours of hands that is worth; of the lumps it comes in, minutes squared for a minute of
# hands. Our own judgement, no source.
OTHER_RATIO = 0.15
OTHER_LUMPS = 1.44
OTHER_WORTH_US = Length(6 * HOUR_US)
# Spread of a meal that is not taken yet, in minutes, and of what a day does to everything that is
# left (fatigue, heat), a share. Our own judgement, no source.
MEAL_SPREAD_MINUTES = 8.0
DAY_SPREAD = 0.04
# How long a meal takes; how long after its time one is still to come; and for how many days meals
# are reckoned. Our own judgement, no source.
MEAL_US = Length(35 * MINUTE_US)
MEAL_LATE_US = Length(3 * HOUR_US)
MEAL_DAYS = 14
# Of less than so many minutes a spread is no share. Our own judgement.
_LEAST_MINUTES = 5.0


NEVER_INTERRUPTED = Interrupted(0, NO_LENGTH, NO_LENGTH, 0.0)


def other_ratio(found: Interrupted) -> float:
    """Other work for a time of hands, what is learned and what was believed before together."""
    hands_us = OTHER_WORTH_US + found.hands_us
    return (OTHER_RATIO * OTHER_WORTH_US + found.length_us) / hands_us


def other_lumps(found: Interrupted) -> float:
    """Variance of other work for a time of hands, in minutes, likewise."""
    worth = OTHER_WORTH_US / MINUTE_US
    hands = worth + found.hands_us / MINUTE_US
    return (OTHER_LUMPS * worth + found.squares_min2) / hands


class DayAhead(Struct, frozen=True):
    """What lies around the work of one pair of hands.

    Fields:
        pauses: breaks that are not over and meals that are not taken, in order.
        meals: how many of them are meals of this day.
        work_day: when days begin and end; None: there is no night.
        on_us: since when the worker is on the clock; None: off.
        gone_home: True if this day is over for a worker who is off.
        heat: what the rests by the heat are reckoned from; None: none are.
        interrupted: what other work there was.
        cooler: a temperature in C to rest at and what they are reckoned from then; None: there is
            nothing to gain.
        undisturbed: True if no other work comes between.
    """

    pauses: tuple[Pause, ...] = ()
    meals: int = 0
    work_day: WorkDay | None = None
    on_us: Instant | None = None
    gone_home: bool = False
    heat: HeatAhead | None = None
    interrupted: Interrupted = NEVER_INTERRUPTED
    cooler: tuple[float, HeatAhead] | None = None
    undisturbed: bool = False

    def stays_us(self, now_us: Instant) -> Instant | None:
        """Until when the worker stays before the first night, for what is over by then; None: there
        is no night.
        """
        if self.work_day is None:
            return None
        night = next(nights_of(self.work_day, now_us, self.on_us, self.gone_home))
        return Instant(night.from_us + STAYS_FOR_US)

    def calendar(self, now_us: Instant, sleeps: bool = True) -> WorkCalendar:
        """The calendar from an instant on.

        sleeps: False leaves out the nights, so that it tells how long what is left takes.
        """
        nights: Iterable[Night] = ()
        if sleeps and self.work_day is not None:
            nights = nights_of(self.work_day, now_us, self.on_us, self.gone_home)
        ratio = 0.0 if self.undisturbed else other_ratio(self.interrupted)
        rests = None if self.heat is None else RollingHour(self.heat)
        return WorkCalendar(self.pauses, rests, ratio, nights)

    def scale(self, left: Sum, z: float) -> float:
        """By what the expected length of everything left is multiplied for a share of days.

        left: in minutes. z: as in `Sum.quantile`.
        """
        if left.mean <= 0:
            return 1.0
        lumps = self.meals * MEAL_SPREAD_MINUTES**2
        if not self.undisturbed:
            lumps += other_lumps(self.interrupted) * left.mean
        extra = lumps / max(left.mean, _LEAST_MINUTES) ** 2 + DAY_SPREAD**2
        # As a share of what is expected the logarithm's variance is that of its square.
        return left.quantile(z, log1p(extra)) / left.mean


def meals_ahead(meal: datetime.time, zone: str, eaten: bool, now_us: Instant) -> list[Pause]:
    """The meals of this day and of those behind it, in order.

    eaten: True if this day's was taken; one whose time is past without is taken at once.
    """
    today = local(now_us, zone).date()
    found = []
    for ahead in range(eaten, MEAL_DAYS):
        at_us = time_on_day(today + datetime.timedelta(days=ahead), meal, zone)
        if at_us > now_us:
            found.append(Pause(at_us, MEAL_US))
        elif now_us < at_us + MEAL_LATE_US:
            found.append(Pause(now_us, MEAL_US))
    return found
