"""How much longer this may go on, how long the rest must be then, and which rule says so.

The law is the hour's budget (`engine.body.budget`), fed with the account of the shift, the air of
its readings and the plan ahead. Every figure is a screening estimate: symptoms override every
number, local rules and a WBGT meter come first, and without a valid reading there is no verdict
at all, only the rest that was last called for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.budget import (
    Ahead,
    Air,
    Budget,
    HourRule,
    PlannedWork,
    RestGrade,
    budget,
    steady_minutes,
)
from cartclock.engine.body.climate import OPEN_SKY, Around, Climate, climate
from cartclock.engine.body.exposure import (
    Load,
    climates,
    effort_of,
    in_force,
    is_harder,
    limit_of,
    loads,
)
from cartclock.engine.body.outlook import air_ahead
from cartclock.engine.body.stretch import (
    LEAST_REST_US,
    LEAST_WORK_MINUTES,
    TWO_HOURS_US,
    Stretch,
    since_off,
)
from cartclock.engine.body.surroundings import SUN_STEP_US, Surroundings
from cartclock.engine.dates import age_said
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Free, Hands, Other, Shift
from cartclock.engine.figures import heat
from cartclock.engine.figures.body import DRINK_FROM_F
from cartclock.engine.figures.limits import HOUR_MINUTES
from cartclock.engine.hours.partition import Piece
from cartclock.engine.plan.plan import Effort, Rhythm
from cartclock.engine.times import Instant, Length
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
RULES: dict[HourRule, PaceRule] = {
    "": "",
    "limit": "NIOSH limit",
    "table": "NIOSH table",
    "two hours": "15 min in 2 h at heat index 90 F",
    "hour": "an hour without a break",
}
"""The rules of the hour as they stand in a log."""

# A cooler place to compare with: what a shop with the door shut to the sun can offer.
COOL_AIR_C, COOL_RH = 26.0, 50.0
# How long a verdict is told that moves with every moment: in a break the work that will come
# after it, and once a rest is due how long it must be by then.
MOVING_US = 10 * SECOND_US
# While no rest is due, what is ahead is told for so long; as work goes on as planned its end
# stands still.
STEADY_US = MINUTE_US

# A piece that ends so soon after what is left is said to end before the rest; our own judgement.
OUTLASTS_S = 5 * 60

NO_LENGTH = Length(0)
# Of work, the hardest first.
_CLASSES: tuple[Effort, ...] = ("heavy", "moderate", "light")


class Pace(Struct, frozen=True):
    """The verdict of one moment.

    Fields:
        band: clear, caution or over; "" if there is no verdict.
        why_none: why not, as a sentence; "" with a verdict.
        climate: the newest reading with its figures; None if there never was one.
        age_s: its age in seconds.
        effort: class of what is in hand.
        left_s: seconds of the work ahead before a rest is due; None: not within the next hour.
        rest_s: seconds of rest then; 0 with `left_s` None, and where no rest would help.
        grade: how it is called, as in `budget.Budget`.
        rule: which rule asks for so long a rest, as `budget.Budget.rest_rule`.
        limit_c: the limit at this effort.
        here_minutes, cool_minutes: work minutes an hour of what is ahead, resting where rests are
            taken, and in a cooler place; None without WBGT.
        light_minutes: the same of light work, resting where rests are taken.
        rest_is_hotter: True if the rest place is hotter than the work place.
        outside_table: True if the NIOSH table was read beyond its humidities.
        judged_by: the newest reading with a WBGT, on which the figures rest; with no verdict
            they are those that were last called for. None if there never was one.
        ahead: class of the work that the figures are of; moderate without any.
        eases_to: the hardest class below it of which there is work time here where there is none
            of it; None: none, or there is.
        eased: work of that class that can be taken up, in few words; "" if none is known.
        eased_s: seconds of it before a rest is due; None: not within the next hour.
        named: that work in few words, "cut roof"; "" if it is not known or a wait.
        between: True if no piece of the plan is in hand.
        meal: True if the meal ahead stands for the rest that only the clock would call.
        outlasts_s: by how many seconds what is in hand goes on past what is left, as planned; 0 if
            it does not.
        rest_until_us: in a break until when it has to last by the verdict; None: it is long enough,
            or no rest would help.
        bought_s: seconds of the work ahead that the rest buys; 0 if that is not known.
        at_it_from_us: when the last break of at least five minutes was over, or the shift began.
        hour_at_it: True if it was an hour since hands were last off, where no rule calls a rest.
    """

    band: Literal["", "clear", "caution", "over"]
    why_none: str
    climate: Climate | None
    age_s: int
    effort: Effort
    left_s: int | None
    rest_s: int
    grade: RestGrade
    rule: PaceRule
    limit_c: float | None
    here_minutes: float | None
    cool_minutes: float | None
    light_minutes: float | None = None
    rest_is_hotter: bool = False
    outside_table: bool = False
    judged_by: Climate | None = None
    ahead: Effort = "moderate"
    hour_at_it: bool = False
    outlasts_s: int = 0
    meal: bool = False
    between: bool = False
    named: str = ""
    eases_to: Effort | None = None
    eased: str = ""
    eased_s: int | None = None
    rest_until_us: Instant | None = None
    bought_s: int = 0
    at_it_from_us: Instant = Instant(0)

    @property
    def rest_minutes(self) -> int:
        """The rest in whole minutes, rounded up."""
        return -(-self.rest_s // 60)

    @property
    def in_the_piece(self) -> bool:
        """True if the rest comes in minutes, long before what is in hand is done as planned."""
        near = self.left_s is None or self.left_s < 60
        return self.grade == "soon" and not near and self.outlasts_s > OUTLASTS_S

    @property
    def no_work_time(self) -> bool:
        """True if no rest here would make work of it: a cooler place or a cooler hour."""
        return self.grade == "not here" or (
            self.grade in ("now", "film") and self.left_s == 0 and not self.rest_s
        )

    @property
    def buys_none(self) -> bool:
        """True if a rest is called for that buys no work of what is ahead, now or after the
        piece.
        """
        return self.grade in ("soon", "now", "not here") and not self.rest_s

    @property
    def resting_due(self) -> bool:
        """True if a rest is called for, whatever keeps it back."""
        return bool(self.grade)


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
    ahead: Ahead | None = None,
) -> Pace:
    """The verdict at `now_us` on what is ahead.

    While work goes on its end stands still, so the seconds left go on by themselves and the rest
    of the verdict is told for a minute. In a break, and while a rest is called, it is told for
    ten seconds.

    Args:
        acclimatized: True judges by the REL, False by the RAL.
        rest_place: climate where rests are taken; None: in place, outdoors in the shade.
        rhythm: the plan's own work and rest times; None if it has none.
        ahead: what is planned; None: what is in hand goes on.
    """
    found = [c for c in climates(shift) if c.at_us <= now_us]
    newest = found[-1] if found else None
    known = next((c for c in reversed(found) if c.wbgt_c is not None), None)
    effort = effort_now(shift, jobs)
    # A break is judged by what goes on after it, which is light where nothing is planned.
    going_on: Effort = "light" if effort == "rest" else effort
    plain_us = Instant(bare(now_us))
    plan = ahead or Ahead((PlannedWork(TWO_HOURS_US, going_on),), NO_LENGTH, NO_LENGTH)
    plan = replace(plan, film=film_in_play(jobs.values(), now_us))
    if plan.pieces:
        going_on = plan.pieces[0].effort
    past = loads(shift, jobs, plain_us, rest_place, Instant(plain_us - 3 * HOUR_US))
    age_s = 0 if newest is None else (now_us - newest.at_us) // SECOND_US
    why = _why_none(newest, in_force(found, now_us), age_s)
    own = _rhythm_left(past, plain_us, rhythm)
    around = Surroundings(shift)
    air = None if known is None else air_ahead(found, known, around, plain_us, rest_place)
    if known is None or air is None:
        judged, figures = _resting(own, rhythm, plan), None
    else:
        judged = budget(
            stretches(past, air),
            plan,
            air,
            acclimatized,
            stood_by_us(past, plain_us),
            _was_not_here(shift),
            resting=isinstance(shift.doing, Break),
            fresh_us=_fresh_us(past),
        )
        judged = _with_rhythm(judged, own, rhythm, plan)
        figures = air
    hold_us = _hold_us(judged, plan, effort, figures)
    if hold_us is not None:
        if known is not None and known.reading.place in OPEN_SKY:
            hold_us = min(hold_us, SUN_STEP_US - plain_us % SUN_STEP_US)
        holds(now_us, max(1, hold_us))
    at_it_us = _at_it_us(past, air, plain_us)
    if at_it_us is not None:
        holds(now_us, _at_it_turns_us(past, at_it_us))
    left_s: int | None = None
    if judged.left_us is not None:
        left_s = judged.left_us // SECOND_US
        if isinstance(shift.doing, Hands) and judged.left_us > 0:
            # Work goes on: its end stands still, and what is left of it falls with the time.
            left_s = (plain_us + judged.left_us - now_us) // SECOND_US
    limit = None
    band: Literal["", "clear", "caution", "over"] = ""
    cool = None
    if figures is not None:
        limit = limit_of(acclimatized)(heat.class_watts(going_on))
        band = "" if why else heat.limit_verdict(limit - figures.wbgt_c, acclimatized)
        cool = steady_minutes(plan, _in_the_cool(figures, known), acclimatized)
    told = Pace(
        band=band,
        why_none=why,
        climate=newest,
        age_s=age_s,
        effort=effort,
        left_s=left_s,
        rest_s=judged.rest_us // SECOND_US,
        grade=judged.grade,
        rule="the plan's own rhythm"
        if judged.rule == "" and judged.left_us is not None
        else RULES[judged.rest_rule],
        limit_c=limit,
        here_minutes=None if figures is None else judged.work_minutes,
        cool_minutes=cool,
        light_minutes=None if figures is None else judged.light_minutes,
        rest_is_hotter=figures is not None and figures.rest_wbgt_c > figures.wbgt_c,
        outside_table=known is not None and figures is not None and known.outside_table,
        judged_by=known if figures is not None else None,
        ahead="moderate" if judged.left_us is None and figures is None else going_on,
        hour_at_it=at_it_us is not None and at_it_us >= HOUR_US,
        outlasts_s=_outlasts_us(judged, plan) // SECOND_US,
        meal=judged.meal,
        between=not isinstance(shift.doing, Hands),
        # What is not judged is told until something is pressed, and the plan goes on meanwhile.
        named="" if judged.left_us is None and figures is None else plan.named,
        rest_until_us=_rest_until_us(shift, judged, plain_us),
        bought_s=judged.bought_us // SECOND_US,
        at_it_from_us=_at_it_from_us(shift),
    )
    if figures is None or not told.buys_none or figures.off_table:
        return told
    return replace(told, eases_to=_eases_to(plan, figures, acclimatized))


def _rest_until_us(shift: Shift, judged: Budget, now_us: Instant) -> Instant | None:
    # Any five minutes end an hour without a break, however long the rest that it calls.
    calls = judged.grade in ("soon", "now") and judged.rule != "hour"
    asks = isinstance(shift.doing, Break) and calls and judged.rest_us > 0
    return Instant(now_us + judged.rest_us) if asks else None


def _at_it_from_us(shift: Shift) -> Instant:
    rests = (
        span.end_us
        for span in reversed(shift.spans)
        if isinstance(span.doing, Break) and span.end_us - span.start_us >= LEAST_REST_US
    )
    return next(rests, shift.on_us)


def _eases_to(plan: Ahead, air: Air, acclimatized: bool) -> Effort | None:
    """The hardest class below the hardest of the plan that has work time in this air."""
    efforts = [piece.effort for piece in plan.pieces]
    for effort in _CLASSES:
        only = Ahead((PlannedWork(TWO_HOURS_US, effort),), NO_LENGTH, NO_LENGTH)
        lower = any(is_harder(one, effort) for one in efforts)
        if lower and steady_minutes(only, air, acclimatized) >= LEAST_WORK_MINUTES:
            return effort
    return None


def _outlasts_us(judged: Budget, plan: Ahead) -> int:
    return 0 if judged.left_us is None else max(0, plan.in_hand_us - judged.left_us)


def _why_none(newest: Climate | None, holds: Climate | None, age_s: int) -> str:
    """Why there is no verdict, as a sentence; "" if there is one."""
    if newest is None:
        return "Heat and gate unknown: R enters a reading."
    if newest.wbgt_c is None:
        return "The reading lacks air or humidity, or cannot be: no verdict."
    return "" if holds is not None else f"The reading is {age_said(age_s // 60)} old: no verdict."


def _resting(own_s: int | None, rhythm: Rhythm | None, plan: Ahead) -> Budget:
    """Without an air only the plan's own rhythm speaks."""
    return _with_rhythm(
        Budget(None, NO_LENGTH, "", "", "", HOUR_MINUTES, HOUR_MINUTES), own_s, rhythm, plan
    )


