"""The rests of the hours ahead, by the rule of Run: the hour's budget over what was worked.

Before each piece the budget is asked as on Run: what was worked counts with its own effort and the
air of its own time, what is ahead with the effort that is being worked. A rest is as long as the
budget calls it. All of it is a screening estimate, no medical advice.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

from msgspec import Struct

from cartclock.engine.body.budget import LONGEST_REST_US, Ahead, Air, PlannedWork, budget
from cartclock.engine.body.even_budget import (
    EvenWork,
    TimeLeft,
    even_work,
    is_cool,
    rest_first,
    time_left,
)
from cartclock.engine.body.hour_account import HourAccount
from cartclock.engine.body.pace import NO_LENGTH
from cartclock.engine.body.stretch import (
    LEAST_REST_US,
    LEAST_WORK_MINUTES,
    TWO_HOURS_US,
    Stretch,
    last,
)
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Instant, Length
from cartclock.engine.until import NEVER_US

AirAt = Callable[[Instant], Air | None]
"""The air expected at an instant; the same throughout each hour. None: nothing is known of it."""

# A rest that is due so soon is taken at once: for less nobody goes on.
_TAKEN_US = MINUTE_US
_LEAST_WORK_US = round(LEAST_WORK_MINUTES * MINUTE_US)


class RestDue(Struct, frozen=True):
    """When the next rest is due.

    Fields:
        left_us: so much work at least goes before it; 0: none, not even what was to be begun.
        rest_us: how long it is then, > 0 with `left_us` 0; told no sooner.
    """

    left_us: Length
    rest_us: Length = NO_LENGTH


class HeatAhead(Struct, frozen=True, eq=False):
    """What the heat of the hours ahead is reckoned from.

    Fields:
        air_at: the air expected.
        acclimatized: True judges by the REL, False by the RAL.
        past: what was done so far, in order, of the last two hours; before it hands were off.
        stood_by_us: time since hands were off for five minutes by standing by; None if they were
            not.
    """

    air_at: AirAt
    acclimatized: bool
    past: tuple[Stretch, ...] = ()
    stood_by_us: Length | None = None
    _works: dict[tuple[int, Effort], EvenWork | None] = {}

    def work_at(self, at_us: int, effort: Effort) -> EvenWork | None:
        """Work of an effort in the hour in which an instant lies; None if nothing is known of its
        air.
        """
        key = at_us // HOUR_US, effort
        if key not in self._works:
            air = self.air_at(Instant(at_us))
            found = None if air is None else even_work(effort, air, self.acclimatized)
            self._works[key] = found
        return self._works[key]


class RollingHour:
    """The hour's budget, gone through once from an instant on."""

    def __init__(self, ahead: HeatAhead) -> None:
        self._ahead = ahead
        self._account = HourAccount(ahead.past)
        self._stood_by_us: int | None = ahead.stood_by_us
        self._since_us = 0
        # The work that goes on, and for how long it did.
        self._going: EvenWork | None = None
        self._going_us = 0
        # How much there is time for of which work, while nothing but that goes on.
        self._known: TimeLeft | None = None
        self._known_of: EvenWork | None = None
        # False if it may be more by now.
        self._exact = True
        self._last_rest_us: int = LEAST_REST_US
        # Until then what was worked may still call a rest.
        acclimatized = ahead.acclimatized
        hot = any(not is_cool(one.wbgt_c, one.adjusted_f, acclimatized) for one in ahead.past)
        self._hot_until_us: int = NEVER_US if hot else 0

    def copy(self) -> RollingHour:
        """The same as of now, gone through apart."""
        account = self._gone().copy()
        other = copy(self)
        other._account = account
        return other

    def due(
        self,
        at_us: Instant,
        effort: Effort,
        left_us: int,
        begun: bool = True,
        meal_us: int | None = None,
    ) -> RestDue | None:
        """The next rest, if work of an effort is begun or gone on with, or that there is none so
        soon; None: nothing calls one in such air.

        Args:
            left_us: how long the work takes.
            begun: False if it is begun or not as a whole.
            meal_us: until the next meal; None without one.
        """
        work = self._ahead.work_at(at_us, effort)
        if work is None or (work.free and at_us >= self._hot_until_us):
            return None
        if work.steady < LEAST_WORK_MINUTES:
            # Where no rest makes work time of it, it goes on in the least pieces there are.
            least_us = max(0, _LEAST_WORK_US - self._since_us)
            return RestDue(Length(least_us), Length(LONGEST_REST_US))
        # What does not fit is not begun, as on Run; who has just rested begins it all the same.
        next_us = 0 if begun or not self._since_us else left_us
        known = self._known
        if known is not None and self._known_of is work:
            if known.us >= max(next_us, _TAKEN_US):
                return RestDue(Length(known.us))
            if not self._exact:
                known = None
        else:
            known = None
        if known is None:
            known = time_left(self._gone(), work, meal_us, self._stood_by_us)
            self._known, self._known_of, self._exact = known, work, True
            if known is None:
                return self._asked(work, next_us, meal_us)
            if known.us >= max(next_us, _TAKEN_US):
                return RestDue(Length(known.us))
        rest_us = rest_first(self._gone(), work, known, next_us, meal_us, self._last_rest_us)
        if rest_us is None:
            return self._asked(work, next_us, meal_us)
        if not rest_us:
            return RestDue(Length(known.us))
        self._last_rest_us = rest_us
        return RestDue(NO_LENGTH, Length(rest_us))

    def _asked(self, work: EvenWork, next_us: int, meal_us: int | None) -> RestDue:
        """What the budget says of it."""
        past = last(self._gone().stretches(), work.air.rest_wbgt_c)
        meal = None if meal_us is None else Length(meal_us)
        pieces = (PlannedWork(TWO_HOURS_US, work.effort),)
        plan = Ahead(pieces, NO_LENGTH, Length(next_us), meal_us=meal)
        stood_us, used = self._stood_by_us, work.acclimatized
        judged = budget(past, plan, work.air, used, stood_us, tells_rule=False)
        left = judged.left_us
        if left is None:
            return RestDue(Length(HOUR_US))
        if left >= _TAKEN_US and judged.grade not in ("soon", "now"):
            return RestDue(left)
        return RestDue(NO_LENGTH, judged.rest_us or Length(LONGEST_REST_US))

    def _gone(self) -> HourAccount:
        """What was worked, up to now."""
        if self._going is not None:
            air, effort = self._going.air, self._going.effort
            self._account.add(self._going_us, effort, air.wbgt_c, air.adjusted_f)
            self._going, self._going_us = None, 0
        return self._account

    def worked(self, at_us: Instant, length_us: int, effort: Effort) -> None:
        """Work that was gone through from an instant on."""
        self._since_us += length_us
        if self._stood_by_us is not None:
            self._stood_by_us += length_us
        self._went(at_us, length_us, effort)

    def stood_by(self, at_us: Instant, length_us: int) -> None:
        """A wait that no work filled."""
        if length_us <= 0:
            return
        self._known = None
        self._went(at_us, length_us, "light")
        if length_us >= LEAST_REST_US:
            self._stood_by_us = 0
        elif self._stood_by_us is not None:
            self._stood_by_us += length_us

    def rested(self, at_us: Instant, length_us: int) -> None:
        """A rest or a meal."""
        if length_us <= 0:
            return
        self._known, self._since_us = None, 0
        air = self._ahead.air_at(at_us)
        if air is not None:
            self._gone().add(length_us, "rest", air.rest_wbgt_c, air.adjusted_f)
        if length_us >= LEAST_REST_US:
            self._stood_by_us = None

    def slept(self) -> None:
        """A night."""
        self._account, self._known, self._since_us = HourAccount(), None, 0
        self._going, self._going_us = None, 0
        self._stood_by_us, self._hot_until_us = None, 0

    def _went(self, at_us: int, length_us: int, effort: Effort) -> None:
        end_us = at_us + length_us
        while at_us < end_us:
            upto_us = min(end_us, (at_us // HOUR_US + 1) * HOUR_US)
            work = self._ahead.work_at(at_us, effort)
            if work is not None:
                if work is not self._going:
                    self._gone()
                    self._going = work
                self._going_us += upto_us - at_us
                known = self._known
                if known is not None:
                    goes_on = work is self._known_of
                    left_us = max(0, known.us - upto_us + at_us)
                    self._known = TimeLeft(left_us, known.rule) if goes_on else None
                    # What is gone is weighed without the guard of an estimate.
                    self._exact = bool(known.rule) and not work.guarded
                if not work.free:
                    self._hot_until_us = upto_us + TWO_HOURS_US
            at_us = upto_us
