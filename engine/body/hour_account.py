"""What was worked as running sums, so that what an hour holds is a look-up.

What is ahead is laid behind it by `engine.body.even_budget`.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from copy import copy
from functools import lru_cache

from cartclock.engine.body.stretch import (
    BEHIND_CAUTION,
    LEAST_REST_US,
    TWO_HOURS_US,
    Stretch,
    cost,
)
from cartclock.engine.figures import heat
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Length


class HourAccount:
    """What was worked, in order; before it the worker rested.

    Fields:
        ends: where each stretch ends, microseconds from the beginning, which is 0, on.
        wbgt, watts, spent: what it adds up to there: WBGT in C, watts, and the part of the hour of
            the work/rest table that is used up, each times microseconds.
        worked: microseconds without a rest; one of less than five minutes counts as work as soon as
            it is over.
        wbgt_c, effort_w, cost: of each stretch, what a microsecond of it adds.
        rest_us: how long the rest is that it ends with; 0 if it ends with work.
        off_us: when a rest of five minutes was last over.
    """

    def __init__(self, past: Iterable[Stretch] = ()) -> None:
        self.ends: list[int] = [0]
        self.wbgt, self.watts, self.spent = [0.0], [0.0], [0.0]
        self.worked: list[int] = [0]
        self.wbgt_c: list[float] = []
        self.effort_w: list[float] = []
        self.cost: list[float] = []
        self._what: list[tuple[Effort, float, float | None]] = []
        self.rest_us: int = TWO_HOURS_US
        self.off_us = 0
        for one in past:
            self.add(one.length_us, one.effort, one.wbgt_c, one.adjusted_f)

    def copy(self) -> HourAccount:
        """The same as of now, gone on with apart."""
        other = copy(self)
        for name, value in vars(self).items():
            if isinstance(value, list):
                setattr(other, name, value.copy())
        return other

    @property
    def now_us(self) -> int:
        """Where the last stretch ends."""
        return self.ends[-1]

    def add(self, length_us: int, effort: Effort, wbgt_c: float, adjusted_f: float | None) -> None:
        """One more stretch; `length_us` > 0, the rest as in `Stretch`."""
        resting = effort == "rest"
        if resting:
            self.rest_us += length_us
            if self.rest_us >= LEAST_REST_US:
                self.off_us = self.ends[-1] + length_us
        elif self.rest_us:
            if self.rest_us < LEAST_REST_US:
                self._count_rest()
            self.rest_us = 0
        what = (effort, wbgt_c, adjusted_f)
        if self._what and self._what[-1] == what:
            length_us += self.ends.pop() - self.ends[-1]
            for sums in (self.wbgt, self.watts, self.spent):
                sums.pop()
            self.worked.pop()
        else:
            self._what.append(what)
            self.wbgt_c.append(wbgt_c)
            self.effort_w.append(heat.CLASS_WATTS[effort])
            self.cost.append(_cost(effort, adjusted_f))
        self.ends.append(self.ends[-1] + length_us)
        self.wbgt.append(self.wbgt[-1] + length_us * wbgt_c)
        self.watts.append(self.watts[-1] + length_us * self.effort_w[-1])
        self.spent.append(self.spent[-1] + length_us * self.cost[-1])
        self.worked.append(self.worked[-1] + (0 if resting else length_us))

    def _count_rest(self) -> None:
        """The rest that it ends with counts as work."""
        begun_us = self.ends[-1] - self.rest_us
        first = bisect_left(self.ends, begun_us)
        for i in range(first + 1, len(self.ends)):
            self.worked[i] = self.worked[first] + self.ends[i] - begun_us

    def in_short_rest(self, at_us: int) -> bool:
        """True if an instant lies in a rest that counts as work."""
        i = bisect_right(self.ends, at_us) - 1
        resting = 0 <= i < len(self._what) and self._what[i][0] == "rest"
        return resting and self.worked[i] < self.worked[i + 1]

    def stretches(self) -> list[Stretch]:
        """The last two hours at least, as far as there are."""
        first = max(0, bisect_right(self.ends, self.now_us - TWO_HOURS_US) - 1)
        return [
            Stretch(Length(self.ends[i + 1] - self.ends[i]), *self._what[i])
            for i in range(first, len(self._what))
        ]


@lru_cache(maxsize=1024)
def _cost(effort: Effort, adjusted_f: float | None) -> float:
    return cost(Stretch(TWO_HOURS_US, effort, 0.0, adjusted_f), BEHIND_CAUTION)