def _with_rhythm(judged: Budget, own_s: int | None, rhythm: Rhythm | None, plan: Ahead) -> Budget:
    """The plan's own rhythm speaks where it comes first; it is never more than a call to come."""
    if own_s is None or rhythm is None or judged.grade in ("now", "not here"):
        return judged
    own_us = own_s * SECOND_US
    if judged.left_us is not None and judged.left_us <= own_us:
        return judged
    grade: RestGrade = ("film" if plan.film else "soon") if own_us <= 0 else judged.grade
    return replace(
        judged,
        left_us=Length(own_us),
        rest_us=Length(rhythm.rest_s * SECOND_US),
        bought_us=Length(rhythm.work_s * SECOND_US),
        rule="",
        rest_rule="",
        grade=grade,
    )


def stretches(past: Sequence[Load], air: Air) -> list[Stretch]:
    """The account as the budget weighs it.

    A stretch without a reading, before the first one or after a stale one, is judged by the
    newest, `air`: nobody knows better, and what was worked then must not count as a rest.
    """
    made = []
    for load in past:
        wbgt_c = load.wbgt_c
        if wbgt_c is None:
            wbgt_c = air.rest_wbgt_c if load.resting else air.wbgt_c
        adjusted_f = air.adjusted_f if load.climate is None else load.climate.adjusted_f
        effort: Effort = "rest" if load.resting else load.effort
        made.append(Stretch(Length(load.end_us - load.start_us), effort, wbgt_c, adjusted_f))
    return made


