"""When to begin on a day: each start hour played forward, and what it means for the coat.

What is told of a start is when everything is done, expected and four times in five, and whether
the air is right while the coat goes on. Where it is not, the coat waits for the evening or for
the next morning. What does not fit in the day has the nights in it that the worker sleeps, as in a
forecast; where the day is too short for several layers, one goes on before the night and the next
behind it, if the air is right for both. All of the heat is a screening estimate, no medical advice.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.ahead.calendar import STAYS_FOR_US, WorkDay
from cartclock.engine.ahead.day_ahead import DayAhead, meals_ahead
from cartclock.engine.ahead.durations import Z80
from cartclock.engine.ahead.finish import Finish
from cartclock.engine.ahead.job_ahead import JobAhead
from cartclock.engine.ahead.played import Played
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.ahead.reckon import Reckoned
from cartclock.engine.ahead.work_left import WorkLeft
from cartclock.engine.dates import day_of, time_on_day
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.planning.day_hours import DayHours
from cartclock.engine.planning.decision import (
    CoatLater,
    DayPlan,
    DayStretch,
    LayersApart,
    Promise,
    Start,
)
from cartclock.engine.times import Instant, Length

# Start hours that are played. Our own judgement.
FIRST_START, LAST_START = 5, 16
# Of two starts the one whose rests by the heat are shorter by this is better. Our own judgement.
RESTS_TOLD_US = 15 * MINUTE_US
# The best first.
_PROMISES: tuple[Promise, ...] = ("", "kept", "expected", "late")
# A stage that rests for so long is told as two runs. Our own judgement.
_APART_US = 30 * MINUTE_US
# A coat that is done later than so long behind the beginning of the next day is no coat of the next
# morning. Our own judgement.
_MORNING_US = 12 * HOUR_US


class Habits(Struct, frozen=True):
    """How a worker's day runs.

    Fields:
        begins, ends: of the day, by the clock; one that ends before it begins ends the day after.
        meal: when the worker eats.
        around: other work as it was learned; its pauses, heat and nights are put in here.
        closed: on which days there is no work.
    """

    begins: datetime.time
    ends: datetime.time
    meal: datetime.time
    around: DayAhead = DayAhead()
    closed: Closed = NEVER_CLOSED


def day_plan(
    jobs: Sequence[JobAhead],
    hours: DayHours,
    habits: Habits,
    start_hours: Iterable[int] = range(FIRST_START, LAST_START + 1),
    not_before_us: int = 0,
) -> DayPlan:
    """The plan of a day.

    Args:
        jobs: what is to be done, the one in front first; at least one.
        start_hours: 0 to 23; those before `not_before_us` and behind the end of the day are left
            out, and where none is left that instant is the only start.
    """
    found = [hours.at(hour) for hour in start_hours]
    ends_us = _ends_us(hours, habits)
    begins = [at_us for at_us in dict.fromkeys(found) if at_us >= not_before_us]
    # Nobody begins when the day should be over, but for who has no other time.
    begins = [at_us for at_us in begins if at_us < ends_us] or begins
    if not begins:
        begins = [Instant(max(not_before_us, found[-1]))]
    work = WorkLeft(jobs, begins[0])
    played = [_Day(jobs, hours, habits, at_us, work) for at_us in begins]
    usual_us = hours.at(habits.begins.hour)
    best = min(played, key=lambda one: _rank(one, usual_us))
    told = best.start
    evening, morning = best.coat_later
    latest: tuple[Instant | None, Instant | None] = None, None
    if best.promise and told.morning_us is None:
        # A night stays where it is, whenever the work begins.
        latest = _Day(jobs, hours, habits, told.start_us, work, sleeps=False).latest()
    return DayPlan(
        starts=tuple(one.start for one in played),
        best=told,
        runs=best.course.runs,
        meal_us=best.meal_us,
        ends_us=ends_us,
        in_one_day=best.in_one_day,
        same_run=best.same_run,
        evening=evening,
        morning=morning,
        overnight=best.overnight,
        promise=best.promise,
        latest_start_us=latest[0],
        latest_coat_us=latest[1],
    )


def _rank(day: _Day, usual_us: Instant) -> tuple[object, ...]:
    """The least is the best: what is promised is kept, the coat goes on at all, everything is done
    within the day with the coat when it is told to go on, in right air without a wait, with few
    rests, and then what is nearest to when the worker begins anyway: nobody gets up early for
    nothing, nor for a promise that no start keeps.
    """
    start, by_us = day.start, day.told_by_us
    first = _PROMISES.index(day.promise), day.coatless
    rests = start.rests_us // RESTS_TOLD_US
    near = abs(start.start_us - usual_us)
    if by_us <= day.ends_us:
        return (*first, 0, not start.coat_right, rests, near, start.start_us)
    # Whoever sleeps before the next layer gains by an early start only what else would be too late
    # for that night.
    group = 2 if day.overnight is None else 1
    return (*first, group, by_us // HOUR_US, rests, near, start.start_us)


def _ends_us(hours: DayHours, habits: Habits) -> Instant:
    over = datetime.timedelta(days=1 if habits.ends <= habits.begins else 0)
    return time_on_day(hours.day + over, habits.ends, hours.zone)


class _Course(NamedTuple):
    """The work in time from one start on.

    Fields:
        start: what comes of it.
        pieces: in order.
        coating: when the hands are on a coat.
    """

    start: Start
    pieces: tuple[tuple[Played, Reckoned], ...]
    coating: tuple[tuple[int, int], ...]

    @property
    def runs(self) -> tuple[DayStretch, ...]:
        """What is done when."""
        return _runs(self.pieces)


class _Day:
    """The work played from one start on."""

    def __init__(
        self,
        jobs: Sequence[JobAhead],
        hours: DayHours,
        habits: Habits,
        start_us: Instant,
        work: WorkLeft,
        sleeps: bool = True,
    ) -> None:
        """work: what is left of the jobs. sleeps: False leaves out the nights."""
        self.jobs, self.hours, self.habits = jobs, hours, habits
        eats_us = time_on_day(hours.day, habits.meal, hours.zone)
        # Who begins behind the time of the meal has eaten.
        meals = meals_ahead(habits.meal, hours.zone, eats_us <= start_us, start_us)
        self.meal_us = meals[0].at_us if eats_us > start_us else None
        work_day = WorkDay(habits.begins, habits.ends, hours.zone, habits.closed)
        around = replace(
            habits.around,
            pauses=tuple(meals),
            meals=int(self.meal_us is not None),
            heat=hours.heat,
            work_day=work_day if sleeps else None,
            on_us=start_us,
        )
        self._ahead = ahead = Prospect(jobs, around, start_us, work.as_of(start_us))
        self._last = ahead.last_job or jobs[0].job.id
        self._coats = {
            (one.job.id, stage.name)
            for one in jobs
            for stage in one.job.stages
            if stage.kind == "coat"
        }
        self._start_us, self.ends_us = start_us, _ends_us(hours, habits)

    @property
    def start(self) -> Start:
        """The start and what comes of it."""
        return self.course.start

    @cached_property
    def course(self) -> _Course:
        """The course of the work, with the nights in it where it is not done in one day."""
        ahead, start_us = self._ahead, self._start_us
        expected = ahead.in_time(self._last)
        slow = ahead.in_time(self._last, Z80)
        done_us = expected.pieces[-1][1].end_us if expected.pieces else start_us
        by_us = slow.pieces[-1][1].end_us if slow.pieces else start_us
        # When the hands are on a coat; over the gap between two layers nothing is asked.
        coating = tuple(
            (one.begun_us, one.end_us)
            for piece, one in expected.pieces
            if (piece.job, piece.stage) in self._coats
        )
        coat, coat_slow = self._coat(expected.pieces), self._coat(slow.pieces)
        start = Start(
            start_us=start_us,
            done_us=done_us,
            # With longer lengths other films fit between, which may end sooner by a little.
            by_us=max(done_us, by_us),
            rests_us=Length(expected.parts["rests by the heat"]),
            coat_us=None if coat is None else coat[0],
            coated_us=None if coat is None else coat[1],
            coat_by_us=None if coat is None or coat_slow is None else max(coat[0], coat_slow[0]),
            against=self._against(coating, 0),
            morning_us=expected.mornings[0] if expected.mornings else None,
        )
        return _Course(start, expected.pieces, coating)

    def _coat(self, pieces: Sequence[tuple[Played, Reckoned]]) -> tuple[Instant, Instant] | None:
        own = [one for piece, one in pieces if (piece.job, piece.stage) in self._coats]
        return (own[0].begun_us, own[-1].end_us) if own else None

    @property
    def in_one_day(self) -> bool:
        """True if all is done within the day four times in five."""
        return self.start.by_us <= self.ends_us

    @property
    def told_by_us(self) -> Instant:
        """When everything is done four times in five, with the coat when it is told to go on."""
        later = self._later
        return self.start.by_us if later is None else later.by_us

    @property
    def coatless(self) -> bool:
        """As in `DayPlan`."""
        return not self.same_run and self.overnight is None and self._later is None

    @property
    def _later(self) -> CoatLater | None:
        return next((one for one in self.coat_later if one is not None), None)

    @property
    def same_run(self) -> bool:
        """As in `DayPlan`."""
        start = self.start
        coated_us = start.coated_us or start.start_us
        in_time = start.morning_us is not None or coated_us <= self.ends_us + STAYS_FOR_US
        return self.overnight is None and start.coat_right and in_time

    @cached_property
    def overnight(self) -> LayersApart | None:
        """The layers of what is not done in one day, where a night lies between two of them that is
        no longer than they may wait, and the air is right for all of them; None otherwise.
        """
        if self.in_one_day:
            return None
        course, zone = self.course, self.hours.zone
        coats = [one for one in course.pieces if (one[0].job, one[0].stage) in self._coats]
        layers = {(piece.job, piece.turn.layer) for piece, _one in coats}
        if len(layers) < 2:
            return None
        mornings = [
            (piece, one)
            for (_before, last), (piece, one) in pairwise(coats)
            if piece.gap and day_of(one.begun_us, zone) > day_of(last.end_us, zone)
        ]
        if not mornings or course.start.against or not self._in_their_gaps(course.pieces):
            return None
        piece, one = mornings[0]
        return LayersApart(coats[0][1].begun_us, one.begun_us, piece.turn.layer - 1)

    def _in_their_gaps(self, pieces: Sequence[tuple[Played, Reckoned]]) -> bool:
        """True if no layer begins behind the close of the gap in front of it."""
        jobs = {one.job.id: one.job for one in self.jobs}
        for piece, one in pieces:
            gap = jobs[piece.job].stage(piece.stage).gap if piece.gap else None
            if gap is not None and any(
                one.begun_us > pieces[before][1].end_us + gap.closes_s * SECOND_US
                for before in piece.after
            ):
                return False
        return True

    def _against(self, laid: Iterable[tuple[int, int]], later_us: int) -> tuple[str, ...]:
        """What speaks against the air while a coat goes on, if it does so much later."""
        found: dict[str, None] = {}
        for from_us, to_us in laid:
            for at_us in (*range(from_us, to_us, 30 * MINUTE_US), to_us):
                found[self.hours.of(Instant(at_us + later_us)).coat] = None
        return tuple(word for word in found if word)

    @cached_property
    def coat_later(self) -> tuple[CoatLater | None, CoatLater | None]:
        """The coat this evening, and next morning; None where it is not right then, and where it
        goes on in the same run or has the night between its layers.
        """
        course, hours = self.course, self.hours
        start = course.start
        if self.same_run or self.overnight is not None:
            return None, None
        if start.coat_us is None or start.coat_by_us is None:
            return None, None
        tomorrow = hours.day + datetime.timedelta(days=1)
        next_us = time_on_day(tomorrow, self.habits.begins, hours.zone)
        stays_us = Instant(self.ends_us + STAYS_FOR_US)
        evening = self._coat_from(course, start.coat_us, stays_us, next_day=False)
        # Whoever is done with the rest only in the night has not slept in the morning.
        begins_us, ends_us = max(next_us, start.coat_us), Instant(next_us + _MORNING_US)
        morning = self._coat_from(course, begins_us, ends_us, next_day=True)
        return evening, morning

    def _coat_from(
        self, course: _Course, from_us: Instant, to_us: Instant, next_day: bool
    ) -> CoatLater | None:
        """The first hour, from one instant on, in which all of the coat finds right air and is
        over by another.
        """
        start = course.start
        assert start.coat_us is not None
        assert start.coat_by_us is not None
        left_us = start.done_us - start.coat_us
        left_by_us = max(left_us, start.by_us - start.coat_by_us)
        at_us = from_us
        while at_us + left_us <= to_us:
            if not self._against(course.coating, at_us - start.coat_us):
                return CoatLater(
                    from_us=at_us,
                    away_us=Length(at_us - start.coat_us),
                    done_us=Instant(at_us + left_us),
                    # In one day of five the rest is not even done by then.
                    by_us=max(Instant(at_us + left_by_us), start.by_us),
                    next_day=next_day,
                )
            at_us = Instant((at_us // HOUR_US + 1) * HOUR_US)
        return None

    @cached_property
    def _promised(self) -> tuple[tuple[Instant, Finish], ...]:
        """What is promised of the work that is left, and when that is done."""
        found = []
        for one in self.jobs:
            promised_us = one.job.opened.promised_us
            # To tell a finish takes as long as all else of a start.
            finish = None if promised_us is None else self._ahead.finish(one.job.id)
            # What is done waits for whoever fetches it, whenever the day begins.
            if promised_us is not None and finish is not None and finish.hands_us:
                found.append((promised_us, finish))
        return tuple(found)

    @cached_property
    def promise(self) -> Promise:
        """As in `DayPlan`."""
        found: set[Promise] = {self._kept(promised_us, one) for promised_us, one in self._promised}
        return max(found, key=_PROMISES.index, default="")

    def _kept(self, promised_us: Instant, finish: Finish) -> Promise:
        coat_us, away_us = self.start.coat_us, 0
        coated = any(job == finish.job for job, _stage in self._coats)
        waits = coated and not self.same_run and self.overnight is None
        if waits and coat_us is not None and finish.done_us > coat_us:
            if self._later is None:
                return "late"
            away_us = self._later.away_us
        if finish.ready_by_us + away_us <= promised_us:
            return "kept"
        return "expected" if finish.ready_us + away_us <= promised_us else "late"

    def latest(self) -> tuple[Instant | None, Instant | None]:
        """When work and coat begin at the latest for what is promised, four times in five; None for
        a coat that nothing promised waits for.
        """
        start = self.start
        spare = [promised_us - one.ready_by_us for promised_us, one in self._promised]
        begin_us = Instant(start.start_us + min(spare)) if spare else None
        if start.coat_by_us is None:
            return begin_us, None
        waiting = [
            left_us
            for left_us, (_promised_us, one) in zip(spare, self._promised, strict=True)
            if one.by_us > start.coat_by_us
        ]
        return begin_us, Instant(start.coat_by_us + min(waiting)) if waiting else None


def _runs(pieces: Iterable[tuple[Played, Reckoned]]) -> tuple[DayStretch, ...]:
    """What is done when; pieces of one stage behind each other are one."""
    found: list[DayStretch] = []
    for piece, one in pieces:
        film = piece.lays or piece.ends
        last = found[-1] if found else None
        same = last is not None and (last.job, last.stage) == (piece.job, piece.stage)
        if last is not None and same and one.begun_us - last.to_us < _APART_US:
            found[-1] = replace(last, to_us=one.end_us, film=last.film or film)
        else:
            found.append(DayStretch(piece.job, piece.stage, one.begun_us, one.end_us, film))
    return tuple(found)
