"""Rests in a steady rhythm: so much work, then so long a rest.

It is no rule of the program: check values of a calendar are told by it.
"""

from __future__ import annotations

from collections.abc import Callable

from cartclock.engine.ahead.rolling_hour import RestDue
from cartclock.engine.plan.plan import Effort

Cycle = tuple[int, int]
"""Microseconds of work, and of the rest behind it."""


class Rhythm:
    """Rests as a calendar asks for them.

    asked: the rhythm of an instant and an effort; None: no rests. since_us: work since the last.
    """

    def __init__(self, asked: Callable[[int, Effort], Cycle | None], since_us: int = 0) -> None:
        self.asked, self.since_us = asked, since_us

    def due(
        self,
        at_us: int,
        effort: Effort,
        left_us: int,
        begun: bool = True,
        meal_us: int | None = None,
    ) -> RestDue | None:
        cycle = self.asked(at_us, effort)
        return None if cycle is None else RestDue(max(0, cycle[0] - self.since_us), cycle[1])

    def worked(self, at_us: int, length_us: int, effort: Effort) -> None:
        self.since_us += length_us

    def stood_by(self, at_us: int, length_us: int) -> None:
        pass

    def rested(self, at_us: int, length_us: int) -> None:
        self.since_us = 0

    def slept(self) -> None:
        self.since_us = 0

    def copy(self) -> Rhythm:
        return Rhythm(self.asked, self.since_us)
