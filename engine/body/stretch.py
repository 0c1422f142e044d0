"""Work laid end to end in stretches of one effort in one air, and where its windows are too full.

A rule looks at every window that ends in the last part of a run: an hour for the NIOSH limit and
the NIOSH work/rest table, two hours for the rests in them. Each function answers how far into
that part the first window is too full.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import accumulate, pairwise, takewhile

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.exposure import first_over, is_ever_over
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.figures import heat
from cartclock.engine.figures.limits import HOUR_MINUTES
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Instant, Length

TWO_HOURS_US = Length(2 * HOUR_US)
# Proposed in 89 FR 70698 (read second-hand), from a heat index of 90 F on.
REST_IN_TWO_HOURS_US = 15 * MINUTE_US
# California T8 3395(d)(3): a cool-down rest is at least five minutes.
LEAST_REST_US = 5 * MINUTE_US
# The last row of NIOSH 2016-106 table 6-2.
LEAST_WORK_MINUTES = 15.0
# A minute of work where the table prints only "caution": behind as its last row, ahead never.
BEHIND_CAUTION = HOUR_MINUTES / LEAST_WORK_MINUTES
AHEAD_CAUTION = 1e6
_SLACK = 1e-6
# What an hour of the table holds, and two hours without a rest that is none too short; what is more
# by less is an error of the arithmetic.
MOST_SPENT_US = HOUR_US * (1 + _SLACK)
MOST_AT_IT_US = TWO_HOURS_US - REST_IN_TWO_HOURS_US + _SLACK


class Stretch(Struct, frozen=True):
    """A stretch of one effort in one air.

    Fields:
        length_us: > 0.
        effort: class of the work; "rest" for hands off in a break.
        wbgt_c: where the worker is meanwhile.
        adjusted_f: air for the work/rest table; None if it cannot be had, and then the
            table says nothing of it.
    """

    length_us: Length
    effort: Effort
    wbgt_c: float
    adjusted_f: float | None


def last(past: Sequence[Stretch], rest_wbgt_c: float) -> tuple[Stretch, ...]:
    """The last two hours; what is missing before them was rest in the rest place."""
    kept: list[Stretch] = []
    room_us: int = TWO_HOURS_US
    for one in reversed(past):
        if room_us <= 0:
            break
        kept.append(one if one.length_us <= room_us else replace(one, length_us=Length(room_us)))
        room_us -= one.length_us
    if room_us > 0:
        kept.append(Stretch(Length(room_us), "rest", rest_wbgt_c, None))
    return tuple(reversed(kept))


def head(stretches: Iterable[Stretch], length_us: int) -> tuple[Stretch, ...]:
    """The first so many microseconds."""
    kept: list[Stretch] = []
    for one in stretches:
        if length_us <= 0:
            break
        kept.append(one if one.length_us <= length_us else replace(one, length_us=length_us))
        length_us -= one.length_us
    return tuple(kept)


def tail(stretches: Iterable[Stretch], length_us: int) -> tuple[Stretch, ...]:
    """All but the first so many microseconds."""
    kept: list[Stretch] = []
    for one in stretches:
        if length_us >= one.length_us:
            length_us -= one.length_us
            continue
        kept.append(replace(one, length_us=one.length_us - max(0, length_us)))
        length_us = 0
    return tuple(kept)


@lru_cache(maxsize=1024)
def table_minutes(adjusted_f: float | None, effort: Effort) -> float | None:
    """Work minutes an hour by the printed table; 60 for a rest or without an air to read it."""
    if effort == "rest" or adjusted_f is None:
        return HOUR_MINUTES
    return heat.niosh_table_minutes(adjusted_f, effort)


def cost(one: Stretch, caution: float) -> float:
    """Minutes of the hour that a minute of this uses up."""
    if one.effort == "rest":
        return 0.0
    minutes = table_minutes(one.adjusted_f, one.effort)
    if one.adjusted_f is None:
        # Without an air the table says nothing: the work uses no more than its own time.
        return 0.0
    return caution if minutes is None else HOUR_MINUTES / minutes


def limit_passed(run: Sequence[Stretch], end_us: int, acclimatized: bool) -> int | None:
    """Time into the last `end_us` of the run at which the hour passes the limit; None: never."""
    steps = _steps(run, end_us)
    over_us = first_over(steps, 0, acclimatized)
    return None if over_us is None else int(over_us)


def passes_limit(run: Sequence[Stretch], end_us: int, acclimatized: bool) -> bool:
    """True if `limit_passed` finds any."""
    return is_ever_over(_steps(run, end_us), 0, acclimatized)


def _steps(run: Sequence[Stretch], end_us: int) -> list[tuple[int, int, float, float]]:
    """What reaches into an hour that ends in the last `end_us` of the run, which begins at 0."""
    steps, upto_us = [], end_us
    for one in reversed(run):
        if upto_us <= -HOUR_US:
            break
        at_us = upto_us - one.length_us
        steps.append((at_us, upto_us, one.wbgt_c, heat.CLASS_WATTS[one.effort]))
        upto_us = at_us
    steps.reverse()
    return steps


class _Sum:
    """A running sum over a run, straight between the ends of its stretches."""

    def __init__(self, parts: Sequence[tuple[int, float]]) -> None:
        self.at = [0, *accumulate(length for length, _rate in parts)]
        self.to = [0.0, *accumulate(length * rate for length, rate in parts)]
        self._most = max(rate for _length, rate in parts)
        self._last = parts[-1]

    def rises_from(self, from_us: int) -> bool:
        """True if from there on it rises as fast as it ever does."""
        length_us, rate = self._last
        return self.at[-1] - length_us <= from_us and rate >= self._most

    def upto(self, at_us: Instant) -> float:
        """The sum from the beginning of the run."""
        high = min(max(bisect_right(self.at, at_us), 1), len(self.at) - 1)
        low = high - 1
        share = (at_us - self.at[low]) / (self.at[high] - self.at[low])
        return self.to[low] + share * (self.to[high] - self.to[low])

    def ends(self, from_us: int, window_us: int) -> list[int]:
        """Every end of a window, from `from_us` on, at which one of its edges meets an edge."""
        last = self.at[-1]
        edges = {at for at in self.at if at > from_us}
        edges |= {at + window_us for at in self.at if from_us < at + window_us < last}
        return [from_us, *sorted(edges | {last})]


def _first_above(total: _Sum, from_us: int, window_us: int, bound: float) -> int | None:
    """Time from `from_us` on until the sum in the window is above a bound; None: never."""
    if total.rises_from(from_us):
        # What leaves the window is no more than what comes in, so its last end has the most.
        end_us = Instant(total.at[-1])
        if total.upto(end_us) - total.upto(Instant(end_us - window_us)) <= bound:
            return None
    ends = total.ends(from_us, window_us)
    inside = [total.upto(Instant(end)) - total.upto(Instant(end - window_us)) for end in ends]
    if inside[0] > bound:
        return 0
    for (a_us, b_us), (low, high) in zip(pairwise(ends), pairwise(inside), strict=True):
        if high > bound:
            return int(a_us - from_us + (b_us - a_us) * (bound - low) / (high - low))
    return None


def table_spent(run: Sequence[Stretch], end_us: int) -> int | None:
    """Time into the last `end_us` of the run at which the table's hour is spent; None: never."""
    length_us = sum(one.length_us for one in run)
    from_us, at_us = length_us - end_us, 0
    parts = []
    for one in run:
        # What is behind cannot be undone: the last row of the table is counted, not its end.
        behind = at_us < TWO_HOURS_US
        parts.append((one.length_us, cost(one, BEHIND_CAUTION if behind else AHEAD_CAUTION)))
        at_us += one.length_us
    return _first_above(_Sum(parts), from_us, HOUR_US, MOST_SPENT_US)


