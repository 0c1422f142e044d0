"""What lies between the hands and their work: rests by the heat, meals, other work, and nights.

A length of work goes in, the instant at which it is done comes out. But for the rests nothing is
decided here by what is worked: without heat a longer length is never done sooner.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import count
from typing import NamedTuple, Protocol

from msgspec import Struct

from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.ahead.rolling_hour import RestDue
from cartclock.engine.body.pace import NO_LENGTH
from cartclock.engine.dates import local, time_on_day
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Instant, Length

# What is begun before the day ends is ended if it is over so soon behind it; and if everything
# left is, the worker stays for it. Our own judgement.
ENDED_WITHIN_US = 30 * MINUTE_US
STAYS_FOR_US = 2 * HOUR_US
# Whoever is still at it behind the end of the day goes on for as long again, and no longer than so
# long. Our own judgement.
GOES_ON_US = Length(HOUR_US)
# No shop is closed for longer than so many days. Our own judgement.
_MOST_DAYS = 60


class RestRule(Protocol):
    """When rests are due, gone through once from an instant on."""

    def due(
        self,
        at_us: Instant,
        effort: Effort,
        left_us: int,
        begun: bool = True,
        meal_us: int | None = None,
    ) -> RestDue | None:
        """As `RollingHour` tells it."""

    def worked(self, at_us: Instant, length_us: int, effort: Effort) -> None:
        """Work that was gone through."""

    def stood_by(self, at_us: Instant, length_us: int) -> None:
        """A wait that no work filled."""

    def rested(self, at_us: Instant, length_us: int) -> None:
        """A rest or a meal."""

    def slept(self) -> None:
        """A night."""

    def copy(self) -> RestRule:
        """The same as of now, gone through apart."""


EndsBy = Callable[["WorkCalendar", int], bool]
"""True if all that is left is done by an instant, as the calendar has it."""


class Pause(NamedTuple):
    """A time that is taken off as soon as its clock time has come, a meal."""

    at_us: Instant
    length_us: Length


class Night(NamedTuple):
    """From the end of a working day to the beginning of the next one."""

    from_us: Instant
    to_us: Instant


class WorkDay(Struct, frozen=True):
    """When a worker's day begins and ends.

    Fields:
        begins, ends: by the clock of `zone`; one that ends before it begins ends the day after.
        closed: on which days there is no work.
        this_ends_us: when the day that goes on ends, if that is later than others do.
        called_us: when the worker is asked to be here, if that is before a day begins.
    """

    begins: datetime.time
    ends: datetime.time
    zone: str
    closed: Closed = NEVER_CLOSED
    this_ends_us: Instant = Instant(0)
    called_us: Instant = Instant(0)

    def nights(self, from_us: Instant) -> Iterator[Night]:
        """The nights that are not over at that instant, in order, without end."""
        today = local(from_us, self.zone).date()
        ended_us: Instant | None = None
        closed = 0
        for ahead in count(-1):
            day = today + datetime.timedelta(days=ahead)
            # Whoever is here on a closed day works on it.
            if ahead > 0 and self.closed.reason(day) and closed < _MOST_DAYS:
                closed += 1
                continue
            closed = 0
            begins_us = time_on_day(day, self.begins, self.zone)
            if ended_us is not None and ended_us < self.called_us < begins_us:
                begins_us = self.called_us
            if ended_us is not None and begins_us > from_us:
                yield Night(ended_us, begins_us)
            over = day + datetime.timedelta(days=1) if self.ends <= self.begins else day
            ended_us = time_on_day(over, self.ends, self.zone)


def nights_of(
    work_day: WorkDay, now_us: Instant, on_us: Instant | None, gone_home: bool
) -> Iterator[Night]:
    """The nights ahead of a worker.

    Args:
        on_us: since when the worker is on the clock; None: off.
        gone_home: True if this day is over for a worker who is off.
    """
    nights = work_day.nights(now_us)
    first = next(nights)
    if gone_home:
        yield Night(now_us, first.to_us)
    elif on_us is None:
        yield first
    elif on_us < (ends_us := max(first.from_us, work_day.this_ends_us)) or now_us < ends_us:
        goes_on_us = min(GOES_ON_US, max(0, now_us - ends_us))
        yield Night(max(ends_us, Instant(now_us + goes_on_us)), first.to_us)
    # Else the worker began before the usual time, and that night is over.
    yield from nights


class Between(NamedTuple):
    """What lay between the hands and their work so far, microseconds."""

    rests_us: Length = NO_LENGTH
    meals_us: Length = NO_LENGTH
    nights_us: Length = NO_LENGTH
    other_us: Length = NO_LENGTH


class WorkCalendar:
    """The time of one pair of hands from an instant on; it is gone through once.

    Args:
        pauses: not taken yet, in order.
        rests: when rests are due; None: never.
        ratio: other work, a share of the time of the hands, >= 0.
        nights: in order, of which as many are looked at as are needed; empty: none.

    Fields:
        taken: what it put in; `overnight`: when each day after a night began.
    """

    def __init__(
        self,
        pauses: Sequence[Pause] = (),
        rests: RestRule | None = None,
        ratio: float = 0.0,
        nights: Iterable[Night] = (),
    ) -> None:
        self._pauses, self._nights = list(pauses), iter(nights)
        self._night = next(self._nights, None)
        self._rests, self._ratio = rests, ratio
        self._rests_us = self._meals_us = self._nights_us = self._other_us = 0
        self.overnight: list[Instant] = []

    @property
    def taken(self) -> Between:
        """What it put in so far."""
        lengths = (self._rests_us, self._meals_us, self._nights_us, self._other_us)
        return Between(*(Length(length_us) for length_us in lengths))

    def begun(self, at_us: int, length_us: int, ends_by: EndsBy | None = None) -> int:
        """When the hands begin at what they could begin at that instant, if it can wait for the
        morning.

        length_us: how long it takes. ends_by: whether all that is left would be done without a
        night; None: it takes too long to stay for it.
        """
        night = self._night
        while night is not None and at_us >= night.to_us:
            night = self._night = next(self._nights, None)
        if night is None or max(at_us, at_us + length_us - ENDED_WITHIN_US) < night.from_us:
            return at_us
        if ends_by is not None and ends_by(self._sleepless(), night.from_us + STAYS_FOR_US):
            self._night, self._nights = None, iter(())
            return at_us
        self._night = next(self._nights, None)
        self._nights_us += night.to_us - at_us
        if self._rests is not None:
            self._rests.slept()
        self.overnight.append(night.to_us)
        # What was to be eaten before the morning is not ahead in it.
        self._pauses = [one for one in self._pauses if one.at_us >= night.to_us]
        return night.to_us

    def _sleepless(self) -> WorkCalendar:
        """The same as of now without a night, gone through apart."""
        rests = None if self._rests is None else self._rests.copy()
        return WorkCalendar(self._pauses, rests, self._ratio)

    def worked(
        self,
        start_us: int,
        length_us: int,
        effort: Effort = "moderate",
        free_us: int | None = None,
        held: bool = False,
    ) -> int:
        """When so much work is done that is begun at an instant, >= the one before.

        free_us: since when the hands were free for it; None: since it is begun. held: True while a
        film is in play: rests and meals wait until it is off.
        """
        left_us = round(length_us * (1 + self._ratio))
        self._other_us += left_us - length_us
        rests = self._rests
        freed_us = start_us if free_us is None else free_us
        if held:
            if rests is not None:
                rests.stood_by(Instant(freed_us), start_us - freed_us)
                rests.worked(Instant(start_us), left_us, effort)
            return start_us + left_us
        at_us = start_us
        begun = False
        while left_us > 0:
            while self._pauses and at_us >= self._pauses[0].at_us:
                # What of it falls into a wait costs nothing.
                pause = self._pauses.pop(0)
                from_us = max(pause.at_us, freed_us)
                over_us = max(at_us, from_us + pause.length_us)
                self._meals_us += over_us - at_us
                if rests is not None:
                    rests.stood_by(Instant(freed_us), from_us - freed_us)
                    rests.rested(Instant(from_us), over_us - from_us)
                at_us = freed_us = over_us
            step_us = left_us
            meal_us = self._pauses[0].at_us - at_us if self._pauses else None
            if meal_us is not None:
                step_us = min(step_us, meal_us)
            if rests is not None:
                rests.stood_by(Instant(freed_us), at_us - freed_us)
                due = rests.due(Instant(at_us), effort, left_us, begun, meal_us)
                if due is not None and due.left_us <= 0:
                    rests.rested(Instant(at_us), due.rest_us)
                    self._rests_us += due.rest_us
                    at_us = freed_us = at_us + due.rest_us
                    continue
                if due is not None:
                    step_us = min(step_us, due.left_us)
                # The air is told by the hour.
                step_us = min(step_us, HOUR_US - at_us % HOUR_US)
                rests.worked(Instant(at_us), step_us, effort)
            at_us, left_us = at_us + step_us, left_us - step_us
            freed_us, begun = at_us, True
        return at_us
