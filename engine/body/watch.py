"""What watches over the worker: rest, water, signs of life, vibration and noise, in words.

Every verdict carries its caution. "Screening estimate" stands where a figure stands; without
a reading there is none. Nothing here calls anybody.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.acclimatization import Held, held
from cartclock.engine.body.budget import Ahead
from cartclock.engine.body.climate import Climate
from cartclock.engine.body.pace import COOL_AIR_C, Pace, pace
from cartclock.engine.body.signs import NEVER_CALLS, CheckIn, check_in
from cartclock.engine.body.strain import Strain, sentences, strain, vibration_text
from cartclock.engine.body.stretch import LEAST_WORK_MINUTES
from cartclock.engine.body.water import REMIND_US, Water, hot_since, water
from cartclock.engine.dates import age_said, clock_text
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Hands, Other, Shift
from cartclock.engine.facts.shift_events import CallGrade
from cartclock.engine.figures.air import TemperatureUnit, celsius, in_unit
from cartclock.engine.figures.limits import HOUR_MINUTES
from cartclock.engine.plan.plan import Rhythm
from cartclock.engine.times import Instant
from cartclock.engine.until import bare, holds

# How long an overruled rest is let alone before it is called again; the second is of one that was
# called before the next piece. Our own judgement.
AGAIN_US = 15 * MINUTE_US
SOON_AGAIN_US = 30 * MINUTE_US
# The rest of somebody who named a sign of being unwell, at least. Our own judgement.
UNWELL_REST_S = 30 * 60
# Until when a sign that was named is spoken of. Our own judgement.
UNWELL_US = 2 * HOUR_US

# How long the figures of a tool in hand are told before they are reckoned anew.
STRAIN_US = 10 * SECOND_US

# A cooler place is named where it buys so many minutes of the hour. Our own judgement.
WORTH_SAYING_MINUTES = 20

# What a line of the screen has room for.
LINE_COLUMNS = 78

SHORT_CAUTION = "Screening estimate; symptoms, medical advice and local codes come first."

RestState = Literal["none", "due", "called", "after the piece", "after the film", "overruled"]

_HARDER: dict[str, int] = {"soon": 0, "now": 1, "not here": 2}


class Watch(Struct, frozen=True):
    """How the worker fares at one moment.

    Fields:
        pace: minutes left and rest.
        rest: due (nothing told yet), called (it stands on the screen), after the piece (before
            the next one is begun), after the film (one is in play), overruled (not long ago), or
            none.
        called_us: when the rest that is called was told; None if none is.
        water: drinks.
        check_in: the lone worker's "I am well".
        held: which limit holds and why.
        hot: True if the newest reading calls for drinks.
        strain: vibration and noise so far.
        unwell: the signs named last, with their age in microseconds; None if long ago.
        reading_wanted: why a new reading should be taken now; "" if none need be.
    """

    pace: Pace
    rest: RestState
    called_us: Instant | None
    water: Water
    check_in: CheckIn
    held: Held
    hot: bool
    strain: Strain
    unwell: tuple[tuple[str, ...], int] | None
    reading_wanted: str

    @property
    def rest_now(self) -> bool:
        """True if the screen says that a rest is to be taken now."""
        return self.rest in ("due", "called")

    @property
    def call(self) -> ev.RestCalled | None:
        """What is told of the rest, as it stands in the log; None if none is called."""
        if self.pace.grade not in ("soon", "now", "not here"):
            return None
        # Nothing here buys work where there is no work time, so no length is called for.
        none = self.pace.no_work_time or not self.pace.rest_s
        grade: CallGrade = "not here" if none else self.pace.grade
        return ev.RestCalled(self.pace.rule, self.pace.rest_s, grade)

    @property
    def rest_next(self) -> bool:
        """True if the large key takes a rest: now, or when what is in hand is finished."""
        return self.rest_now or self.rest == "after the piece"

    @property
    def drink_rings(self) -> bool:
        """True while a drink is due that was not told with a rest: the two ring once."""
        due_us = self.water.due_us
        if due_us is None or not self.water.due or self.water.with_rest:
            return False
        told_us = self.called_us
        return not self.rest_now or (told_us is not None and due_us >= told_us + REMIND_US)

    @property
    def heat_judged(self) -> bool:
        """True where a verdict on heat stands that is more than clear, or drinks are called."""
        return self.hot or self.pace.left_s is not None or self.pace.band in ("caution", "over")


def watch(
    shift: Shift,
    jobs: Mapping[str, Job],
    now_us: Instant,
    rest_place: ev.ReadingTaken | None = None,
    ahead: Ahead | None = None,
) -> Watch:
    """The state of a shift that is on; while a tool is in hand its figures grow with every moment
    and are told for ten seconds.

    Args:
        rest_place: climate where rests are taken; None: in place, outdoors in the shade.
        ahead: what is planned; None: what is in hand goes on.
    """
    told = held(shift)
    found = pace(shift, jobs, now_us, told.acclimatized, rest_place, _rhythm(shift, jobs), ahead)
    unwell = _unwell(shift, now_us)
    if unwell_unrested(shift, now_us):
        # Symptoms override every number.
        rest_s = max(found.rest_s, UNWELL_REST_S)
        found = replace(
            found, left_s=0, rest_s=rest_s, grade="now", rule="you do not feel well", bought_s=0
        )
    hot_us = hot_since(shift, now_us, told.acclimatized)
    rest = _rest(shift, now_us, found)
    strained = strain(shift, jobs, Instant(bare(now_us)))
    if strained.in_hand is not None:
        holds(now_us, STRAIN_US)
    return Watch(
        pace=found,
        rest=rest,
        called_us=newest_fact_us(shift, ev.RestCalled) if rest == "called" else None,
        water=water(shift, now_us, hot_us),
        check_in=check_in(shift, now_us),
        held=told,
        hot=hot_us is not None,
        strain=strained,
        unwell=unwell,
        reading_wanted=_reading_wanted(shift),
    )


def _rhythm(shift: Shift, jobs: Mapping[str, Job]) -> Rhythm | None:
    """The rhythm of the job worked last in this shift."""
    for job_id in reversed(shift.jobs):
        job = jobs.get(job_id)
        if job is not None:
            return job.opened.plan.rhythm
    return None


def _unwell(shift: Shift, now_us: Instant) -> tuple[tuple[str, ...], int] | None:
    found = [row for row in shift.facts if isinstance(row.event, ev.FeltUnwell)]
    if not found or now_us - found[-1].at_us >= UNWELL_US:
        return None
    event = found[-1].event
    assert isinstance(event, ev.FeltUnwell)
    return event.signs, now_us - found[-1].at_us


def unwell_unrested(shift: Shift, now_us: Instant) -> bool:
    """True from a sign of being unwell until a break after it is over, at most for two hours."""
    unwell = _unwell(shift, now_us)
    return unwell is not None and not _rested_since(shift, now_us - unwell[1])


def _rested_since(shift: Shift, since_us: int) -> bool:
    """True if a break was taken and ended after that time."""
    return any(isinstance(span.doing, Break) and span.end_us > since_us for span in shift.spans)


def _reading_wanted(shift: Shift) -> str:
    """A new reading is offered after a break and after the car was moved.

    Without any reading the verdict itself asks for one.
    """
    if isinstance(shift.doing, Break):
        return ""
    read_us = newest_fact_us(shift, ev.ReadingTaken)
    if read_us is None:
        return ""
    for span in reversed(shift.spans):
        if span.end_us < read_us:
            break
        if isinstance(span.doing, Break) and span.start_us >= read_us:
            return "R enters a reading: the last one is from before the break."
        if isinstance(span.doing, Other) and span.doing.what == "moving the car":
            return "R enters a reading: the car was moved since the last one."
    return ""


def _rest(shift: Shift, now_us: Instant, found: Pace) -> RestState:
    if not found.grade or isinstance(shift.doing, Break):
        return "none"
    # Being unwell comes before any film.
    if found.grade == "film":
        return "after the film"
    overruled = newest_fact_us(shift, ev.RestOverruled)
    if overruled is not None and now_us - overruled < _let_alone_us(shift, overruled, found):
        return "overruled"
    if found.grade == "soon" and isinstance(shift.doing, Hands):
        return "after the piece"
    return "called" if rest_told(shift, found.grade) else "due"


def _let_alone_us(shift: Shift, overruled_us: Instant, found: Pace) -> int:
    """How long a rest that was put off is let alone; one before a piece not once it is due now."""
    before = [
        row.event.grade
        for row in shift.facts
        if isinstance(row.event, ev.RestCalled) and row.at_us <= overruled_us
    ]
    if not before or before[-1] != "soon":
        return AGAIN_US
    return SOON_AGAIN_US if found.grade == "soon" else 0


def newest_fact_us(shift: Shift, kind: type[Struct]) -> Instant | None:
    """Job time of the newest fact of a kind; None if there is none."""
    found = [row.at_us for row in shift.facts if isinstance(row.event, kind)]
    return max(found, default=None)


def rest_told(shift: Shift, grade: str = "now") -> bool:
    """True if a rest was called in this grade or a harder one since the last break and was not
    overruled since."""
    since_us = max((s.end_us for s in shift.spans if isinstance(s.doing, Break)), default=0)
    overruled_us = newest_fact_us(shift, ev.RestOverruled)
    return any(
        row.at_us >= since_us
        and (overruled_us is None or row.at_us > overruled_us)
        and _HARDER[row.event.grade] >= _HARDER[grade]
        for row in shift.facts
        if isinstance(row.event, ev.RestCalled)
    )


def drink_text(found: Water) -> str:
    """When the next drink is due; "" if it is not hot."""
    if found.due_in_s is None:
        return ""
    if found.due:
        return "drink now"
    return f"drink in {-(-found.due_in_s // 60)} min"


def degrees(value_c: float, unit: TemperatureUnit, places: int = 1) -> str:
    """A temperature in the worker's unit."""
    return f"{in_unit(value_c, unit):.{places}f} {unit}"


