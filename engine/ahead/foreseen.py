"""What is ahead of a worker: the open jobs with what was learned, and the day around them."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from functools import cached_property, partial

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.ahead.calendar import Pause, WorkDay
from cartclock.engine.ahead.day_ahead import (
    NEVER_INTERRUPTED,
    USUAL_HOURS,
    DayAhead,
    meals_ahead,
)
from cartclock.engine.ahead.durations import Belief, Measured, Today
from cartclock.engine.ahead.heat import cooler, heat_expected
from cartclock.engine.ahead.job_ahead import JobAhead, as_weighed, factors_of, steps_of
from cartclock.engine.ahead.line_up import in_focus, left_for_other
from cartclock.engine.ahead.meal import meal_eaten
from cartclock.engine.ahead.next_layers import next_layers
from cartclock.engine.ahead.played import Weights
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.dates import day_of, local, time_on_day
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US, Row
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Hands, Shift
from cartclock.engine.films.waves import PLANNED, Factors
from cartclock.engine.hours.interruptions import Interrupted
from cartclock.engine.hours.usual import on_it_us
from cartclock.engine.times import Instant, Length
from cartclock.engine.until import bare, holds

# When days begin and how long they are while nothing is known of a worker's, and when somebody eats
# who has not said it. Our own judgement.
USUAL_BEGIN = datetime.time(8)
USUAL_DAY = datetime.timedelta(hours=USUAL_HOURS)
USUAL_MEAL = datetime.time(12, 30)
# A first day that began between these began late: the next one does not wait for that hour, and
# this one goes on as long as others do, but not into the night. Who begins later works at night.
# Our own judgement.
LATE = datetime.time(10)
AT_NIGHT = datetime.time(18)
NIGHT = datetime.time(22)
# Who clocked off behind so long a day, and not longer ago than this, comes back in the morning. Our
# own judgement.
WORKED_US = 4 * HOUR_US
GONE_US = 8 * HOUR_US


class Learned(Struct, frozen=True, eq=False):
    """What is known of a worker from what was done before.

    Fields:
        beliefs: job -> what is believed of the steps of its plan; of one not named by the plan.
        measured: job -> what was measured of it, in all its shifts.
        weights: job -> what its panels weigh, by earlier jobs on such a body.
        interrupted: other work, with that of the open jobs.
        begins, ends: when the worker's days usually begin and end; None: not known yet.
    """

    beliefs: Mapping[str, Belief] = {}
    measured: Mapping[str, Measured] = {}
    weights: Mapping[str, Weights] = {}
    interrupted: Interrupted = NEVER_INTERRUPTED
    begins: datetime.time | None = None
    ends: datetime.time | None = None


NOTHING_LEARNED = Learned()


def nothing_learned() -> Learned:
    """Nothing was done before, or nobody looks."""
    return NOTHING_LEARNED


class Foreseen(Struct, frozen=True, eq=False):
    """What the worker's next days are reckoned from, but for the clock.

    Fields:
        jobs: by id; closed ones are passed over.
        shift: the worker's newest, on or off; None if there never was one.
        learned: of the worker.
        meal: when the worker eats, by the clock; None: not settled.
        rest_place: climate where rests are taken; None: where the work is.
        closed: when there is no work.
        before: the worker's shift before that one, as `shift_before` has it.
    """

    jobs: Mapping[str, Job]
    shift: Shift | None
    learned: Learned = NOTHING_LEARNED
    meal: datetime.time | None = None
    rest_place: ev.ReadingTaken | None = None
    closed: Closed = NEVER_CLOSED
    before: Shift | None = None

    @property
    def zone(self) -> str:
        """Of the place of work; of the first job where nobody ever clocked on."""
        if self.shift is not None:
            return self.shift.on.zone
        return next((job.opened.zone for job in open_jobs(self.jobs.values())), "UTC")

    @property
    def began(self) -> Shift | None:
        """The shift with which the worker's newest day began; None if there never was one."""
        return day_began(self.shift, self.before, self.zone)

    @property
    def since_us(self) -> Instant:
        """When what was told last was so: before it nothing of the folds can be asked."""
        told = [0 if self.shift is None else max(self.shift.since_us, _last_us(self.shift.facts))]
        for job in open_jobs(self.jobs.values()):
            told.append(job.opened_us)
            told += [stint.last_us for stint in job.stints[-1:]]
            told += [one.taken_us for one in job.sections.values() if one.taken_us is not None]
            told.append(_last_us(job.facts))
        return Instant(max(told))


