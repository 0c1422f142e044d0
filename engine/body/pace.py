"""How much longer this may go on, how long the rest must be then, and which rule says so.

The smaller work time wins. Every figure is a screening estimate: symptoms override every
number, local rules and a WBGT meter come first, and without a valid reading there is no
verdict at all, only the rest that was last called for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.body.climate import Climate, climate
from cartclock.engine.body.exposure import (
    Load,
    climates,
    effort_of,
    first_over,
    first_within,
    in_force,
    limit_of,
    loads,
)
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Free, Hands, Other, Shift
from cartclock.engine.figures import heat
from cartclock.engine.figures.limits import HOUR_MINUTES
from cartclock.engine.hours.partition import Piece
from cartclock.engine.plan.plan import Effort, Rhythm
from cartclock.engine.times import Instant
from cartclock.engine.until import bare, holds

PaceRule = Literal[
    "",
    "NIOSH limit",
    "NIOSH table",
    "15 min in 2 h at heat index 90 F",
    "an hour without a break",
    "the plan's own rhythm",
    "you do not feel well",
]

_NO_RULE: PaceRule = ""

# Reference triggers only: 89 FR 70698 was a proposal when last seen, read second-hand; it
# names a heat index of 80 F for water and shade and of 90 F for rests.
DRINK_FROM_F = 80.0
REST_FROM_F = 90.0
REST_IN_TWO_HOURS_S = 15 * 60
# A rest after an hour of work in the heat; our own judgement.
HOUR_REST_S = 10 * 60
# A rest shorter than this is none; our own judgement, after 29 CFR 785.18 (5 to 20 minutes).
LEAST_REST_S = 5 * 60
# A cooler place to compare with: what a shop with the door shut to the sun can offer.
COOL_AIR_C, COOL_RH = 26.0, 50.0
# How long a verdict is told that moves with every moment: in a break the work that will come
# after it, and once a rest is due how long it must be by then.
MOVING_US = 10 * SECOND_US


class Pace(Struct, frozen=True):
    """The verdict of one moment.

    Fields:
        band: clear, caution or over; "" if there is no verdict.
        why_none: why not, as a sentence; "" with a verdict.
        climate: the newest reading with its figures; None if there never was one.
        age_s: its age in seconds.
        effort: class of what is in hand.
        left_s: seconds of this work before a rest is due; None: not within the next hour.
        rest_s: seconds of rest then; 0 with `left_s` None.
        no_work_time: True if even the resting limit is passed: rest somewhere cooler.
        rule: which rule speaks.
        limit_c: the limit at this effort.
        here_minutes, cool_minutes: work minutes an hour resting where rests are taken, and in
            a cooler place; None without WBGT.
        rest_is_hotter: True if the rest place is hotter than the work place.
        outside_table: True if the NIOSH table was read beyond its humidities.
        judged_by: the newest reading with a WBGT, on which the figures rest; with no verdict
            they are those that were last called for. None if there never was one.
    """

    band: Literal["", "clear", "caution", "over"]
    why_none: str
    climate: Climate | None
    age_s: int
    effort: Effort
    left_s: int | None
    rest_s: int
    no_work_time: bool
    rule: PaceRule
    limit_c: float | None
    here_minutes: float | None
    cool_minutes: float | None
    rest_is_hotter: bool = False
    outside_table: bool = False
    judged_by: Climate | None = None

    @property
    def resting_due(self) -> bool:
        """True if the rest is due now."""
        return self.left_s == 0


def effort_now(shift: Shift, jobs: Mapping[str, Job]) -> Effort:
    """Class of what is done now; light with nothing in hand."""
    match shift.doing:
        case Hands(job, stage, sections):
            return effort_of(
                Piece(Instant(0), Instant(1), "hands", job=job, stage=stage, sections=sections),
                jobs,
            )
        case Other(what):
            return effort_of(Piece(Instant(0), Instant(1), "other", what=what), jobs)
        case Break():
            return "rest"
        case Free() | None:
            return "light"


def pace(
    shift: Shift,
    jobs: Mapping[str, Job],
    now_us: Instant,
    acclimatized: bool,
    rest_place: ev.ReadingTaken | None = None,
    rhythm: Rhythm | None = None,
) -> Pace:
    """The verdict for what is in hand at `now_us`.

    While work goes on its end stands still, so the verdict tells by itself when it is another.
    In a break, and while a rest is due, it is another with every moment and is told for ten
    seconds.

    Args:
        acclimatized: True judges by the REL, False by the RAL.
        rest_place: climate where rests are taken; None: where the work is.
        rhythm: the plan's own work and rest times; None if it has none.
    """
    found = [c for c in climates(shift) if c.at_us <= now_us]
    newest = found[-1] if found else None
    known = next((c for c in reversed(found) if c.wbgt_c is not None), None)
    effort = effort_now(shift, jobs)
    # A break is judged by what goes on after it, which is moderate until it is known.
    going_on: Effort = "moderate" if effort == "rest" else effort
    plain_us = work_us = bare(now_us)
    past = loads(shift, jobs, Instant(plain_us), rest_place, plain_us - 3 * HOUR_US)
    if effort != "rest" and past and past[-1].end_us == plain_us:
        work_us = now_us
    else:
        # The work that will come after this ends the later, the later it begins.
        holds(now_us, MOVING_US)
    own = _rhythm_left(past, Instant(work_us), rhythm)
    age_s = 0 if newest is None else (now_us - newest.at_us) // SECOND_US
    why = _why_none(newest, in_force(found, now_us), age_s)
    if known is None or known.wbgt_c is None:
        return _none(why, newest, age_s, effort, own, rhythm)
    rest_wbgt_c = climate(Instant(0), rest_place or known.reading).wbgt_c
    if rest_wbgt_c is None:
        rest_wbgt_c = known.wbgt_c
    watts, rest_watts = heat.class_watts(going_on), heat.class_watts("rest")
    limit = limit_of(acclimatized)(watts)
    band = heat.limit_verdict(limit - known.wbgt_c, acclimatized)
    here = heat.work_minutes_per_hour(known.wbgt_c, rest_wbgt_c, watts, rest_watts, acclimatized)
    cooler_c = climate(Instant(0), ev.ReadingTaken(air_c=COOL_AIR_C, rh=COOL_RH)).wbgt_c
    cooler = heat.work_minutes_per_hour(
        known.wbgt_c,
        rest_wbgt_c if cooler_c is None else min(cooler_c, rest_wbgt_c),
        watts,
        rest_watts,
        acclimatized,
    )
    options = _by_limit(
        past, known.wbgt_c, rest_wbgt_c, watts, Instant(work_us), acclimatized, here
    )
    options += _by_clock(past, known, going_on, Instant(work_us), hot=band != "clear")
    if own is not None and rhythm is not None:
        options.append((own, rhythm.rest_s, "the plan's own rhythm"))
    smallest = min(options, key=lambda option: (option[0], -option[1]), default=None)
    left_s, rest_s, rule = (None, 0, _NO_RULE) if smallest is None else smallest
    return Pace(
        band="" if why else band,
        why_none=why,
        climate=newest,
        age_s=age_s,
        effort=effort,
        left_s=left_s,
        rest_s=rest_s,
        no_work_time=here <= 0.0,
        rule=rule,
        limit_c=limit,
        here_minutes=here,
        cool_minutes=cooler,
        rest_is_hotter=rest_wbgt_c > known.wbgt_c,
        outside_table=known.outside_table,
        judged_by=known,
    )


def _why_none(newest: Climate | None, holds: Climate | None, age_s: int) -> str:
    """Why there is no verdict, as a sentence; "" if there is one."""
    if newest is None:
        return "No reading yet: no verdict. R enters one."
    if newest.wbgt_c is None:
        return "The reading lacks air or humidity, or cannot be: no verdict."
    return "" if holds is not None else f"The reading is {age_s // 60} min old: no verdict."


def _none(
    why: str,
    newest: Climate | None,
    age_s: int,
    effort: Effort,
    own: int | None,
    rhythm: Rhythm | None,
) -> Pace:
    return Pace(
        band="",
        why_none=why,
        climate=newest,
        age_s=age_s,
        effort=effort,
        left_s=own,
        rest_s=0 if own is None or rhythm is None else rhythm.rest_s,
        no_work_time=False,
        rule="" if own is None else "the plan's own rhythm",
        limit_c=None,
        here_minutes=None,
        cool_minutes=None,
    )


Option = tuple[int, int, PaceRule]
"""Seconds of work left, seconds of rest then, and the rule that says so."""


def _by_limit(
    past: Sequence[Load],
    wbgt_c: float,
    rest_wbgt_c: float,
    watts: float,
    now_us: Instant,
    acclimatized: bool,
    here: float,
) -> list[Option]:
    """The NIOSH limit over the rolling hour, if it is reached within the next one.

    A stretch without a reading, before the first one or after a stale one, is judged by the
    newest: nobody knows better, and what was worked then must not count as a rest.
    """
    rest_watts = heat.class_watts("rest")
    run = [
        (
            load.start_us,
            load.end_us,
            (rest_wbgt_c if load.resting else wbgt_c) if load.wbgt_c is None else load.wbgt_c,
            load.watts,
        )
        for load in past
    ]
    # Before the shift, and after it, the body is taken to rest where rests are taken.
    first_us = run[0][0] if run else now_us
    run.insert(0, (Instant(first_us - 3 * HOUR_US), first_us, rest_wbgt_c, rest_watts))
    plain_us = bare(now_us)
    if run[-1][1] < plain_us:
        run.append((run[-1][1], Instant(plain_us), rest_wbgt_c, rest_watts))
    # One hour further than is asked, to know when the limit comes within the hour.
    ahead = (plain_us, plain_us + 2 * HOUR_US, wbgt_c, watts)
    over_us = first_over([*run, ahead], plain_us, acclimatized)
    if over_us is None:
        holds(now_us, HOUR_US)
        return []
    if over_us >= now_us + HOUR_US:
        return []
    rest_s = max(LEAST_REST_S, round((HOUR_MINUTES - here) * 60))
    if over_us <= now_us:
        resting = [*run, (plain_us, plain_us + HOUR_US, rest_wbgt_c, rest_watts)]
        within_us = first_within(resting, plain_us, acclimatized)
        enough_us = HOUR_US if within_us is None else within_us - plain_us
        rest_s = max(rest_s, math.ceil(enough_us / SECOND_US))
        holds(now_us, MOVING_US)
    return [(_seconds(math.floor(over_us) - now_us), rest_s, "NIOSH limit")]


def _by_clock(
    past: Sequence[Load], known: Climate, effort: Effort, now_us: Instant, hot: bool
) -> list[Option]:
    """What the rules that count minutes of work allow, if less than the next hour."""
    hour_s = HOUR_US // SECOND_US
    options: list[Option] = []
    if known.adjusted_f is not None:
        minutes = heat.niosh_table_minutes(known.adjusted_f, effort)
        allowed_s = 0 if minutes is None else minutes * 60
        if allowed_s < hour_s:
            left = _until(past, now_us, HOUR_US, allowed_s)
            options.append((left, max(LEAST_REST_S, hour_s - allowed_s), "NIOSH table"))
    if hot or known.hot_from(DRINK_FROM_F):
        left = max(0, hour_s - _since_rest_s(past, now_us, LEAST_REST_S))
        options.append((left, HOUR_REST_S, "an hour without a break"))
    if known.hot_from(REST_FROM_F):
        left = _until(past, now_us, 2 * HOUR_US, 2 * hour_s - REST_IN_TWO_HOURS_S)
        options.append((left, REST_IN_TWO_HOURS_S, "15 min in 2 h at heat index 90 F"))
    return [option for option in options if option[0] < hour_s]


def _seconds(length_us: int) -> int:
    return max(0, length_us // SECOND_US)


def _until(past: Sequence[Load], now_us: Instant, window_us: int, allowed_s: int) -> int:
    """Seconds of further work until the work inside the window that ends then is too much."""
    plain_us = bare(now_us)
    from_us = plain_us - window_us
    spells = [(x.start_us, x.end_us) for x in past if not x.resting and x.end_us > from_us]

    def too_much(ahead_us: int) -> bool:
        start_us = from_us + ahead_us
        found = sum(b - max(a, start_us) for a, b in spells if b > start_us)
        return (found + ahead_us) // SECOND_US > allowed_s

    if too_much(0):
        return 0
    # Work inside the window never shrinks while the work goes on, so halving finds the end.
    low, high = 0, window_us
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if too_much(middle) else (middle, high)
    return _seconds(plain_us + low - now_us)


def _since_rest_s(past: Sequence[Load], now_us: Instant, least_rest_s: int) -> int:
    """Seconds of work since the last rest of at least so many seconds."""
    begun_us = past[0].start_us if past else now_us
    rest_us = 0
    for load in past:
        if load.resting:
            rest_us += load.end_us - load.start_us
            if rest_us >= least_rest_s * SECOND_US:
                begun_us = load.end_us
        else:
            rest_us = 0
    return (now_us - begun_us) // SECOND_US


def _rhythm_left(past: Sequence[Load], now_us: Instant, rhythm: Rhythm | None) -> int | None:
    if rhythm is None:
        return None
    # A rhythm of short rests is kept by short rests.
    least_rest_s = min(LEAST_REST_S, rhythm.rest_s)
    return max(0, rhythm.work_s - _since_rest_s(past, now_us, least_rest_s))