def climate_lines(found: Watch, unit: TemperatureUnit = "C") -> tuple[str, ...]:
    """WBGT and heat index with their classes, what a cooler place buys, the tool in hand.

    Each line fits 78 columns; none without a reading and without a tool.
    """
    lines = []
    one = found.pace.climate
    if one is not None:
        parts = []
        if one.wbgt_c is not None:
            by = "estimate" if one.wbgt_from == "estimate" else f"by {one.wbgt_from}"
            band = f", {found.pace.band}" if found.pace.band else ""
            parts.append(f"WBGT {degrees(one.wbgt_c, unit)} {by}{band}")
        parts.append(index_text(one, unit))
        figures = "   ".join(part for part in parts if part)
        lines.append(figures or _missing_text(one, unit))
        age = [f"screening estimate, {age_said(found.pace.age_s // 60)} old"] if figures else []
        under = [*_cooler(found.pace, unit), *age]
        both = "   ".join(under)
        lines += under if len(both) > LINE_COLUMNS else [both] if under else []
    return (*lines, *_tool_line(found.strain))


def _cooler(found: Pace, unit: TemperatureUnit) -> list[str]:
    if found.here_minutes is None or found.cool_minutes is None or found.why_none:
        return []
    here, cool = int(found.here_minutes), int(found.cool_minutes)
    if here >= HOUR_MINUTES:
        return []
    at = degrees(COOL_AIR_C, unit, 0)
    if found.no_work_time:
        if found.climate is not None and found.climate.off_table:
            # Beyond the table nothing is offered.
            return []
        # What helps, never a rhythm that nobody can work by.
        light = int(found.light_minutes or 0)
        said = [f"light work {light} min an hour"] if light >= LEAST_WORK_MINUTES else []
        if cool >= WORTH_SAYING_MINUTES:
            said.append(f"this work {cool} min, resting at {at}")
        return ["; ".join(said)] if said else []
    # While a rest is called the minutes of the hour are those that come after it.
    said_here = f"{'then ' if found.grade else ''}{here} min work an hour"
    return [f"{said_here}, {cool} resting at {at}" if cool > here else said_here]