class Foresight:
    """What is ahead at each instant, reckoned once a minute.

    It is the same whoever looked before: of the last full minute, or of the newest row where that
    came later.

    Args:
        of: puts together what it is reckoned from.
    """

    def __init__(self, of: Callable[[], Foreseen]) -> None:
        self._asked = of
        self._prospect: Prospect | None = None
        self._factors: dict[str, Factors] = {}

    @cached_property
    def of(self) -> Foreseen:
        """What it is reckoned from, put together when it is asked for."""
        return self._asked()

    def factors(self, job_id: str) -> Factors:
        """By how much the work of an open job is expected to take longer than planned; as planned
        for one that is not open.
        """
        job = self.of.jobs.get(job_id)
        if job is None or job.state != "open":
            return PLANNED
        if job_id not in self._factors:
            _belief, today = _believed(self.of.learned, job)
            self._factors[job_id] = factors_of(JobAhead(job, today))
        return self._factors[job_id]

    @cached_property
    def _since_us(self) -> Instant:
        return self.of.since_us

    def at(self, now_us: Instant) -> Prospect:
        """What is ahead; it is told for a minute."""
        plain_us = bare(now_us)
        holds(now_us, MINUTE_US - plain_us % MINUTE_US)
        at_us = Instant(max(plain_us - plain_us % MINUTE_US, min(plain_us, self._since_us)))
        if self._prospect is None or self._prospect.now_us != at_us:
            self._prospect = prospect(self.of, at_us)
        return self._prospect


def by_the_plan(jobs: Mapping[str, Job], shift: Shift | None) -> Foresight:
    """What is ahead where nothing was learned and nothing is settled."""
    return Foresight(lambda: Foreseen(jobs, shift))


def _believed(learned: Learned, job: Job) -> tuple[Belief, Today]:
    """What is believed of the work of a job, before and by what was measured of it."""
    belief = learned.beliefs.get(job.id) or Belief(steps_of(job))
    weights = learned.weights.get(job.id, {})
    return belief, belief.today(as_weighed(learned.measured.get(job.id, {}), job, weights))


def prospect(of: Foreseen, now_us: Instant) -> Prospect:
    """What is ahead of a worker as of an instant, not before the newest row."""
    shift, zone, learned = of.shift, of.zone, of.learned
    on = shift if shift is not None and shift.on_clock else None
    doing = None if on is None else on.doing
    again = () if on is None else left_for_other(of.jobs, on)
    ahead = []
    for job in in_focus(of.jobs, shift):
        belief, today = _believed(learned, job)
        gone_us = None
        if on is not None and isinstance(doing, Hands) and doing.job == job.id:
            gone_us = on_it_us(job, doing, on, now_us)
        weights, shop = learned.weights.get(job.id, {}), belief.from_shop
        left = tuple(one for one in again if job.sections.get((one.stage, one.name)) is one)
        ahead.append(JobAhead(job, today, belief.jobs, gone_us, weights, shop, left))
    began = of.began
    begins, ends = hours_of(learned, began, zone)
    this_ends_us = _this_ends_us(learned, None if on is None else began, zone)
    called_us = _called_us(ahead, (begins, ends), now_us, zone)
    eats = of.meal or USUAL_MEAL
    eaten = shift is not None and meal_eaten(shift, eats, now_us)
    meals = meals_ahead(eats, zone, eaten, now_us)
    today_too = bool(meals) and day_of(meals[0].at_us, zone) == day_of(now_us, zone)
    around = DayAhead(
        pauses=tuple(meals),
        meals=int(today_too),
        work_day=WorkDay(begins, ends, zone, of.closed, this_ends_us, called_us),
        gone_home=_gone_home(shift, now_us),
        interrupted=learned.interrupted,
        tires=True,
    )
    if shift is not None:
        around = replace(
            around,
            heat=heat_expected(shift, of.jobs, now_us, of.rest_place, of.before),
            cooler=partial(cooler, shift, of.jobs, now_us, of.rest_place, of.before),
        )
    if on is not None:
        around = replace(around, pauses=(*_break_left(on, now_us), *meals), on_us=on.on_us)
    return Prospect(ahead, around, now_us)


