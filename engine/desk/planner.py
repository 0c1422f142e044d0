"""What is known of the worker and the place, put together for work that is only planned."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cartclock.engine.ahead.calendar import WorkDay
from cartclock.engine.ahead.day_ahead import DayAhead, meals_ahead
from cartclock.engine.ahead.foreseen import USUAL_MEAL, hours_of
from cartclock.engine.ahead.heat import USUAL_RANGE_C
from cartclock.engine.ahead.job_ahead import JobAhead, as_weighed, steps_of
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.dates import day_of, hour_of_day, local, time_on_day
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.learning import Learning
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.figures import gate
from cartclock.engine.figures.day_curve import air_at_c
from cartclock.engine.figures.measured import AIR
from cartclock.engine.films.curve import expected
from cartclock.engine.films.gate import limits_of
from cartclock.engine.hours.lessons import JobLessons
from cartclock.engine.hours.usual import StepKey
from cartclock.engine.plan.amounts import money
from cartclock.engine.plan.plan import Plan
from cartclock.engine.planning.day_hours import DayHours, Where
from cartclock.engine.planning.day_plan import Habits, day_plan
from cartclock.engine.planning.decision import DayPlan
from cartclock.engine.planning.estimate import Basis, Estimate, PaintState, estimate, in_state
from cartclock.engine.planning.unbegun import job_ahead
from cartclock.engine.planning.weather import (
    Weather,
    by_forecast,
    by_reading,
    by_table,
    like_forecast,
)
from cartclock.engine.rules.readings import degrees_c
from cartclock.engine.rules.typed import refuse_price
from cartclock.engine.store.hours_file import DEW_POINT, read_hours, text_of
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

if TYPE_CHECKING:
    from cartclock.engine.store.settings import Settings


class Planner:
    """What is planned at one cart.

    Args:
        bench, shop: of one log.
        settings: of this cart.
    """

    def __init__(self, bench: Bench, shop: Shop, settings: Settings) -> None:
        self.bench, self.shop, self.settings = bench, shop, settings
        self._learning = Learning(bench.library, bench.log.path)
        # The air of tomorrow as it was said; None: as it was read today.
        self.forecast: Weather | None = None

    @property
    def zone(self) -> str:
        """Of the place of work."""
        return self.settings.zone

    @property
    def today(self) -> datetime.date:
        """The calendar day of the place."""
        return day_of(self.bench.now_us, self.zone)

    @property
    def tomorrow(self) -> datetime.date:
        """The day behind it."""
        return self.today + datetime.timedelta(days=1)

    def forecast_of(self, text: str) -> Weather:
        """The air of tomorrow by a forecast as it was typed: low, high and dew point in the
        unit of the settings.

        Raises Refused for a text that is none.
        """
        unit = self.settings.temperature
        try:
            low, high, dew = (float(one) for one in text.replace(",", " ").split())
        except ValueError:
            like = like_forecast(unit)
            raise Refused(f"Write three numbers: low, high, dew point, like {like}.") from None
        if low > high:
            raise Refused(f"The low, {low:g} {unit}, is above the high, {high:g} {unit}.")
        if dew > high:
            raise Refused(f"The dew point, {dew:g} {unit}, is above the high, {high:g} {unit}.")
        low_c, high_c = degrees_c(AIR, low, unit), degrees_c(AIR, high, unit)
        dew_c = degrees_c(DEW_POINT, dew, unit)
        over_c = self.over_c(low_c, high_c, self.tomorrow)
        return by_forecast(low_c, high_c, dew_c, over_c, unit)

    def table_of(self, path: str) -> Weather:
        """The air of tomorrow by a CSV of hours; raises Refused and PlanFault."""
        file = Path(path.strip()).expanduser()
        hours = read_hours(text_of(file), file.name, self.tomorrow)
        return by_table(hours, file.name)

    def begin(self, day: datetime.date) -> Instant:
        """When the worker's day begins on a date."""
        return time_on_day(day, self.habits().begins, self.zone)

    def open_jobs(self) -> tuple[JobAhead, ...]:
        """The open jobs, by number."""
        return self._believed(list(open_jobs(self.bench.jobs.values())))

    def planned(self, plan: Plan, at_us: Instant) -> JobAhead:
        """A job of a plan as it would be opened at an instant."""
        return self._believed([job_ahead(plan, self.zone, at_us)])[0]

    def estimated(
        self,
        plan: Plan,
        paint: PaintState,
        day: datetime.date,
        weather: Weather | None = None,
        hourly: str = "",
    ) -> Estimate:
        """What a job of a plan will take that is begun on a day and worked on alone.

        Args:
            weather: of that day; None: the heat is not in it.
            hourly: what an hour costs, a decimal text; "": as the settings say. Raises Refused for
                one that is no price.
        """
        refuse_price(hourly or None)
        begin_us = self.begin(day)
        if day == self.today:
            begin_us = Instant(max(begin_us, self.bench.now_us))
        # What was measured is measured against the plan's own minutes.
        known = self.planned(plan, begin_us)
        ahead = replace(known, job=job_ahead(in_state(plan, paint), self.zone, begin_us))
        habits, worker = self.habits(), self.bench.worker
        taught = self.shop.lessons(worker, plan.name)
        around = replace(
            habits.around,
            pauses=tuple(meals_ahead(habits.meal, self.zone, False, begin_us)),
            meals=1,
            work_day=WorkDay(habits.begins, habits.ends, self.zone, self.settings.closed),
            on_us=begin_us,
            heat=None if weather is None else DayHours(day, weather, self.where()).heat,
        )
        rate = hourly or self.settings.shop.hourly
        basis = Basis(
            same_shape=sum(one.shape == plan.shape and bool(one.measured) for one in taught),
            pieces=_pieces(ahead.job, taught),
            items=self.shop.stock().items,
            hourly=money(rate or None),
            currency=self.settings.currency,
        )
        return estimate(ahead, Prospect([ahead], around, begin_us), paint, basis)

    def _believed(self, jobs: Sequence[Job]) -> tuple[JobAhead, ...]:
        learned = self._learning.of(self.bench.worker, jobs)
        found = []
        for job in jobs:
            belief, weights = learned.beliefs[job.id], learned.weights[job.id]
            today = belief.today(as_weighed(learned.measured[job.id], job, weights))
            shop = belief.from_shop
            found.append(JobAhead(job, today, belief.jobs, weights=weights, from_shop=shop))
        return tuple(found)

    def where(self) -> Where:
        """Where work is done, by the settings, the newest reading and the days before."""
        settings, bench = self.settings, self.bench
        used = self.shop.acclimatization(bench.worker, bench.now_us, self.zone)
        latitude, longitude = settings.place or (None, None)
        on = ev.ClockedOn(
            zone=self.zone, clothing=settings.clothing, latitude=latitude, longitude=longitude
        )
        read = self._reading()
        place = ev.ReadingTaken().place if read is None else read[1].place
        return Where(on, place, self.shop.rest_place, used.acclimatized)

    def habits(self) -> Habits:
        """How the worker's days run, as far as shifts that are over tell it."""
        learned = self._learning.of(self.bench.worker, ())
        begins, ends = hours_of(learned, self.bench.day_began(), self.zone)
        meal = self.settings.meal or USUAL_MEAL
        around = DayAhead(interrupted=learned.interrupted, tires=True)
        return Habits(begins, ends, meal, around, self.settings.closed)

    def over_c(self, low_c: float, high_c: float, day: datetime.date) -> float:
        """By how much this place is warmer than its forecast, as read today; C, 0.0 if unknown.

        low_c, high_c: forecast for `day`; of another day than today, today's own is asked for in
        the log.
        """
        read = self._reading()
        if read is None or read[1].air_c is None or read[1].place != "indoors":
            return 0.0
        at_us, reading = read
        if day != self.today:
            shift = self.bench.shift()
            said = None if shift is None else expected(shift, self.bench.now_us)
            if said is None:
                return 0.0
            low_c, high_c = said.low_c, said.high_c
        assert reading.air_c is not None
        return reading.air_c - air_at_c(hour_of_day(at_us, self.zone), low_c, high_c)

    def weather(self) -> Weather | None:
        """A day like today as it was read; None without a reading in force."""
        read = self._reading()
        if read is None or read[1].air_c is None or read[1].rh is None:
            return None
        at_us, reading = read
        shift = self.bench.shift()
        said = None if shift is None else expected(shift, self.bench.now_us)
        range_c = USUAL_RANGE_C if said is None else said.high_c - said.low_c
        at = f"{local(at_us, self.zone):%H:%M}"
        assert reading.air_c is not None
        assert reading.rh is not None
        hour, unit = hour_of_day(at_us, self.zone), self.settings.temperature
        return by_reading(reading.air_c, reading.rh, hour, range_c, at, unit)

    def _reading(self) -> tuple[Instant, ev.ReadingTaken] | None:
        """The newest reading of today with air and humidity, and when it was taken."""
        shift, now_us = self.bench.shift(), self.bench.now_us
        if shift is None:
            return None
        for row in reversed(shift.facts):
            read = row.event
            if isinstance(read, ev.ReadingTaken) and None not in (read.air_c, read.rh):
                today = day_of(row.at_us, self.zone) == day_of(now_us, self.zone)
                return (row.at_us, read) if today else None
        return None

    def day(
        self, day: datetime.date, weather: Weather, jobs: Sequence[JobAhead]
    ) -> tuple[DayHours, DayPlan]:
        """The hours of a day, and when to begin on it.

        jobs: the one in front first. Raises Refused without one.
        """
        if not jobs:
            raise Refused("No job is open; name a plan to be begun that day.")
        hours = DayHours(day, weather, self.where(), _limits(jobs))
        not_before_us = self.bench.now_us if day == self.today else 0
        return hours, day_plan(jobs, hours, self.habits(), not_before_us=not_before_us)


def _pieces(job: Job, taught: Sequence[JobLessons]) -> dict[str, int]:
    """Stage -> measured pieces of its least known step."""
    measured: dict[StepKey, int] = {}
    for one in taught:
        for step, (many, _mean) in one.measured.items():
            measured[step] = measured.get(step, 0) + many
    found: dict[str, int] = {}
    for key in steps_of(job):
        found[key[0]] = min(found.get(key[0], measured.get(key, 0)), measured.get(key, 0))
    return found


def _limits(jobs: Sequence[JobAhead]) -> gate.LabelLimits:
    """Of the first coat that is ahead."""
    for one in jobs:
        for stage in one.job.stages:
            if stage.kind == "coat":
                try:
                    return limits_of(one.job, stage)
                except ValueError:
                    return gate.NO_LIMITS
    return gate.NO_LIMITS