def _tool_line(found: Strain) -> list[str]:
    """Vibration and noise so far while a tool is in hand."""
    tool = found.tool_now
    said = []
    if found.points is not None:
        said.append(f"vibration: {vibration_text(found)}")
    if found.dose_percent is not None:
        said.append(f"noise: {found.dose_percent:.0f} % of a day")
    return [f"{tool.name[:30]}, {', '.join(said)}"] if tool is not None and said else []


def _missing_text(one: Climate, unit: TemperatureUnit) -> str:
    """What a reading without any figure lacks, beside what it has."""
    air_c, rh = one.reading.air_c, one.reading.rh
    if air_c is not None and rh is None:
        return f"air {degrees(air_c, unit)}, humidity missing: no figure without it (R)"
    if rh is not None and air_c is None:
        return f"humidity {rh:g} %, air missing: no figure without it (R)"
    return "the reading has no figure"


def index_text(one: Climate, unit: TemperatureUnit = "C") -> str:
    """The heat index in words; "" if there is none."""
    if one.off_table:
        return "heat index off the table: extreme danger"
    if one.index_f is None:
        return ""
    least = "at least " if one.at_least else ""
    name = "" if one.index_bin == "none" else f", {one.index_bin}"
    index = degrees(celsius(one.index_f), unit, 0)
    return f"heat index {least}{index}{name}"


def body_notices(found: Watch, films: Sequence[str]) -> tuple[str, ...]:
    """What presses about the body, the most urgent first.

    Args:
        films: sections with a film in play, for the rest that waits for them.
    """
    said = []
    if found.unwell is not None:
        signs, age_us = found.unwell
        ago = age_said(age_us // MINUTE_US)
        said.append(
            f"{', '.join(signs).capitalize()}, {ago} ago: if it gets worse or does not pass, call "
            "the emergency number. Do not stay alone."
        )
    if found.check_in.overdue:
        late = clock_text(found.check_in.overdue_s)
        said.append(f"I am well (J): due {late} ago. {NEVER_CALLS}")
    if found.rest == "after the film":
        rest = found.pace.rest_minutes
        done = "A rest" if not rest else f"{rest} min of rest"
        said.append(f"{done} as soon as the film is done: {', '.join(films[:3])}. Lay no new one.")
    if found.rest == "overruled":
        said.append("A rest is due and was put off; it will be called again.")
    if found.water.sentence:
        said.append(found.water.sentence)
    if found.pace.rest_is_hotter:
        said.append("The place to rest is hotter than the work; fewer minutes may be no relief.")
    said += sentences(found.strain)
    return tuple(said)


def body_remarks(found: Watch) -> tuple[str, ...]:
    """What is to be said about the body when nothing presses, the cautions among it."""
    said = []
    if found.reading_wanted:
        said.append(found.reading_wanted)
    if found.pace.outside_table:
        said.append("The humidity is outside the NIOSH table; its last row was read.")
    if found.heat_judged:
        said.append(SHORT_CAUTION)
        if found.held.because:
            said.append(found.held.because)
    return tuple(said)
