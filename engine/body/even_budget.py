"""The hour's budget of work that goes on as it is, in closed form.

The rules are those of `engine.body.budget`, which looks at every window. Where all that is ahead is
of one effort in one air, and nothing that leaves the hour is warmer or harder, the last window is
the worst: a look-up says of a piece whether it fits, and another of a rest whether it is enough.
Where something is, so are the windows that begin where a stretch ends, and the worst between two of
them. Of a rest too short to count that is not over nothing is said here, and the budget is to be
asked. All of it is a screening estimate: symptoms override every number, and a WBGT meter, local
rules and medical advice come first.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from functools import lru_cache, partial
from typing import NamedTuple

from cartclock.engine.body.budget import (
    BOUGHT_TO_MEAL_US,
    BOUGHT_US,
    CLOCK_RULES,
    HOUR_REST_US,
    LONGEST_REST_US,
    MEAL_NEAR_US,
    REST_STEP_US,
    Ahead,
    Air,
    HourRule,
    PlannedWork,
    bought_for,
    steady_minutes,
)
from cartclock.engine.body.exposure import (
    OVER_C,
    Hour,
    first_over_between,
    least_margin,
    limit_of,
)
from cartclock.engine.body.hour_account import HourAccount
from cartclock.engine.body.stretch import (
    AHEAD_CAUTION,
    LEAST_REST_US,
    LEAST_WORK_MINUTES,
    MOST_AT_IT_US,
    MOST_SPENT_US,
    TWO_HOURS_US,
    Stretch,
    cost,
    table_minutes,
)
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures import heat
from cartclock.engine.figures.limits import HOUR_MINUTES
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Length

_LEAST_WORK_US = round(LEAST_WORK_MINUTES * MINUTE_US)
_REST_WATTS = heat.class_watts("rest")


class EvenWork(NamedTuple):
    """Work of one effort that goes on in one air, as the rules weigh it.

    Fields:
        air: without a rise. effort: class of the work.
        acclimatized: True judges by the REL, False by the RAL.
        wbgt_c: with the guard of an estimate; watts, cost: of the effort, by the work/rest table
            in such air.
        guarded: True if that guard is more than none.
        steady: work minutes an hour that can be gone on with, 0 to 60.
        by_clock: True where an hour without hands off is too long.
        free: True if an hour of the hardest work in such air, without a rest, breaks no rule.
        limit: of an average effort; limit_c: of this one.
    """

    air: Air
    effort: Effort
    acclimatized: bool
    wbgt_c: float
    watts: float
    cost: float
    steady: float
    guarded: bool
    by_clock: bool
    free: bool
    limit_c: float
    limit: Callable[[float], float]


@lru_cache(maxsize=1024)
def even_work(effort: Effort, air: Air, acclimatized: bool) -> EvenWork:
    """Work of an effort in an air. acclimatized: True judges by the REL, False by the RAL."""
    watts, limit = heat.class_watts(effort), limit_of(acclimatized)
    wbgt_c = air.wbgt_c + air.guard_c
    adjusted_f = None if air.adjusted_f is None else air.adjusted_f + air.guard_f
    plan = Ahead((PlannedWork(TWO_HOURS_US, effort),), Length(0), Length(0))
    return EvenWork(
        air=air,
        effort=effort,
        acclimatized=acclimatized,
        wbgt_c=wbgt_c,
        watts=watts,
        cost=cost(Stretch(TWO_HOURS_US, effort, wbgt_c, adjusted_f), AHEAD_CAUTION),
        steady=0.0 if air.off_table else steady_minutes(plan, air, acclimatized),
        guarded=air.guard_c > 0 or air.guard_f > 0,
        by_clock=air.calls_rests or air.wbgt_c > limit(watts),
        free=not air.calls_rests and is_cool(wbgt_c, adjusted_f, acclimatized),
        limit_c=limit(watts),
        limit=limit,
    )


@lru_cache(maxsize=1024)
def is_cool(wbgt_c: float, adjusted_f: float | None, acclimatized: bool) -> bool:
    """True if an hour of the hardest work breaks neither limit nor table."""
    limit_c = limit_of(acclimatized)(heat.class_watts("heavy"))
    return wbgt_c <= limit_c and table_minutes(adjusted_f, "heavy") == HOUR_MINUTES


class TimeLeft(NamedTuple):
    """How much work goes before a rest is due, and which rule asks for it.

    Fields:
        us: an hour where it is more.
        rule: "" then.
    """

    us: int
    rule: HourRule


class _Unclear(Exception):
    """The last window need not be the worst."""


def time_left(
    account: HourAccount,
    work: EvenWork,
    meal_us: int | None = None,
    stood_by_us: int | None = None,
) -> TimeLeft | None:
    """How much work there is time for; None if that is not to be had in closed form.

    Args:
        account: what was worked.
        work: of which there is time at all, `EvenWork.steady` >= `LEAST_WORK_MINUTES`.
        meal_us, stood_by_us: as in `budget`.
    """
    try:
        return _Even(account, work, meal_us).left(stood_by_us)
    except _Unclear:
        return None


def rest_first(
    account: HourAccount,
    work: EvenWork,
    left: TimeLeft,
    next_us: int,
    meal_us: int | None = None,
    guess_us: int = 0,
) -> int | None:
    """How long a rest is that comes before a piece of which the time is not left; 0: the piece is
    begun all the same, and the rest comes in between. None if that is not to be had in closed form.

    Args:
        left: of the same, by a rule.
        next_us: the piece, which is begun or not as a whole; 0: work goes on.
        guess_us: a rest that may be the right one.
    """
    try:
        return _Even(account, work, meal_us, guess_us).rest_first(left, next_us)
    except _Unclear:
        return None


class _Even:
    """Work that goes on, laid behind what was worked: instants are told from now on."""

    def __init__(
        self, account: HourAccount, work: EvenWork, meal_us: int | None, guess_us: int = 0
    ) -> None:
        now_us = account.ends[-1]
        # Of a rest too short to count that is not over, or that began out of sight, the budget
        # has more to say.
        if 0 < account.rest_us < LEAST_REST_US or account.in_short_rest(now_us - TWO_HOURS_US):
            raise _Unclear
        if work.air.rest_wbgt_c > work.wbgt_c:
            raise _Unclear
        self.account, self.work, self.meal_us, self.now_us = account, work, meal_us, now_us
        self.guess_us = guess_us
        self.harder_us = self._harder_us()

    def _harder_us(self) -> tuple[int, int] | None:
        """From when to when in the last hour something was warmer or harder than the work; None if
        nothing was.
        """
        account, work = self.account, self.work
        first = max(0, bisect_right(account.ends, self.now_us - HOUR_US) - 1)
        wbgt_c, watts = account.wbgt_c[first:], account.effort_w[first:]
        spent = account.cost[first:]
        if not wbgt_c or (
            max(wbgt_c) <= work.wbgt_c and max(watts) <= work.watts and max(spent) <= work.cost
        ):
            return None
        found = [
            i
            for i, one in enumerate(zip(wbgt_c, watts, spent, strict=True), first)
            if one[0] > work.wbgt_c or one[1] > work.watts or one[2] > work.cost
        ]
        return account.ends[found[0]] - self.now_us, account.ends[found[-1] + 1] - self.now_us

    def _steps(self, from_us: int, to_us: int) -> list[int]:
        """Ends of hours, the last one at `to_us`, of which one has the most that there is in any
        hour that ends from the first instant on: only the last one, where what leaves the hour
        meanwhile is no warmer and no harder than the work.
        """
        harder = self.harder_us
        if harder is None or harder[0] >= to_us - HOUR_US or harder[1] <= from_us - HOUR_US:
            return [to_us]
        ends, begins_us = self.account.ends, self.now_us - HOUR_US
        first = bisect_right(ends, begins_us + from_us)
        last = bisect_left(ends, begins_us + to_us)
        return [from_us, *(end - begins_us for end in ends[first:last]), to_us]

    def left(self, stood_by_us: int | None) -> TimeLeft:
        """As `time_left` tells it."""
        work, found = self.work, TimeLeft(HOUR_US, "")
        near_us = HOUR_US if self.meal_us is None else self.meal_us - MEAL_NEAR_US
        # Rules that only the clock calls are not asked where a meal stands for the rest.
        if work.by_clock:
            since_us = self.now_us - self.account.off_us
            if stood_by_us is not None:
                since_us = min(since_us, stood_by_us)
            by_clock_us = max(0, HOUR_US - since_us)
            if by_clock_us < min(HOUR_US, near_us):
                found = TimeLeft(by_clock_us, "hour")
        if work.air.calls_rests:
            short_us = self._first(
                TWO_HOURS_US, self.account.worked, 1, self._at_it_us, MOST_AT_IT_US, found.us
            )
            if short_us is not None and short_us < near_us:
                found = TimeLeft(short_us, "two hours")
        spent_us = self._first(
            HOUR_US, self.account.spent, work.cost, self._spent_us, MOST_SPENT_US, found.us
        )
        if spent_us is not None:
            found = TimeLeft(spent_us, "table")
        passed_us = self._passed_us(found.us)
        # Of the limit and the table at once the limit speaks.
        return found if passed_us is None else TimeLeft(passed_us, "limit")

    def _first(
        self,
        window_us: int,
        sums: Sequence[float],
        rate: float,
        held: Callable[[int], float],
        most: float,
        upto_us: int,
    ) -> int | None:
        """The first end, up to an instant, of a window that holds more than it may.

        sums, rate: of the account, and what a microsecond of the work adds to them. held: what a
        window holds that ends at an instant.
        """
        last = held(upto_us)
        if self.harder_us is None and last <= most:
            return None
        a_us, low = 0, held(0)
        if low > most:
            return 0
        total, begins_us = sums[-1], self.now_us - window_us
        for i in self._edges(window_us, upto_us):
            b_us = self.account.ends[i] - begins_us
            high = total - sums[i] + rate * b_us
            if high > most:
                return int(a_us + (b_us - a_us) * (most - low) / (high - low))
            a_us, low = b_us, high
        if last > most:
            return int(a_us + (upto_us - a_us) * (most - low) / (last - low))
        return None

    def _passed_us(self, upto_us: int) -> int | None:
        """The first end, up to an instant, of an hour that passes the limit."""
        last = self._hour(upto_us)
        if self.harder_us is None and not self._over(last):
            return None
        a = self._hour(0)
        if self._over(a):
            return 0
        account, work, begins_us = self.account, self.work, self.now_us - HOUR_US
        wbgt, watts = account.wbgt[-1], account.watts[-1]
        for i in self._edges(HOUR_US, upto_us):
            b_us = account.ends[i] - begins_us
            b = (
                b_us,
                (wbgt - account.wbgt[i] + work.wbgt_c * b_us) / HOUR_US,
                (watts - account.watts[i] + work.watts * b_us) / HOUR_US,
            )
            worst = self._over_between(a, b)
            if worst is not None:
                return int(first_over_between(a, b, worst[0], work.acclimatized))
            a = b
        worst = self._over_between(a, last)
        if worst is not None:
            return int(first_over_between(a, last, worst[0], work.acclimatized))
        return None

    def _over_between(self, a: Hour, b: Hour) -> Hour | None:
        """An hour that is over, of those that end between two neighbouring edges; None: none is.

        a: is not over.
        """
        # Both change steadily between, and the limit of the harder hour is the lower one.
        if max(a[1], b[1]) <= self.work.limit(max(a[2], b[2])):
            return None
        if self._over(b):
            return b
        worst = least_margin(a, b, self.work.acclimatized)
        return worst if self._over(worst) else None

    def rest_first(self, left: TimeLeft, next_us: int) -> int:
        """As `rest_first` tells it."""
        found = self.rest(left.rule, 0 if next_us > left.us else left.us, next_us)
        if found is None:
            return LONGEST_REST_US
        rest_us, bought_us = found
        # Where no rest makes it fit, and there is time for a quarter of an hour of it.
        begun = left.us >= _LEAST_WORK_US and left.rule not in CLOCK_RULES and bought_us < next_us
        return 0 if begun else rest_us

    def _edges(self, window_us: int, upto_us: int) -> range:
        """Which ends of the account windows begin at that end from now up to an instant: between
        them what windows hold changes steadily.
        """
        ends, begins_us = self.account.ends, self.now_us - window_us
        return range(bisect_right(ends, begins_us), bisect_left(ends, begins_us + upto_us))

    def _over(self, hour: Hour) -> bool:
        work, (_end_us, wbgt_c, watts) = self.work, hour
        # What is within the limit of the work is within that of what is no harder.
        if wbgt_c <= work.limit_c and watts <= work.watts:
            return False
        return wbgt_c > work.limit(watts) + OVER_C

    def _hour(self, upto_us: int) -> Hour:
        """The hour that ends there."""
        work = self.work
        wbgt, watts, _spent_us = self._past(HOUR_US - upto_us)
        return (
            upto_us,
            (wbgt + work.wbgt_c * upto_us) / HOUR_US,
            (watts + work.watts * upto_us) / HOUR_US,
        )

    def _spent_us(self, upto_us: int) -> float:
        """What of the table's hour is used up that ends there."""
        return self._past(HOUR_US - upto_us)[2] + self.work.cost * upto_us

    def _past(self, last_us: int) -> tuple[float, float, float]:
        """WBGT, watts and what of the table is used up of the last so much up to now."""
        account = self.account
        at_us = self.now_us - last_us
        if at_us <= 0:
            wbgt, watts, spent = at_us * self.work.air.rest_wbgt_c, at_us * _REST_WATTS, 0.0
        else:
            i = bisect_left(account.ends, at_us) - 1
            over_us = at_us - account.ends[i]
            wbgt = account.wbgt[i] + over_us * account.wbgt_c[i]
            watts = account.watts[i] + over_us * account.effort_w[i]
            spent = account.spent[i] + over_us * account.cost[i]
        return account.wbgt[-1] - wbgt, account.watts[-1] - watts, account.spent[-1] - spent

    def _at_it_us(self, upto_us: int) -> int:
        """How long of two hours that end there is no rest."""
        return self._worked_us(TWO_HOURS_US - upto_us) + upto_us

    def _worked_us(self, last_us: int) -> int:
        """The same of the last so much up to now."""
        account = self.account
        at_us = self.now_us - last_us
        if at_us <= 0:
            return account.worked[-1]
        i = bisect_left(account.ends, at_us) - 1
        part_us = account.worked[i + 1] - account.worked[i]
        return account.worked[-1] - account.worked[i] - min(part_us, at_us - account.ends[i])

    def rest(self, rule: HourRule, after_us: int, next_us: int) -> tuple[int, int] | None:
        """The shortest rest after so much work, and the work it buys; None: none up to an hour."""
        least = HOUR_REST_US if rule == "hour" else LEAST_REST_US
        to_meal = self._to_meal(least, after_us)
        if to_meal is not None:
            return to_meal
        rests = range(least, LONGEST_REST_US + 1, REST_STEP_US)
        steady_us = self.work.steady * MINUTE_US + SECOND_US
        for bought_us in bought_for(next_us):
            # The longest rest and what it buys fill the hour that ends with it, which holds no more
            # work than can be gone on with; a second is more than rounding.
            if bought_us > steady_us:
                continue
            rest_us = self._shortest(rests, after_us, bought_us)
            if rest_us is not None:
                return rest_us, bought_us
        for rest_us in range(LONGEST_REST_US + REST_STEP_US, HOUR_US + 1, REST_STEP_US):
            if self._buys(after_us, rest_us, BOUGHT_US[-1]):
                return rest_us, BOUGHT_US[-1]
        return None

    def _shortest(self, rests: Sequence[int], after_us: int, bought_us: int) -> int | None:
        """The first of these rests, which grow, that buys so much work, if the longest does; None:
        it does not.
        """
        buys = partial(self._buys, after_us, bought_us=bought_us)
        last = len(rests) - 1
        longer_keeps = self._longer_keeps(rests[0] + after_us, bought_us)
        if longer_keeps and self.guess_us in rests and buys(self.guess_us):
            last = rests.index(self.guess_us)
            if not last or not buys(rests[last - 1]):
                return rests[last]
            last -= 1
        elif not buys(rests[last]):
            return None
        if not longer_keeps:
            return next(rest for rest in rests if buys(rest))
        return rests[bisect_left(rests, True, 0, last, key=buys)]

    def _longer_keeps(self, least_us: int, bought_us: int) -> bool:
        """True if a longer rest keeps whatever a shorter one keeps: what an hour has less of by it
        was no cooler than the rest place.

        least_us: what lies between now and the work bought at least.
        """
        account = self.account
        # What an hour may still hold of the past; only the last hour is looked at where what was is
        # no warmer and no harder than the work.
        held_us = HOUR_US - least_us - (bought_us if self.harder_us is None else 0)
        first = max(0, bisect_right(account.ends, self.now_us - held_us) - 1)
        return min(account.wbgt_c[first:], default=math.inf) >= self.work.air.rest_wbgt_c

    def _to_meal(self, least: int, after_us: int) -> tuple[int, int] | None:
        """The shortest rest that buys the work up to a meal, and that work."""
        if self.meal_us is None:
            return None
        for rest_us in range(least, LONGEST_REST_US + 1, REST_STEP_US):
            bought_us = self.meal_us - after_us - rest_us
            if bought_us <= BOUGHT_US[0]:
                return None
            if bought_us <= BOUGHT_TO_MEAL_US and self._buys(after_us, rest_us, bought_us):
                return rest_us, bought_us
        return None

    def _buys(self, after_us: int, rest_us: int, bought_us: int) -> bool:
        """True if the work bought keeps every rule that looks back over the rest."""
        work = self.work
        from_us = after_us + rest_us
        if work.air.calls_rests:
            past_us = TWO_HOURS_US - from_us - bought_us
            if bought_us + after_us + self._worked_us(past_us) > MOST_AT_IT_US:
                return False
        later: Hour | None = None
        # The last end of all comes first: mostly it is the worst.
        for upto_us in reversed(self._steps(from_us, from_us + bought_us)):
            # An hour holds all that is bought by then, and of what lies before as much as there is
            # room.
            room_us = HOUR_US - (upto_us - from_us)
            resting_us = min(rest_us, room_us)
            working_us = upto_us - from_us + min(after_us, room_us - resting_us)
            wbgt, watts, spent = self._past(HOUR_US - working_us - resting_us)
            if work.cost * working_us + spent > MOST_SPENT_US:
                return False
            wbgt += work.air.rest_wbgt_c * resting_us + work.wbgt_c * working_us
            watts += _REST_WATTS * resting_us + work.watts * working_us
            hour = upto_us, wbgt / HOUR_US, watts / HOUR_US
            if self._over(hour):
                return False
            if later is not None and self._over_between(hour, later) is not None:
                return False
            later = hour
        return True
