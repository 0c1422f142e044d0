"""A day that is planned, in words: what to decide first, then what it rests on."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from cartclock.engine.dates import day_of, hours_text, local, spoken_day
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.air import DEW_MARGIN_K, TemperatureUnit, apart_in_unit, in_unit
from cartclock.engine.planning.day_hours import DayHours, HourAhead
from cartclock.engine.planning.decision import CoatLater, DayPlan, DayStretch, Promise, Start
from cartclock.engine.times import Instant

NO_ADVICE = "Heat: a screening estimate, no medical advice. A meter and local rules come first."
PANEL_AS_AIR = (
    "The gate is asked of the air: a cold panel is nearer the dew point, one in the sun hotter."
)
# What is expected is told in steps of so many minutes. Our own judgement.
_STEP_US = 5 * MINUTE_US
# From this hour on it is evening. Our own judgement.
_EVENING_FROM = 17
# How the best start stands to what is promised, behind what is said of it and in front of it.
_KEPT: dict[Promise, str] = {
    "": "",
    "kept": ", in time for the promise",
    "expected": "",
    "late": "",
}
_MISSED: dict[Promise, str] = {
    "": "",
    "kept": "",
    "expected": "No start keeps the promise four times in five. ",
    "late": "No start keeps the promise. ",
}


class DayWords:
    """How one planned day is told: its instants by the clock alone.

    unit: of temperatures.
    """

    def __init__(self, hours: DayHours, unit: TemperatureUnit = "C") -> None:
        self.hours, self.unit = hours, unit

    def degrees(self, value_c: float | None, places: int = 0) -> str:
        """A temperature in the unit, without naming it; "" if it is not known."""
        return "" if value_c is None else f"{in_unit(value_c, self.unit):.{places}f}"

    def clock(self, at_us: int, up: bool = False) -> str:
        """A clock time in steps of five minutes, of another day with its weekday ("Sat 07:30");
        `up`: never told too early, as what holds four times in five.
        """
        step_us = Instant((at_us + (_STEP_US - 1 if up else _STEP_US // 2)) // _STEP_US * _STEP_US)
        day = day_of(step_us, self.hours.zone)
        weekday = "" if day == self.hours.day else f"{spoken_day(day).split(' ')[0]} "
        return f"{weekday}{local(step_us, self.hours.zone):%H:%M}"

    def coat_clock(self, start: Start) -> str:
        """When the first coat of a start begins; in wrong air never told too late, where it may be
        right a minute later.
        """
        assert start.coat_us is not None
        at_us = start.coat_us if start.coat_right else start.coat_us // _STEP_US * _STEP_US
        return self.clock(at_us)

    def decision(self, plan: DayPlan) -> tuple[str, str, str]:
        """When to begin, whether the coat goes on in the same run, and when the air is right."""
        return self._begin(plan), self._coat(plan), self._air(plan)

    def _begin(self, plan: DayPlan) -> str:
        """The start, and when that is done which the next sentence leaves to it."""
        best, later = plan.best, plan.later
        done_us, by_us, coat, what = best.done_us, best.by_us, "", "done"
        ends = _rests(best)
        if later is not None:
            done_us, by_us, coat = later.done_us, later.by_us, f", the coat {self._when(later)}"
        elif plan.coatless and best.coat_us is not None and best.coat_by_us is not None:
            # The rests of all of it are not those of what lies before the coat.
            done_us, by_us, ends = best.coat_us, best.coat_by_us, ""
            coat, what = " without the coat", "all before it done"
        if plan.overnight is not None:
            ends += ", with a night between two layers"
        elif best.morning_us is not None and best.morning_us < done_us:
            ends += f", with a night in it: your day begins {self.clock(best.morning_us)}"
        start = f"{self.clock(best.start_us)}{coat}"
        begin = f"Start {start}:"
        if by_us > plan.ends_us:
            begin = f"Not in one day (your day ends {self.clock(plan.ends_us)}): from {start}"
            begin += "," if coat else ""
        done = f"{what} about {self.clock(done_us)}, four times in five by "
        done += self.clock(by_us, up=True)
        return f"{_MISSED[plan.promise]}{begin} {done}{ends}{_KEPT[plan.promise]}."

    def _coat(self, plan: DayPlan) -> str:
        best, evening, morning = plan.best, plan.evening, plan.morning
        if best.coat_us is None:
            return "No coat in it."
        apart = plan.overnight
        if apart is not None:
            first = "One layer" if apart.before == 1 else f"{apart.before} layers"
            said = f"{first} from {self.clock(apart.first_us)}"
            return f"{said}, the next in the morning from {self.clock(apart.next_us)}."
        at = f"{self.coat_clock(best)}{self._promise(plan)}"
        if plan.same_run:
            slept = best.morning_us is not None and best.coat_us >= best.morning_us
            return f"Coat {'behind the night' if slept else 'in the same run'}, from {at}."
        why = f"too {' and '.join(best.against)} at" if best.against else "it would begin at"
        told = [f"Not in the same run: {why} {at}."]
        if evening is not None:
            told.append(f"Coat {self._when(evening)} {self._later(evening)}.")
        if morning is not None:
            word = "Coat" if evening is None else "Or"
            told.append(f"{word} {self._when(morning)} {self._later(morning)}.")
        if evening is morning is None:
            told.append("Nor this evening, nor next morning.")
        return " ".join(told)

    def _promise(self, plan: DayPlan) -> str:
        latest_us, coat_us = plan.latest_coat_us, plan.best.coat_us
        if latest_us is None or coat_us is None:
            return ""
        if day_of(latest_us, self.hours.zone) < self.hours.day:
            return "; too late for the promise"
        if plan.promise == "kept":
            return f"; for the promise at {self.clock(latest_us)} at the latest"
        # Without the nights that this reckons without, it might be in time.
        return f"; the promise wants it by {self.clock(latest_us)}" if latest_us < coat_us else ""

    def _when(self, coat: CoatLater) -> str:
        if coat.next_day:
            return "next morning"
        hour = local(coat.from_us, self.hours.zone).hour
        return "this evening" if hour >= _EVENING_FROM else "later that day"

    def _later(self, coat: CoatLater) -> str:
        said = f"from {self.clock(coat.from_us)}"
        if not coat.next_day and coat.away_us >= MINUTE_US:
            said += f", after {hours_text(coat.away_us // SECOND_US)} away"
        return f"{said}: done about {self.clock(coat.done_us)}"

    def _air(self, plan: DayPlan) -> str:
        hours = self.hours.hours
        said = ""
        if plan.best.coat_us is not None:
            said = f"Air right for this coat: {_stretches(hours, lambda one: not one.coat)}. "
        near = _stretches(hours, lambda one: one.near_dew)
        apart = f"{apart_in_unit(DEW_MARGIN_K, self.unit):g} {self.unit}"
        if near != "never":
            return f"{said}Within {apart} of the dew point: {near}."
        return f"{said}The air is never within {apart} of the dew point."

    def strip(self, plan: DayPlan, hour: HourAhead) -> str:
        """What is worked on in an hour of the best start, the meal too; "" for nothing."""
        from_us, to_us = hour.from_us, hour.from_us + 60 * MINUTE_US
        found = [run for run in plan.runs if run.from_us < to_us and run.to_us > from_us]
        names = list(_named(found, plan.runs))
        if plan.meal_us is not None and from_us <= plan.meal_us < to_us:
            names.append(f"meal {local(plan.meal_us, self.hours.zone):%H:%M}")
        return ", ".join(names)

    def films(self, plan: DayPlan) -> str:
        """When films are in play that no break may cut; "" if never."""
        found = [
            f"{run.stage} {self.clock(run.from_us)} to {self.clock(run.to_us)}"
            for run in plan.runs
            if run.film and run.to_us - run.from_us >= _STEP_US
        ]
        return f"No break may cut a film: {', '.join(found)}." if found else ""

    def notes(self) -> Iterator[str]:
        """What it rests on, a sentence each."""
        where = self.hours.where
        rest = where.rest_place
        rests = "where the work is"
        if rest is not None and rest.air_c is not None:
            at = f"{round(in_unit(rest.air_c, self.unit), 1):g} {self.unit}"
            rests = f"at {at} and {rest.rh:g} %"
        used = "used to the heat" if where.acclimatized else "not used to the heat"
        yield f"{self.hours.weather.said}; rests {rests}; {used}; {where.place}."
        sun = self.hours.sun()
        if sun is not None:
            yield f"Sun up {self.clock(sun[0])} to {self.clock(sun[1])}."
        yield PANEL_AS_AIR
        yield NO_ADVICE

    @property
    def day(self) -> str:
        """The day itself: "Fri 24 Jul"."""
        return spoken_day(self.hours.day)


def _rests(start: Start) -> str:
    if start.rests_us < MINUTE_US:
        return ""
    return f", with {hours_text(start.rests_us // SECOND_US)} of rests by the heat"


def _named(found: Sequence[DayStretch], runs: Sequence[DayStretch]) -> Iterator[str]:
    """The stages of some runs, each once; of several jobs with the number of the job in front where
    it is another one.
    """
    jobs = list(dict.fromkeys(one.job for one in runs))
    before = ""
    for job, stage in dict.fromkeys((run.job, run.stage) for run in found):
        number = "" if job == before or len(jobs) < 2 else f"{jobs.index(job) + 1}: "
        yield f"{number}{stage}"
        before = job


def _stretches(hours: Sequence[HourAhead], test: Callable[[HourAhead], bool]) -> str:
    """Hours in a row: "00 to 05 and 20 to 24 h"; "never", "all day"."""
    found: list[list[int]] = []
    for one in hours:
        if test(one):
            if found and found[-1][1] == one.hour:
                found[-1][1] += 1
            else:
                found.append([one.hour, one.hour + 1])
    if not found:
        return "never"
    if found == [[0, len(hours)]]:
        return "all day"
    return " and ".join(f"{begin:02} to {end:02}" for begin, end in found) + " h"