def stood_by_us(past: Sequence[Load], now_us: Instant) -> int | None:
    """Time since hands were off for five minutes with nothing in them; None if they were not.

    past: in order, up to `now_us`.
    """
    off_us: int | None = None
    since_us: int | None = None
    for load in past:
        if not (load.idle or load.resting):
            since_us = None
            continue
        since_us = load.start_us if since_us is None else since_us
        if load.end_us - since_us >= LEAST_REST_US:
            off_us = load.end_us
    return None if off_us is None else now_us - off_us


def _fresh_us(past: Sequence[Load]) -> int:
    """Time stood about at the end of what was done, behind a rest or before anything else; 0 behind
    work.
    """
    stood_us = rested_us = 0
    for load in reversed(past):
        length_us = load.end_us - load.start_us
        if load.idle and not rested_us:
            stood_us += length_us
        elif load.resting:
            rested_us += length_us
        else:
            # A rest too short to count is none.
            return stood_us if rested_us >= LEAST_REST_US else 0
    return stood_us


def _at_it_us(past: Sequence[Load], air: Air | None, now_us: Instant) -> int | None:
    """Time since hands were last off, at most two hours; None where it is not warm enough to
    drink.
    """
    if air is None or air.index_f is None or air.index_f < DRINK_FROM_F or not past:
        return None
    stood_us = stood_by_us(past, now_us)
    since_us = since_off(stretches(past, air))
    return since_us if stood_us is None else min(since_us, stood_us)