def rest_short(run: Sequence[Stretch], end_us: int) -> int | None:
    """Time into the last `end_us` of the run at which two hours hold too little rest."""
    parts: list[list[float]] = []
    for one in run:
        resting = 1.0 if one.effort == "rest" else 0.0
        if parts and parts[-1][1] == resting:
            parts[-1][0] += one.length_us
        else:
            parts.append([one.length_us, resting])
    for index, part in enumerate(parts):
        # A spell that reaches out of sight may be longer than what is seen of it.
        if index > 0 and part[1] and part[0] < LEAST_REST_US:
            part[1] = 0.0
    total = _Sum([(int(length), 1.0 - resting) for length, resting in parts])
    return _first_above(total, total.at[-1] - end_us, TWO_HOURS_US, MOST_AT_IT_US)


def resting_us(past: Sequence[Stretch]) -> Length:
    """How long the rest is that the past ends with; 0 if it ends with work."""
    return Length(sum(one.length_us for one in takewhile(_rests, reversed(past))))


def _rests(one: Stretch) -> bool:
    return one.effort == "rest"


def since_off(past: Sequence[Stretch]) -> int:
    """Time since hands were last off for five minutes by a rest; two hours if never."""
    since_us = spell_us = 0
    for one in reversed(past):
        if one.effort == "rest":
            spell_us += one.length_us
            if spell_us >= LEAST_REST_US:
                return since_us
        else:
            since_us += spell_us + one.length_us
            spell_us = 0
    return since_us + spell_us
