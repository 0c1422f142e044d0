"""The air that the rests of the hours ahead are reckoned from.

The newest reading is carried on by the shape of a day: warmer up to the afternoon, cooler behind
it, at one dew point. The next day is taken to be like this one, by who is off the clock and until
the first reading of that day as well. It says about how much time rests will take, and judges
nobody: a screening estimate, no medical advice; the label, local rules and a meter come first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache

from msgspec.structs import replace

from cartclock.engine.ahead.rolling_hour import HeatAhead
from cartclock.engine.body.acclimatization import held
from cartclock.engine.body.budget import GUARD_F, Air
from cartclock.engine.body.climate import Climate, climate
from cartclock.engine.body.exposure import climates, loads, resting_wbgt_c
from cartclock.engine.body.pace import stood_by_us, stretches
from cartclock.engine.body.stretch import TWO_HOURS_US
from cartclock.engine.body.surroundings import Surroundings
from cartclock.engine.dates import hour_of_day
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import LIKE_US
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.figures.air import dew_point_c
from cartclock.engine.figures.bounds import AIR_C
from cartclock.engine.figures.day_curve import change_c, rh_at
from cartclock.engine.films.curve import expected
from cartclock.engine.times import Instant

# From low to high of a day, in C, where nobody said what is expected. Our own judgement, no source.
USUAL_RANGE_C = 11.0
_COOL = replace(ev.ReadingTaken(), air_c=26.0, rh=50.0, place="indoors")


def heat_expected(
    shift: Shift,
    jobs: Mapping[str, Job],
    now_us: Instant,
    rest_place: ev.ReadingTaken | None = None,
    before: Shift | None = None,
) -> HeatAhead | None:
    """What the rests are reckoned from; None without a reading that speaks of the heat.

    Who is off the clock begins rested, on a day like the last one; so does who has read nothing
    yet on this one.

    Args:
        jobs: at least those of the shift.
        rest_place: climate where rests are taken; None: where the work is.
        before: as `shift_before` has it.
    """
    of = shift
    read = _newest_read(shift, now_us)
    if read is None and before is not None:
        of, read = before, _newest_read(before, now_us)
    if read is None or (not of.on_clock and now_us - read.at_us >= LIKE_US):
        return None
    said = expected(shift, now_us)
    if said is None and of.off_us is not None:
        said = expected(of, of.off_us)
    range_c = USUAL_RANGE_C if said is None else said.high_c - said.low_c
    ahead = _of_reading(
        read.reading,
        hour_of_day(read.at_us, of.on.zone),
        range_c,
        Surroundings(shift),
        rest_place,
        held(shift).acclimatized,
    )
    air = ahead.air_at(now_us)
    if air is None or not shift.on_clock:
        return ahead
    past = loads(shift, jobs, now_us, rest_place, Instant(now_us - TWO_HOURS_US))
    stood_us = stood_by_us(past, now_us)
    return replace(ahead, past=tuple(stretches(past, air)), stood_by_us=stood_us)


def _newest_read(shift: Shift, now_us: Instant) -> Climate | None:
    known = [one for one in climates(shift) if one.at_us <= now_us and one.wbgt_c is not None]
    return known[-1] if known else None


@lru_cache(maxsize=4)
def _of_reading(
    reading: ev.ReadingTaken,
    from_hour: float,
    range_c: float,
    around: Surroundings,
    rest_place: ev.ReadingTaken | None,
    acclimatized: bool,
) -> HeatAhead:
    """From a reading of an hour, for who begins; what was found of its hours is kept for the next
    press.
    """

    def read_at(middle_us: Instant) -> ev.ReadingTaken:
        return _carried_on(reading, from_hour, hour_of_day(middle_us, around.zone), range_c)

    return heat_of(read_at, around, rest_place, acclimatized)


def heat_of(
    read_at: Callable[[Instant], ev.ReadingTaken],
    around: Surroundings,
    rest_place: ev.ReadingTaken | None,
    acclimatized: bool,
) -> HeatAhead:
    """What the rests of each hour are reckoned from, for who begins.

    Args:
        read_at: what should be read in the middle of an hour.
        around: what surrounds the work.
        rest_place: climate where rests are taken; None: where the work is.
        acclimatized: True judges by the REL, False by the RAL.
    """
    told: dict[int, Air | None] = {}

    def air_at(at_us: Instant) -> Air | None:
        hour = at_us // HOUR_US
        if hour not in told:
            middle_us = Instant(hour * HOUR_US + HOUR_US // 2)
            told[hour] = air_of(read_at(middle_us), around, middle_us, rest_place)
        return told[hour]

    return HeatAhead(air_at, acclimatized)


def cooler(
    shift: Shift,
    jobs: Mapping[str, Job],
    now_us: Instant,
    rest_place: ev.ReadingTaken | None = None,
    before: Shift | None = None,
) -> tuple[float, HeatAhead] | None:
    """The same with rests at 26 C and 50 %, and that temperature; None without a reading, or where
    rests are taken in the cool already.
    """
    settled = None if rest_place is None else rest_place.air_c
    assert _COOL.air_c is not None
    if settled is not None and settled <= _COOL.air_c:
        return None
    found = heat_expected(shift, jobs, now_us, _COOL, before)
    return None if found is None else (_COOL.air_c, found)


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
    # What an estimate may be short of calls a rest sooner on Run, and so it does here.
    estimated = here.wbgt_from == "estimate"
    return Air(
        wbgt_c=here.wbgt_c,
        rest_wbgt_c=rest_c,
        adjusted_f=here.adjusted_f,
        index_f=here.trigger_f,
        off_table=here.off_table,
        guard_c=here.guard_c,
        guard_f=GUARD_F if estimated else 0.0,
    )


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