def day_began(newest: Shift | None, before: Shift | None, zone: str) -> Shift | None:
    """The shift with which the day of the newest one began, of a worker who was off between.

    before: as `shift_before` has it.
    """
    if newest is None or before is None:
        return newest
    same = day_of(newest.on_us, zone) == day_of(before.on_us, zone)
    return before if same else newest


def hours_of(
    learned: Learned, began: Shift | None, zone: str
) -> tuple[datetime.time, datetime.time]:
    """When the worker's days begin and end.

    They are as learned, else as the newest day began, by `day_began`, to the quarter of an hour;
    None: there never was one.
    """
    begins = learned.begins
    if begins is None:
        begins = USUAL_BEGIN
        if began is not None and not _began_late(began, zone):
            # Nobody means to begin at 07:52.
            at = local(began.on_us, zone)
            begins = datetime.time(at.hour, at.minute // 15 * 15)
    if learned.ends is not None:
        return begins, learned.ends
    ends = datetime.datetime.combine(datetime.date(2000, 1, 1), begins) + USUAL_DAY
    return begins, ends.time()


def _began_late(shift: Shift, zone: str) -> bool:
    return LATE <= local(shift.on_us, zone).time() < AT_NIGHT


def _this_ends_us(learned: Learned, began: Shift | None, zone: str) -> Instant:
    """When the day that goes on ends if it began late; 0: as every day."""
    if began is None or learned.begins is not None or not _began_late(began, zone):
        return Instant(0)
    night_us = time_on_day(day_of(began.on_us, zone), NIGHT, zone)
    return min(night_us, Instant(began.on_us + USUAL_HOURS * HOUR_US))


def _called_us(
    ahead: Sequence[JobAhead],
    hours: tuple[datetime.time, datetime.time],
    now_us: Instant,
    zone: str,
) -> Instant:
    """When the worker is first to be here for a next layer, as is told before a shift ends; 0 if
    none waits.
    """
    asked = [
        layer.be_here_us(hours, now_us, zone)
        for one in ahead
        if any(window.kind == "gap" for window in one.job.running)
        for layer in next_layers(one.job, factors_of(one))
    ]
    return min((at_us for at_us in asked if at_us > now_us), default=Instant(0))


def _gone_home(shift: Shift | None, now_us: Instant) -> bool:
    """True if a worker who is off worked for most of this day."""
    if shift is None or shift.off_us is None or now_us - shift.off_us >= GONE_US:
        return False
    return shift.off_us - shift.on_us >= WORKED_US


def _break_left(on: Shift, now_us: Instant) -> list[Pause]:
    """What is left of a break that was taken for a length."""
    if not isinstance(on.doing, Break) or on.doing.planned_s is None:
        return []
    left_us = on.since_us + on.doing.planned_s * SECOND_US - now_us
    return [Pause(now_us, Length(left_us))] if left_us > 0 else []


def _last_us(rows: Sequence[Row]) -> int:
    return max((row.at_us for row in rows[-1:]), default=0)