def _at_it_turns_us(past: Sequence[Load], at_it_us: int) -> int:
    """After so long the hour without hands off may be full, or hands may have been off."""
    worked = (load for load in reversed(past) if not (load.idle or load.resting))
    off_us = past[-1].end_us - next((load.end_us for load in worked), past[0].start_us)
    return min(left for left in (HOUR_US - at_it_us, LEAST_REST_US - off_us, HOUR_US) if left > 0)


def _was_not_here(shift: Shift) -> bool:
    """True while "no work time here" stands as it was called: until a rest after it is over."""
    calls = [row for row in shift.facts if isinstance(row.event, ev.RestCalled)]
    if not calls:
        return False
    call = max(calls, key=lambda row: row.at_us)
    assert isinstance(call.event, ev.RestCalled)
    ended = any(isinstance(s.doing, Break) and s.end_us > call.at_us for s in shift.spans)
    return call.event.grade == "not here" and not ended


def _in_the_cool(air: Air, known: Climate | None) -> Air:
    """The same air with rests taken in a cooler place."""
    worn = Around(clothing_c=0.0 if known is None else known.clothing_c)
    cool = climate(Instant(0), ev.ReadingTaken(air_c=COOL_AIR_C, rh=COOL_RH), worn)
    if cool.wbgt_c is None:
        return air
    return replace(air, rest_wbgt_c=min(cool.wbgt_c, air.rest_wbgt_c))


def _hold_us(judged: Budget, plan: Ahead, effort: Effort, air: Air | None) -> int | None:
    """How long the verdict may be told, but for the seconds left, which go on by themselves.

    None: until something is pressed.
    """
    if air is None and judged.left_us is None:
        return None
    # What is ahead can shrink faster than time goes by, never twice as fast: windows of the plan
    # move, and what takes longer than planned is always nearly done.
    marks = [MOVING_US if effort == "rest" or judged.grade or plan.overrun else STEADY_US]
    # What comes first is over then, in hand or waited for.
    marks += [piece.length_us for piece in plan.pieces[:1]]
    marks += [mark for mark in (plan.in_hand_us, plan.meal_us) if mark]
    if judged.left_us is not None:
        # It is called where the next piece no longer fits, and when nothing is left.
        marks += [judged.left_us // 2, (judged.left_us - plan.in_hand_us - plan.next_us) // 2]
    return min(mark for mark in marks if mark > 0)


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
    least_rest_s = min(LEAST_REST_US // SECOND_US, rhythm.rest_s)
    return max(0, rhythm.work_s - _since_rest_s(past, now_us, least_rest_s))
