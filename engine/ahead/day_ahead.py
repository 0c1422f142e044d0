"""What lies around the work of one pair of hands: rests, meals, nights, other work."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable
from math import log1p

from msgspec import Struct

from cartclock.engine.ahead.calendar import (
    Night,
    Pause,
    WorkCalendar,
    WorkDay,
    nights_of,
)
from cartclock.engine.ahead.durations import Sum
from cartclock.engine.ahead.play import Woken
from cartclock.engine.ahead.rolling_hour import HeatAhead, RollingHour
from cartclock.engine.body.pace import NO_LENGTH
from cartclock.engine.dates import local, time_on_day
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.figures.limits import HOUR_MINUTES
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
# Spread of when a worker begins behind a night, in minutes. Our own judgement, no source.
MORNING_SPREAD_MINUTES = 8.0
# Behind so many hours on the clock each one more makes work longer, a share; what is measured of
# so many jobs, whose late steps were done with tired hands too, says half of it. Our own judgement,
# no source.
FRESH_HOURS = 3.0
TIRES_AN_HOUR = 0.0045
TIRES_WORTH_JOBS = 4
# How long a day is while nothing is known of a worker's. Our own judgement.
USUAL_HOURS = 11
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
        behind_night: True if the worker begins behind a night that is still to come.
        gone_home: True if this day is over for a worker who is off.
        heat: what the rests by the heat are reckoned from; None: none are.
        interrupted: what other work there was.
        cooler: asked for a temperature in C to rest at and what they are reckoned from then, says
            None where there is nothing to gain.
        undisturbed: True if no other work comes between.
        tires: True if hands that were on it for long take longer.
    """

    pauses: tuple[Pause, ...] = ()
    meals: int = 0
    work_day: WorkDay | None = None
    on_us: Instant | None = None
    behind_night: bool = False
    gone_home: bool = False
    heat: HeatAhead | None = None
    interrupted: Interrupted = NEVER_INTERRUPTED
    cooler: Callable[[], tuple[float, HeatAhead] | None] = lambda: None
    undisturbed: bool = False
    tires: bool = False

    def calendar(self, now_us: Instant) -> WorkCalendar:
        """The calendar from an instant on."""
        nights = self._nights(now_us)
        ratio = 0.0 if self.undisturbed else other_ratio(self.interrupted)
        rests = None if self.heat is None else RollingHour(self.heat)
        return WorkCalendar(self.pauses, rests, ratio, nights)

    def _nights(self, now_us: Instant) -> Iterable[Night]:
        if self.work_day is None:
            return ()
        return nights_of(self.work_day, now_us, self.on_us, self.gone_home)

    def woken(self, now_us: Instant) -> Woken:
        """When the hands are there again, for instants that are asked for in order: the same, or
        the morning behind the night in which one lies.
        """
        nights = iter(self._nights(now_us))
        night = next(nights, None)

        def awake_us(at_us: Instant) -> Instant:
            nonlocal night
            while night is not None and at_us >= night.to_us:
                night = next(nights, None)
            return at_us if night is None or at_us < night.from_us else night.to_us

        return awake_us

    def scale(self, left: Sum, z: float, now_us: Instant, learned: int = 0) -> float:
        """By what the expected length of everything left is multiplied for a share of days.

        left: in minutes. z: as in `Sum.quantile`. learned: from how many earlier jobs.
        """
        if left.mean <= 0:
            return 1.0
        lumps = self.meals * MEAL_SPREAD_MINUTES**2
        if self.behind_night:
            lumps += MORNING_SPREAD_MINUTES**2
        if not self.undisturbed:
            lumps += other_lumps(self.interrupted) * left.mean
        extra = lumps / max(left.mean, _LEAST_MINUTES) ** 2 + DAY_SPREAD**2
        # As a share of what is expected the logarithm's variance is that of its square.
        found = left.quantile(z, log1p(extra)) / left.mean
        untold = TIRES_WORTH_JOBS / (TIRES_WORTH_JOBS + learned)
        return found * (1 + self._tired(left.mean, now_us) * untold)

    def _tired(self, minutes: float, now_us: Instant) -> float:
        """How much longer work of so many minutes takes at the end of a long day than what was done
        of it so far, a share.
        """
        if not self.tires:
            return 0.0
        gone = 0.0 if self.on_us is None else min((now_us - self.on_us) / HOUR_US, USUAL_HOURS)
        ahead = min(minutes / HOUR_MINUTES, max(1.0, USUAL_HOURS - gone))
        late, early = max(0.0, gone + ahead - FRESH_HOURS), max(0.0, gone - FRESH_HOURS)
        so_far = early**2 / (2 * gone) if gone > 0 else 0.0
        return TIRES_AN_HOUR * ((late**2 - early**2) / (2 * ahead) - so_far)


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
