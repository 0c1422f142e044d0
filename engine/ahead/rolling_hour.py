"""The rests of the hours ahead, by the rule of Run: the hour's budget over what was worked.

Before each piece the budget is asked as on Run: what was worked counts with its own effort and the
air of its own time, what is ahead with the effort that is being worked. A rest is as long as the
budget calls it. All of it is a screening estimate, no medical advice.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from functools import lru_cache
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.budget import (
    LONGEST_REST_US,
    Ahead,
    Air,
    PlannedWork,
    budget,
    steady_minutes,
    work_left,
)
from cartclock.engine.body.exposure import is_harder
from cartclock.engine.body.pace import NO_LENGTH
from cartclock.engine.body.stretch import (
    LEAST_REST_US,
    LEAST_WORK_MINUTES,
    TWO_HOURS_US,
    Stretch,
    last,
    table_minutes,
)
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.figures import heat
from cartclock.engine.figures.limits import HOUR_MINUTES
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


class _Known(NamedTuple):
    """What was asked of the budget last, which holds as a bound: work of no harder effort, in air
    that is no worse, has at least so much time.

    Fields:
        effort, air: that it was asked of.
        left_us: work until the next rest; an hour where that is further, or there is none.
    """

    effort: Effort
    air: Air
    left_us: Length

    def holds(self, effort: Effort, air: Air) -> bool:
        """True if it bounds work of an effort in an air."""
        if is_harder(effort, self.effort):
            return False
        mine = self.air
        return air is mine or (
            air.wbgt_c <= mine.wbgt_c
            and air.rest_wbgt_c <= mine.rest_wbgt_c
            and (air.adjusted_f or 0.0) <= (mine.adjusted_f or 0.0)
            and mine.calls_rests >= air.calls_rests
        )


class RollingHour:
    """The hour's budget, gone through once from an instant on."""

    def __init__(self, ahead: HeatAhead) -> None:
        self._ahead = ahead
        self._past = list(ahead.past)
        self._stood_by_us: int | None = ahead.stood_by_us
        self._since_us = 0
        self._known: _Known | None = None
        # Until then what was worked may still call a rest.
        acclimatized = ahead.acclimatized
        hot = any(not _is_cool(one.wbgt_c, one.adjusted_f, acclimatized) for one in self._past)
        self._hot_until_us: int = NEVER_US if hot else 0

    def copy(self) -> RollingHour:
        """The same as of now, gone through apart."""
        other = copy(self)
        other._past = list(self._past)
        return other

    def due(
        self, at_us: Instant, effort: Effort, next_us: int, meal_us: int | None = None
    ) -> RestDue | None:
        """The next rest, if work of an effort is begun or gone on with, or that there is none so
        soon; None: nothing calls one in such air.

        next_us: the piece to be begun, which is begun or not as a whole; 0: it goes on. meal_us:
        until the next meal; None without one.
        """
        air, acclimatized = self._ahead.air_at(at_us), self._ahead.acclimatized
        if air is None or (at_us >= self._hot_until_us and _is_free(air, acclimatized)):
            return None
        if _steady(effort, air, acclimatized) < LEAST_WORK_MINUTES:
            # Where no rest makes work time of it, it goes on in the least pieces there are.
            left_us = max(0, _LEAST_WORK_US - self._since_us)
            return RestDue(Length(left_us), Length(LONGEST_REST_US))
        if not self._since_us:
            next_us = 0
        known = self._known
        if known is None or not known.holds(effort, air):
            plan = _planned(effort, 0, meal_us)
            past = self._seen(air)
            left = work_left(past, plan, air, acclimatized, self._stood_by_us)
            known = self._known = _Known(effort, air, Length(HOUR_US) if left is None else left)
        if known.left_us >= max(next_us, _TAKEN_US):
            return RestDue(known.left_us)
        # What does not fit is not begun, as on Run; who has just rested begins it all the same.
        plan = _planned(effort, next_us, meal_us)
        past = self._seen(air)
        judged = budget(past, plan, air, acclimatized, self._stood_by_us, tells_rule=False)
        left = judged.left_us
        self._known = _Known(effort, air, Length(HOUR_US) if left is None else left)
        if left is None:
            return RestDue(Length(HOUR_US))
        if left >= _TAKEN_US and judged.grade not in ("soon", "now"):
            return RestDue(left)
        return RestDue(NO_LENGTH, judged.rest_us or Length(LONGEST_REST_US))

    def _seen(self, air: Air) -> tuple[Stretch, ...]:
        """The last two hours."""
        past = last(self._past, air.rest_wbgt_c)
        self._past = list(past)
        return past

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
            self._past.append(Stretch(Length(length_us), "rest", air.rest_wbgt_c, air.adjusted_f))
        if length_us >= LEAST_REST_US:
            self._stood_by_us = None

    def slept(self) -> None:
        """A night."""
        self._past, self._known, self._since_us = [], None, 0
        self._stood_by_us, self._hot_until_us = None, 0

    def _went(self, at_us: int, length_us: int, effort: Effort) -> None:
        known = self._known
        if known is not None:
            self._known = known._replace(left_us=Length(max(0, known.left_us - length_us)))
        end_us = at_us + length_us
        while at_us < end_us:
            upto_us = min(end_us, (at_us // HOUR_US + 1) * HOUR_US)
            air = self._ahead.air_at(Instant(at_us))
            if air is not None:
                self._add(Stretch(Length(upto_us - at_us), effort, air.wbgt_c, air.adjusted_f))
                if not _is_free(air, self._ahead.acclimatized):
                    self._hot_until_us = upto_us + TWO_HOURS_US
            at_us = upto_us

    def _add(self, one: Stretch) -> None:
        if self._past:
            before = self._past[-1]
            length_us = Length(before.length_us + one.length_us)
            if replace(before, length_us=one.length_us) == one:
                self._past[-1] = replace(before, length_us=length_us)
                return
        self._past.append(one)


@lru_cache(maxsize=1024)
def _planned(effort: Effort, next_us: int, meal_us: int | None) -> Ahead:
    """Work of one effort that goes on."""
    meal = None if meal_us is None else Length(meal_us)
    return Ahead((PlannedWork(TWO_HOURS_US, effort),), NO_LENGTH, Length(next_us), meal_us=meal)


@lru_cache(maxsize=1024)
def _steady(effort: Effort, air: Air, acclimatized: bool) -> float:
    """Steady work minutes an hour; 0 in extreme danger."""
    plan = _planned(effort, 0, None)
    return 0.0 if air.off_table else steady_minutes(plan, air, acclimatized)


@lru_cache(maxsize=1024)
def _is_free(air: Air, acclimatized: bool) -> bool:
    """True if an hour of the hardest work in it, without a rest, breaks no rule."""
    adjusted_f = None if air.adjusted_f is None else air.adjusted_f + air.guard_f
    return not air.calls_rests and _is_cool(air.wbgt_c + air.guard_c, adjusted_f, acclimatized)


@lru_cache(maxsize=1024)
def _is_cool(wbgt_c: float, adjusted_f: float | None, acclimatized: bool) -> bool:
    watts = heat.class_watts("heavy")
    limit_c = heat.rel_c(watts) if acclimatized else heat.ral_c(watts)
    return wbgt_c <= limit_c and table_minutes(adjusted_f, "heavy") == HOUR_MINUTES
