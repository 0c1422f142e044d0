"""The hour as a budget of heat: how much of the planned work still fits, and what a rest buys.

Four rules look at windows that end at each moment of the work ahead: the NIOSH limit and the
NIOSH work/rest table over sixty minutes, a quarter of an hour of rest in two hours, and an
hour without hands off. What was worked counts with its own effort and the air of its own time,
what is ahead with the effort of each planned piece, so that taking up another panel changes
neither. The smallest answer speaks. All of it is a screening estimate: symptoms override
every number, and a WBGT meter, local rules and medical advice come first.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property, lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.stretch import (
    AHEAD_CAUTION,
    LEAST_REST_US,
    LEAST_WORK_MINUTES,
    TWO_HOURS_US,
    Stretch,
    cost,
    head,
    last,
    limit_passed,
    passes_limit,
    rest_short,
    resting_us,
    since_off,
    table_minutes,
    table_spent,
    tail,
)
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.figures import heat
from cartclock.engine.figures.limits import HOUR_MINUTES
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Length

HourRule = Literal["", "limit", "table", "two hours", "hour"]
RestGrade = Literal["", "soon", "now", "not here", "film"]

# Reference trigger only: 89 FR 70698 was a proposal when last seen, read second-hand; from this
# heat index on it names a rest of 15 minutes in two hours.
REST_FROM_F = 90.0
# The rest after an hour without one; our own judgement.
HOUR_REST_US = 10 * MINUTE_US
# Rests are told in steps of five minutes, rounded up; longer than 45 is no rhythm. Our own
# judgement.
REST_STEP_US = 5 * MINUTE_US
LONGEST_REST_US = 45 * MINUTE_US
# "No work time here" is lifted a little later than it is said, against flicker. Our own judgement.
LIFTED_FROM_MINUTES = 18.0
# A rest buys half an hour of the work ahead; the next if that cannot be had. Our own judgement.
BOUGHT_US = (30 * MINUTE_US, 20 * MINUTE_US, 15 * MINUTE_US)
# Where a meal follows soon after the work bought, the rest buys the work up to it: one rest less
# before the meal, and never a shorter one. Our own judgement.
BOUGHT_TO_MEAL_US = 45 * MINUTE_US
# A meal this much behind the mark stands for a rest that is called by the clock. Our own judgement.
MEAL_NEAR_US = 15 * MINUTE_US
# The guards of an estimate for the hour ahead: one degree F on the adjusted air, and the
# steepest rises carried on, in C and F a minute. Our own judgement; none can loosen a limit.
GUARD_F = 1.0
RISE_C, RISE_F = 0.03, 0.06

CLOCK_RULES: tuple[HourRule, ...] = ("two hours", "hour")


class Air(Struct, frozen=True):
    """The air in force, as the rules ahead need it.

    Fields:
        wbgt_c, rest_wbgt_c: where the work is and where rests are taken, clothing added.
        adjusted_f: air for the work/rest table; None if it cannot be had.
        index_f: heat index for reminders; None if it cannot be had.
        off_table: True where the heat index is beyond its table: extreme danger.
        guard_c: what an estimate may be short of; 0 for a meter.
        guard_f: the same for the adjusted air.
        rise_c, rise_f: trend a minute, 0 to `RISE_C` and `RISE_F`, carried on.
    """

    wbgt_c: float
    rest_wbgt_c: float
    adjusted_f: float | None
    index_f: float | None
    off_table: bool = False
    guard_c: float = 0.0
    guard_f: float = 0.0
    rise_c: float = 0.0
    rise_f: float = 0.0

    @property
    def bare(self) -> Air:
        """The same without guard and trend: what was read."""
        return replace(self, guard_c=0.0, guard_f=0.0, rise_c=0.0, rise_f=0.0)

    @property
    def calls_rests(self) -> bool:
        """True from the heat index on at which a rest in two hours is called."""
        return self.off_table or (self.index_f is not None and self.index_f >= REST_FROM_F)


def bought_for(next_us: int) -> list[int]:
    """How much work a rest may buy, the most first: as ever, and the next piece whole if it can be
    had.

    next_us: the piece; 0: work goes on.
    """
    wanted = set(BOUGHT_US)
    if min(wanted) < next_us <= max(wanted):
        wanted.add(-(-next_us // MINUTE_US) * MINUTE_US)
    return sorted(wanted, reverse=True)


class PlannedWork(Struct, frozen=True):
    """Planned work of one effort; `length_us` > 0."""

    length_us: Length
    effort: Effort


class Ahead(Struct, frozen=True):
    """What is planned.

    Fields:
        pieces: in order, what is left of the piece in hand first; after them light work.
        in_hand_us: what is left of the piece in hand; 0 between two.
        next_us: the piece after it, which is begun or not as a whole.
        film: True while a film is in play: from its first touch to the end of its last step.
        meal_us: until the next meal; None if none is near.
        overrun: True if the piece in hand takes longer than planned, so that what is left of it
            is a guess that does not fall.
        named: the first piece in few words, "cut roof"; "" while a wait comes first.
    """

    pieces: tuple[PlannedWork, ...]
    in_hand_us: Length
    next_us: Length
    film: bool = False
    meal_us: Length | None = None
    overrun: bool = False
    named: str = ""


class Budget(Struct, frozen=True):
    """The verdict of one moment.

    Fields:
        left_us: planned work that keeps every rule; None: over an hour.
        rest_us: the rest then, or now if the grade calls it; 0 where none would help.
        rule: the rule that speaks; "" if none does.
        rest_rule: the rule that asks for so long a rest, which a shorter one would break; the one
            that speaks where the rest is as short as rests are or none would help.
        grade: "" a line only; soon: at the end of the piece or film; now: the limit or the
            table is reached by what was read; not here: no work time; film: any of these,
            held back until the film in play is ended.
        work_minutes: steady work an hour of the mix ahead, the smaller of limit and table.
        light_minutes: the same of light work.
        meal: True if a meal stands for the rest that only the clock would call.
        bought_us: planned work that the rest buys; 0 without one.
    """

    left_us: Length | None
    rest_us: Length
    rule: HourRule
    rest_rule: HourRule
    grade: RestGrade
    work_minutes: float
    light_minutes: float
    meal: bool = False
    bought_us: Length = Length(0)


def budget(
    past: Sequence[Stretch],
    ahead: Ahead,
    air: Air,
    acclimatized: bool,
    stood_by_us: int | None = None,
    was_not_here: bool = False,
    resting: bool = False,
    tells_rule: bool = True,
    fresh_us: int = 0,
) -> Budget:
    """How the hour stands, and what it takes.

    Args:
        past: what was done up to now, in order, the last two hours at least as far as there
            are; before it the worker is taken to rest where rests are taken.
        air: the newest reading.
        acclimatized: True judges by the REL, False by the RAL of NIOSH 2016-106.
        stood_by_us: time since hands were off for five minutes by standing by; None if they
            were not.
        was_not_here: True if "no work time here" is being said: it is lifted only from
            `LIFTED_FROM_MINUTES` on.
        resting: True in a break: what it still takes is reckoned from its beginning, so that its
            end stands still.
        fresh_us: time stood about since the work began or since a rest, with nothing done in it: a
            piece that this alone keeps from fitting is begun, for a rest would buy no more.
        tells_rule: False leaves `Budget.rest_rule` as the rule that speaks, for who only needs the
            length of the rest.
    """
    stage = _Stage(past, ahead, air, acclimatized, resting)
    work, by_limit, by_table = stage.steady()
    light = min(stage.by_limit("light"), table_minutes(air.adjusted_f, "light") or 0.0)
    least = LIFTED_FROM_MINUTES if was_not_here else LEAST_WORK_MINUTES
    if air.off_table or work < least:
        rule: HourRule = "limit" if by_limit < by_table and not air.off_table else "table"
        none_here: RestGrade = "film" if ahead.film else "not here"
        return Budget(Length(0), Length(0), rule, rule, none_here, work, light)
    by_clock, lefts = stage.called(stood_by_us)
    if not lefts:
        return Budget(None, Length(0), "", "", "", work, light, meal=by_clock)
    rule = min(lefts, key=lambda r: (lefts[r], r in CLOCK_RULES))
    left_us = lefts[rule]
    grade = stage.grade(lefts, left_us)
    begins_us = stage.begins(grade, left_us)
    found = stage.rest(rule, begins_us, ahead.next_us)
    if found is None:
        # No rest up to an hour buys a quarter of an hour of this.
        none = grade == "now" or (grade == "soon" and ahead.in_hand_us <= 0)
        said: RestGrade = "not here" if none else grade
        return Budget(
            Length(0 if none else left_us),
            Length(0),
            rule,
            rule,
            "film" if ahead.film and said else said,
            work,
            light,
        )
    rest_us, bought_us = found
    rest_rule = stage.rest_rule(rule, begins_us, rest_us, bought_us) if tells_rule else rule
    enough = left_us >= LEAST_WORK_MINUTES * MINUTE_US + ahead.in_hand_us
    # What no rest here makes fit is begun, and the rest comes in between; so is what fitted until
    # somebody only stood about.
    begun = bought_us < ahead.next_us or left_us + fresh_us >= ahead.in_hand_us + ahead.next_us
    if grade == "soon" and rule not in CLOCK_RULES and enough and begun:
        grade = ""
        later = stage.rest(rule, left_us, 0)
        rest_us, bought_us = later or (LONGEST_REST_US, 0)
        told = later and tells_rule
        rest_rule = stage.rest_rule(rule, left_us, rest_us, bought_us) if told else rule
    return Budget(
        Length(left_us),
        Length(rest_us),
        rule,
        rest_rule,
        "film" if ahead.film and grade else grade,
        work,
        light,
        bought_us=Length(bought_us),
    )


def work_left(
    past: Sequence[Stretch],
    ahead: Ahead,
    air: Air,
    acclimatized: bool,
    stood_by_us: int | None = None,
) -> Length | None:
    """`Budget.left_us` where there is work time at all, without asking what a rest buys.

    Args: as for `budget`.
    """
    _by_clock, lefts = _Stage(past, ahead, air, acclimatized).called(stood_by_us)
    return Length(min(lefts.values())) if lefts else None


def steady_minutes(ahead: Ahead, air: Air, acclimatized: bool) -> float:
    """Steady work minutes an hour of the mix ahead, 0 to 60: the smaller of limit and table."""
    return _Stage((), ahead, air, acclimatized).steady()[0]


class _Stage:
    """Past and plan laid end to end, with the windows that the rules look through."""

    def __init__(
        self,
        past: Sequence[Stretch],
        ahead: Ahead,
        air: Air,
        acclimatized: bool,
        resting: bool = False,
    ) -> None:
        self.air, self.ahead, self.acclimatized = air, ahead, acclimatized
        self.past = last(past, air.rest_wbgt_c)
        # What is over of a rest that is begun: one of an hour that was not enough begins anew.
        self.rested_us = resting_us(self.past) % HOUR_US if resting else 0
        self.plan = tuple(_planned(ahead.pieces, air))

    def by_limit(self, effort: Effort) -> float:
        """Steady work minutes an hour by the limit."""
        return _by_limit(self.air, heat.class_watts(effort), self.acclimatized)

    def called(self, stood_by_us: int | None) -> tuple[bool, dict[HourRule, int]]:
        """Planned work that keeps each rule that speaks; before it whether any did before a meal
        stood for the rests that only the clock calls.
        """
        lefts = self.lefts(self.air, stood_by_us)
        by_clock = bool(lefts)
        if self.ahead.meal_us is not None:
            near = self.ahead.meal_us - MEAL_NEAR_US
            lefts = {r: left for r, left in lefts.items() if r not in CLOCK_RULES or near > left}
        return by_clock, lefts

    def steady(self) -> tuple[float, float, float]:
        """Steady work minutes of the mix ahead: the smaller, by the limit, by the table."""
        hour = head(_planned(self.ahead.pieces, self.air.bare), HOUR_US)
        watts = sum(one.length_us * heat.class_watts(one.effort) for one in hour) / HOUR_US
        costs = sum(one.length_us * cost(one, AHEAD_CAUTION) for one in hour) / HOUR_US
        by_table = 0.0 if costs > 1000 else HOUR_MINUTES / max(1.0, costs)
        by_limit = _by_limit(self.air, watts, self.acclimatized)
        return min(by_limit, by_table), by_limit, by_table

    def lefts(self, air: Air, stood_by_us: int | None) -> dict[HourRule, int]:
        """Planned work that keeps each rule, of those that allow less than an hour."""
        plan = self.plan if air is self.air else tuple(_planned(self.ahead.pieces, air))
        hour = head(plan, HOUR_US)
        run = (*self.past, *hour)
        found: dict[HourRule, int | None] = {"limit": limit_passed(run, HOUR_US, self.acclimatized)}
        found["table"] = table_spent(run, HOUR_US)
        if air.calls_rests:
            found["two hours"] = rest_short(run, HOUR_US)
        watts = sum(one.length_us * heat.class_watts(one.effort) for one in hour) / HOUR_US
        limit = heat.rel_c(watts) if self.acclimatized else heat.ral_c(watts)
        if air.calls_rests or air.wbgt_c > limit:
            since_us = since_off(self.past)
            if stood_by_us is not None:
                since_us = min(since_us, stood_by_us)
            found["hour"] = max(0, HOUR_US - since_us)
        return {rule: left for rule, left in found.items() if left is not None and left < HOUR_US}

    def grade(self, lefts: dict[HourRule, int], left_us: int) -> RestGrade:
        """Now by what was read alone; soon where the next piece can no longer be ended in time."""
        hard = [left for rule, left in lefts.items() if rule not in CLOCK_RULES]
        if hard and min(hard) <= 0:
            guarded = self.air != self.air.bare
            bare = self.lefts(self.air.bare, None) if guarded else lefts
            read = [left for rule, left in bare.items() if rule not in CLOCK_RULES]
            return "now" if read and min(read) <= 0 else "soon"
        return "soon" if left_us < self.ahead.in_hand_us + self.ahead.next_us else ""

    def begins(self, grade: RestGrade, left_us: int) -> int:
        """Work until the rest begins."""
        if grade == "now":
            return 0
        return min(left_us, self.ahead.in_hand_us) if grade == "soon" else left_us

    def rest(self, rule: HourRule, after_us: int, next_us: int) -> tuple[int, int] | None:
        """The shortest rest after so much work, and the work it buys; None: none up to an hour."""
        least = self._least(rule, after_us)
        to_meal = self._to_meal(least, after_us)
        if to_meal is not None:
            return to_meal
        longest_us = LONGEST_REST_US - self._over(after_us)
        rests = range(least, longest_us, REST_STEP_US)
        for bought_us in bought_for(next_us) if longest_us >= least else ():
            if self._buys(after_us, Length(longest_us), bought_us):
                found = self._shortest(rests, after_us, bought_us)
                return found or longest_us, bought_us
        # The hour is used up: said once, never as a rhythm.
        longer_us = max(least, longest_us + REST_STEP_US)
        for rest_us in range(longer_us, HOUR_US - self._over(after_us) + 1, REST_STEP_US):
            if self._buys(after_us, Length(rest_us), BOUGHT_US[-1]):
                return rest_us, BOUGHT_US[-1]
        return None

    def _shortest(self, rests: Sequence[int], after_us: int, bought_us: int) -> int | None:
        """The first of these rests, which grow, that buys so much work; None: none does."""
        if self._rests_coolest:
            found = bisect_left(
                rests, True, key=lambda rest: self._buys(after_us, Length(rest), bought_us)
            )
            return rests[found] if found < len(rests) else None
        enough = (rest for rest in rests if self._buys(after_us, Length(rest), bought_us))
        return next(enough, None)

    @cached_property
    def _rests_coolest(self) -> bool:
        """True if the rest place is no warmer than anything that was or is planned, so that of two
        rests the longer one keeps every rule that the shorter one keeps.
        """
        rest_c = self.air.rest_wbgt_c
        return all(one.wbgt_c >= rest_c for one in (*self.past, *self.plan))

    def rest_rule(self, rule: HourRule, after_us: int, rest_us: int, bought_us: int) -> HourRule:
        """Of the rest that `rest` found, the rule that asks for its length: a step less would break
        it. `rule` where that is among them, or where the rest is as short as rests are.
        """
        less_us = rest_us - REST_STEP_US
        if less_us < self._least(rule, after_us):
            return rule
        # Before a meal a shorter rest has the more work up to it.
        more_us = REST_STEP_US if bought_us > BOUGHT_US[0] else 0
        broken = dict(self._broken(after_us, Length(less_us), bought_us + more_us))
        return rule if rule in broken or not broken else min(broken, key=lambda r: broken[r])

    def _least(self, rule: HourRule, after_us: int) -> int:
        """The shortest rest that there is."""
        least = HOUR_REST_US if rule == "hour" else LEAST_REST_US
        return least - self._over(after_us) % REST_STEP_US

    def _over(self, after_us: int) -> int:
        """What is over of a rest after so much work."""
        return 0 if after_us else self.rested_us

    def _to_meal(self, least: int, after_us: int) -> tuple[int, int] | None:
        """The shortest rest that buys the work up to a meal, and that work; None: the meal is too
        near or too far for it, or there is none.
        """
        if self.ahead.meal_us is None:
            return None
        longest_us = LONGEST_REST_US - self._over(after_us)
        for rest_us in range(least, longest_us + 1, REST_STEP_US):
            bought_us = self.ahead.meal_us - after_us - rest_us
            if bought_us <= BOUGHT_US[0]:
                return None
            if bought_us <= BOUGHT_TO_MEAL_US and self._buys(after_us, Length(rest_us), bought_us):
                return rest_us, bought_us
        return None

    def _buys(self, after_us: int, rest_us: Length, bought_us: int) -> bool:
        """True if the work bought keeps every rule that looks back over the rest."""
        run = self._bought(after_us, rest_us, bought_us)
        if passes_limit(run, bought_us, self.acclimatized):
            return False
        if table_spent(run, bought_us) is not None:
            return False
        return not self.air.calls_rests or rest_short(run, bought_us) is None

    def _bought(self, after_us: int, rest_us: Length, bought_us: int) -> tuple[Stretch, ...]:
        """What was and what is planned up to the end of the work that a rest buys."""
        before = head(self.plan, after_us)
        rest = Stretch(rest_us, "rest", self.air.rest_wbgt_c, None)
        return (*self.past, *before, rest, *head(tail(self.plan, after_us), bought_us))

    def _broken(
        self, after_us: int, rest_us: Length, bought_us: int
    ) -> Iterator[tuple[HourRule, int]]:
        """The rules that look back over the rest and that the work bought breaks, and when."""
        run = self._bought(after_us, rest_us, bought_us)
        spent_us = table_spent(run, bought_us)
        if spent_us is not None:
            yield "table", spent_us
        over_us = limit_passed(run, bought_us, self.acclimatized)
        if over_us is not None:
            yield "limit", over_us
        short_us = rest_short(run, bought_us) if self.air.calls_rests else None
        if short_us is not None:
            yield "two hours", short_us


@lru_cache(maxsize=1024)
def _by_limit(air: Air, watts: float, acclimatized: bool) -> float:
    resting = heat.class_watts("rest")
    return heat.work_minutes_per_hour(air.wbgt_c, air.rest_wbgt_c, watts, resting, acclimatized)


def _planned(pieces: Iterable[PlannedWork], air: Air) -> Iterable[Stretch]:
    """Two hours of the plan in the air ahead; a rise is carried on minute by minute."""
    rises = air.rise_c > 0 or air.rise_f > 0
    at_us = 0
    for piece in (*pieces, PlannedWork(Length(TWO_HOURS_US), "light")):
        end_us = min(at_us + piece.length_us, TWO_HOURS_US)
        while at_us < end_us:
            upto_us = min(at_us + MINUTE_US, end_us) if rises else end_us
            # Of each minute its end is taken: a rise is not to be read low.
            minutes = upto_us / MINUTE_US if rises else 0.0
            adjusted = air.adjusted_f
            yield Stretch(
                Length(upto_us - at_us),
                piece.effort,
                air.wbgt_c + air.guard_c + minutes * air.rise_c,
                None if adjusted is None else adjusted + air.guard_f + minutes * air.rise_f,
            )
            at_us = upto_us
