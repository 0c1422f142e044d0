"""The rests that the heat expected will ask for, hour by hour.

The newest reading is carried on by the shape of a day: warmer up to the afternoon, cooler behind
it, at one dew point. The next day is taken to be like this one. It says about how much time rests
will take, and judges nobody: a screening estimate, no medical advice; the label, local rules and a
meter come first.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from msgspec.structs import replace

from cartclock.engine.ahead.calendar import Cycle, Heat
from cartclock.engine.body.acclimatization import held
from cartclock.engine.body.budget import HOUR_REST_US, Ahead, Air, PlannedWork, steady_minutes
from cartclock.engine.body.climate import climate
from cartclock.engine.body.exposure import climates, resting_wbgt_c
from cartclock.engine.body.pace import NO_LENGTH
from cartclock.engine.body.stretch import LEAST_WORK_MINUTES, TWO_HOURS_US
from cartclock.engine.body.surroundings import Surroundings
from cartclock.engine.dates import hour_of_day
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.shift import Break, Shift
from cartclock.engine.figures import heat
from cartclock.engine.figures.air import dew_point_c
from cartclock.engine.figures.bounds import AIR_C
from cartclock.engine.figures.day_curve import change_c, rh_at
from cartclock.engine.figures.limits import HOUR_MINUTES
from cartclock.engine.films.curve import expected
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Instant, Length

# From low to high of a day, in C, where nobody said what is expected. Our own judgement, no source.
USUAL_RANGE_C = 11.0
# So much of the hour is as good as all of it. Our own judgement.
NEARLY_ALL_MINUTES = 59.5
_COOL = replace(ev.ReadingTaken(), air_c=26.0, rh=50.0, place="indoors")


def heat_expected(
    shift: Shift, now_us: Instant, rest_place: ev.ReadingTaken | None = None
) -> Heat | None:
    """The rhythm that the heat will ask for; None without a reading that speaks of it.

    Args:
        rest_place: climate where rests are taken; None: where the work is.
    """
    known = [c for c in climates(shift) if c.at_us <= now_us and c.wbgt_c is not None]
    if not known:
        return None
    around, acclimatized = Surroundings(shift), held(shift).acclimatized
    read, zone = known[-1], shift.on.zone
    said = expected(shift, now_us)
    range_c = USUAL_RANGE_C if said is None else said.high_c - said.low_c

    def read_at(middle_us: Instant) -> ev.ReadingTaken:
        hours = (hour_of_day(read.at_us, zone), hour_of_day(middle_us, zone))
        return _carried_on(read.reading, *hours, range_c)

    return heat_of(read_at, around, rest_place, acclimatized)


def heat_of(
    read_at: Callable[[Instant], ev.ReadingTaken],
    around: Surroundings,
    rest_place: ev.ReadingTaken | None,
    acclimatized: bool,
) -> Heat:
    """The rhythm that the heat of each hour asks for.

    Args:
        read_at: what should be read in the middle of an hour.
        around: what surrounds the work.
        rest_place: climate where rests are taken; None: where the work is.
        acclimatized: True judges by the REL, False by the RAL.
    """
    told: dict[int, Air | None] = {}

    def asked(at_us: Instant, effort: Effort) -> Cycle | None:
        hour = at_us // HOUR_US
        if hour not in told:
            middle_us = Instant(hour * HOUR_US + HOUR_US // 2)
            told[hour] = air_of(read_at(middle_us), around, middle_us, rest_place)
        air = told[hour]
        return None if air is None else cycle_in(air, effort, acclimatized)

    return asked


def cooler(
    shift: Shift, now_us: Instant, rest_place: ev.ReadingTaken | None = None
) -> tuple[float, Heat] | None:
    """The same with rests at 26 C and 50 %, and that temperature; None without a reading, or where
    rests are taken in the cool already.
    """
    settled = None if rest_place is None else rest_place.air_c
    assert _COOL.air_c is not None
    if settled is not None and settled <= _COOL.air_c:
        return None
    found = heat_expected(shift, now_us, _COOL)
    return None if found is None else (_COOL.air_c, found)


def since_rest_us(shift: Shift, now_us: Instant) -> Length:
    """How long it is since the last break, or since clocking on."""
    if isinstance(shift.doing, Break):
        return NO_LENGTH
    ends = (span.end_us for span in reversed(shift.spans) if isinstance(span.doing, Break))
    return Length(max(0, now_us - next(ends, shift.on_us)))


def air_of(
    reading: ev.ReadingTaken,
    around: Surroundings,
    at_us: Instant,
    rest_place: ev.ReadingTaken | None,
) -> Air | None:
    """A reading as the rules of the hour need it; None without a figure.

    rest_place: climate where rests are taken; None: where the work is.
    """
    here = climate(at_us, reading, around.around(at_us, reading))
    rest_c = resting_wbgt_c(here, around, at_us, rest_place)
    if here.wbgt_c is None or rest_c is None:
        return None
    return Air(here.wbgt_c, rest_c, here.adjusted_f, here.trigger_f, here.off_table)


@lru_cache(maxsize=256)
def _carried_on(
    reading: ev.ReadingTaken, from_hour: float, to_hour: float, range_c: float
) -> ev.ReadingTaken:
    """A reading as it should be at another hour of such a day. What a meter or a globe read is not
    reckoned from the air, and stays as it was read.
    """
    metered = reading.wbgt_c is not None or reading.globe_c is not None
    if reading.air_c is None or reading.rh is None or metered:
        return reading
    change = change_c(from_hour, to_hour, 0.0, range_c)
    air_c = min(max(reading.air_c + change, AIR_C.low), AIR_C.high)
    return replace(reading, air_c=air_c, rh=rh_at(air_c, dew_point_c(reading.air_c, reading.rh)))


@lru_cache(maxsize=256)
def cycle_in(air: Air, effort: Effort, acclimatized: bool) -> Cycle | None:
    """The rhythm that steady work of an effort has in an air; None: no rests.

    acclimatized: True judges by the REL, False by the RAL.
    """
    plan = Ahead((PlannedWork(TWO_HOURS_US, effort),), NO_LENGTH, NO_LENGTH)
    minutes = steady_minutes(plan, air, acclimatized)
    if minutes >= NEARLY_ALL_MINUTES:
        watts = heat.class_watts(effort)
        limit_c = heat.rel_c(watts) if acclimatized else heat.ral_c(watts)
        called = air.calls_rests or air.wbgt_c > limit_c
        return (Length(HOUR_US), Length(HOUR_REST_US)) if called else None
    # Where there is no time for work at all it goes on in the least pieces there are.
    minutes = max(minutes, LEAST_WORK_MINUTES)
    return (
        Length(round(minutes * MINUTE_US)),
        Length(round((HOUR_MINUTES - minutes) * MINUTE_US)),
    )
