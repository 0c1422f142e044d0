"""What a shift's heat, rests, drinks, vibration and noise came to: the record's part of them.

One shift has one account, whatever number of jobs was worked in it. Every verdict here is a
screening estimate; without a reading there is none. Lengths are exact microseconds and add up
to the time on the clock.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.acclimatization import held
from cartclock.engine.body.climate import (
    OPEN_SKY,
    OVERCAST_BEAM,
    OVERCAST_SHARE,
    SUN_BEAM,
    SUN_SHARE,
    Climate,
    air_speed,
    climate,
)
from cartclock.engine.body.exposure import Load, Peak, climates, limit_of, loads, peak
from cartclock.engine.body.strain import Strain, strain
from cartclock.engine.body.surroundings import HOT_ROOF_C, Surroundings
from cartclock.engine.body.water import drinks, in_hour_ml
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import STALE_US, is_in_force
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Shift
from cartclock.engine.facts.shift_events import CallGrade
from cartclock.engine.facts.words import reading_text
from cartclock.engine.figures import heat
from cartclock.engine.figures.body import MOST_DRINK_ML_PER_HOUR
from cartclock.engine.figures.heat import HeatIndexBin
from cartclock.engine.figures.limits import RAL_BAND_C, REL_BAND_C, LimitVerdict
from cartclock.engine.figures.wbgt import OUTDOOR_SHADE_C
from cartclock.engine.hours.partition import Piece, partition
from cartclock.engine.times import Instant, Length

if TYPE_CHECKING:
    from cartclock.engine.body.pace import PaceRule

RECORD_CAUTION = (
    "Screening estimate, not medical advice; symptoms override every number; "
    "local rules and a WBGT meter come first."
)

NO_READING = "No reading was taken: no exposure can be said."
NO_HEAT_READING = "No reading says how hot it was: no exposure can be said."

# A rest answers a call if it begins within this time after it; our own judgement.
ANSWER_US = 15 * MINUTE_US

# The rules that ask how hot it is.
_OF_AIR: tuple[PaceRule, ...] = (
    "NIOSH limit",
    "NIOSH table",
    "15 min in 2 h at heat index 90 F",
)

# How far off what goes in may be; our own judgement.
EFFORT_OFF_PERCENT = 30
AIR_OFF_C, RH_OFF = 1, 5

_OF_TOOLS = (
    "Tools: value declared plus its uncertainty, and the level given, for the share of the "
    "time in hand in which the plan says that the tool runs; without a share, all of it."
)

# Goes up when the same log would give another figure.
HEAT_INDEX_RULES = 1
LIMIT_RULES = 2
REST_RULES = 2
VIBRATION_RULES = 1
NOISE_RULES = 1


class RuleVersion(Struct, frozen=True):
    """A set of rules by its name, and which version of it reckoned."""

    rule: str
    version: int


VERSIONS = (
    RuleVersion("heat index, US National Weather Service", HEAT_INDEX_RULES),
    RuleVersion("WBGT limits and hourly averages, NIOSH 2016-106", LIMIT_RULES),
    RuleVersion("rests called and taken", REST_RULES),
    RuleVersion("hand-arm vibration, 2002/44/EC", VIBRATION_RULES),
    RuleVersion("noise dose, NIOSH, 85 dBA and 3 dB", NOISE_RULES),
)


class IndexTime(Struct, frozen=True):
    """Time in one class of the heat index.

    Fields:
        index: class; "no index": the reading has none; "no reading": none was in force.
        at_least: True where the index reads low and the class is only a floor; nothing is
            above extreme danger, so False there.
        length_us: microseconds, > 0.
    """

    index: HeatIndexBin | Literal["no index", "no reading"]
    at_least: bool
    length_us: Length


class BandTime(Struct, frozen=True):
    """Time in one verdict band, each piece judged at its own effort.

    Fields:
        band: verdict; "no WBGT": the reading gives none; "no reading": none was in force.
        length_us: microseconds, > 0.
    """

    band: LimitVerdict | Literal["no WBGT", "no reading"]
    length_us: Length


class RestTime(Struct, frozen=True):
    """Breaks without a pause between them; `goes_on` if the last is not over yet."""

    start_us: Instant
    end_us: Instant
    what: tuple[str, ...]
    goes_on: bool = False

    @property
    def length_us(self) -> Length:
        """Length so far in microseconds."""
        return Length(self.end_us - self.start_us)


class Overrule(Struct, frozen=True):
    """A rest that was not taken, with the worker's reason."""

    at_us: Instant
    why: str


class CalledRest(Struct, frozen=True):
    """A rest that was called, and what became of it.

    Fields:
        at_us, rule, rest_s, grade: when, by which rule, how many seconds long, how urgently.
        taken: the rest that ran at the call or began within `ANSWER_US` after it.
        overruled: before a rest was taken or another was called.
        off_us: clocking off within `ANSWER_US`, without a rest before.
        waiting: True while the time to answer is not over and nothing was done yet.
    """

    at_us: Instant
    rule: str
    rest_s: int
    taken: RestTime | None
    overruled: tuple[Overrule, ...]
    off_us: Instant | None
    waiting: bool
    grade: CallGrade = "now"

    @property
    def short_us(self) -> int:
        """How much shorter than called the rest that was taken is; 0 if it goes on."""
        if self.taken is None or self.taken.goes_on:
            return 0
        since_us = max(self.at_us, self.taken.start_us)
        return max(0, self.rest_s * SECOND_US - (self.taken.end_us - since_us))

    @property
    def too_short(self) -> bool:
        """True if the rest that was taken is a minute or more shorter than called."""
        return self.short_us >= MINUTE_US


class Drinks(Struct, frozen=True):
    """What was drunk: ml in all, how often, and the most within 60 minutes with their end."""

    ml: int
    count: int
    most_ml: int
    most_end_us: Instant

    @property
    def too_much(self) -> bool:
        """True if more was drunk in an hour than ever should be: NIOSH 2017-126."""
        return self.most_ml > MOST_DRINK_ML_PER_HOUR


class SignsTold(Struct, frozen=True):
    """Signs of illness. They are the worker's own: `private`, never on a customer's paper."""

    at_us: Instant
    signs: tuple[str, ...]
    private: bool = True


class HotDays(Struct, frozen=True):
    """The worker said on how many of the last 14 days the work was in the heat."""

    at_us: Instant
    days: int


class ExposureRecord(Struct, frozen=True):
    """What a shift did to its worker, up to `end_us`.

    Fields:
        shift, worker: whose.
        on_us, end_us: from clocking on to clocking off, or to when it was asked for.
        acclimatized: True judges by the REL, False by the RAL; see `acclimatization.held`.
        acclimatization, because: what was told; "" if nothing.
        hot_days: what was answered about the days before.
        readings: those that speak of heat, with their figures, in order.
        why_none: why there are none, a sentence; "" with readings.
        index_times, band_times: each adds up to `length_us`; empty without a reading.
        peak: the whole hour with the least margin; None if no whole hour has readings.
        rests: called, in order.
        overruled: rests refused that nobody had called.
        drinks, signs, strain: see there.
        assumptions: sentences: what the figures rest on; empty without any.
        versions: rules by which it was reckoned.
    """

    shift: str
    worker: str
    on_us: Instant
    end_us: Instant
    acclimatized: bool
    acclimatization: str
    because: str
    hot_days: tuple[HotDays, ...]
    readings: tuple[Climate, ...]
    why_none: str
    index_times: tuple[IndexTime, ...]
    band_times: tuple[BandTime, ...]
    peak: Peak | None
    rests: tuple[CalledRest, ...]
    overruled: tuple[Overrule, ...]
    drinks: Drinks
    signs: tuple[SignsTold, ...]
    strain: Strain
    assumptions: tuple[str, ...]
    versions: tuple[RuleVersion, ...] = VERSIONS

    @property
    def length_us(self) -> Length:
        """Time on the clock in microseconds."""
        return Length(self.end_us - self.on_us)

    @property
    def by_last_reading(self) -> tuple[CalledRest, ...]:
        """The rests that a rule of the heat called while no reading was in force: it goes on by
        the last one there was."""
        return tuple(
            call
            for call in self.rests
            if call.rule in _OF_AIR
            and not any(is_in_force(one.at_us, call.at_us) for one in self.readings)
        )

    @property
    def peak_band(self) -> LimitVerdict | None:
        """What the margin of the peak hour is worth; None without a peak."""
        return (
            None if self.peak is None else heat.limit_verdict(self.peak.margin_c, self.acclimatized)
        )

    @property
    def band_c(self) -> float:
        """Half width of "caution" by the limit in use, C."""
        return REL_BAND_C if self.acclimatized else RAL_BAND_C


def exposure_record(
    shift: Shift,
    jobs: Mapping[str, Job],
    now_us: Instant,
    rest_place: ev.ReadingTaken | None = None,
    pieces: Sequence[Piece] | None = None,
) -> ExposureRecord:
    """The exposure of a shift, up to `now_us` if it goes on.

    jobs: at least those of the shift. rest_place: climate where breaks are taken; None:
    where the work is. pieces: its partition up to there, where it is at hand already.
    """
    end_us = max(now_us, shift.since_us) if shift.off_us is None else shift.off_us
    told = held(shift)
    acclimatized = told.acclimatized
    found = climates(shift)
    taken = any(isinstance(row.event, ev.ReadingTaken) for row in shift.facts)
    pieces = partition(shift, jobs, end_us) if pieces is None else pieces
    account = loads(shift, jobs, end_us, rest_place, pieces=pieces) if found else []
    around = Surroundings(shift)
    rests = _rest_times(pieces, isinstance(shift.doing, Break))
    called, uncalled = _called(shift, rests, now_us)
    used = strain(shift, jobs, end_us, pieces)
    return ExposureRecord(
        shift=shift.id,
        worker=shift.worker,
        on_us=shift.on_us,
        end_us=end_us,
        acclimatized=acclimatized,
        acclimatization=told.acclimatization,
        because=told.because,
        hot_days=tuple(
            HotDays(row.at_us, row.event.days)
            for row in shift.facts
            if isinstance(row.event, ev.HotDaysSaid)
        ),
        readings=tuple(found),
        why_none="" if found else NO_HEAT_READING if taken else NO_READING,
        index_times=_index_times(account, rest_place),
        band_times=_band_times(account, acclimatized),
        peak=peak(account, acclimatized),
        rests=called,
        overruled=uncalled,
        drinks=_drinks(drinks(shift, end_us)),
        signs=tuple(
            SignsTold(row.at_us, row.event.signs)
            for row in shift.facts
            if isinstance(row.event, ev.FeltUnwell)
        ),
        strain=used,
        assumptions=(
            *(_of_heat(found, pieces, rest_place, acclimatized, around) if found else ()),
            *((_OF_TOOLS,) if used.tools else ()),
        ),
    )


def _index_times(
    account: Sequence[Load], rest_place: ev.ReadingTaken | None
) -> tuple[IndexTime, ...]:
    cool = None if rest_place is None else climate(Instant(0), rest_place)
    total: dict[IndexTime, int] = {}
    for load in account:
        # Breaks are judged where they are taken, as far as a reading is known there.
        away = load.resting and cool is not None and cool.wbgt_c is not None
        use = _index(cool if away else load.climate)
        total[use] = total.get(use, 0) + load.end_us - load.start_us
    return tuple(replace(use, length_us=length_us) for use, length_us in total.items())


def _index(here: Climate | None) -> IndexTime:
    if here is None:
        return IndexTime("no reading", False, Length(0))
    if here.index_f is None and not here.off_table:
        return IndexTime("no index", False, Length(0))
    return IndexTime(
        here.index_bin, here.at_least and here.index_bin != "extreme danger", Length(0)
    )


def _band_times(account: Sequence[Load], acclimatized: bool) -> tuple[BandTime, ...]:
    limit_c = limit_of(acclimatized)
    total: dict[BandTime, int] = {}
    for load in account:
        use = BandTime("no WBGT" if load.climate is not None else "no reading", Length(0))
        if load.wbgt_c is not None:
            use = BandTime(
                heat.limit_verdict(limit_c(load.watts) - load.wbgt_c, acclimatized), Length(0)
            )
        total[use] = total.get(use, 0) + load.end_us - load.start_us
    return tuple(replace(use, length_us=length_us) for use, length_us in total.items())


def _rest_times(pieces: Iterable[Piece], goes_on: bool) -> list[RestTime]:
    """Breaks, and time off told afterwards, joined where nothing lies between."""
    found: list[RestTime] = []
    last: Piece | None = None
    for piece in pieces:
        if piece.kind in ("break", "off"):
            said = piece.what or piece.kind
            if found and found[-1].end_us == piece.start_us:
                before = found.pop()
                what = before.what if said in before.what else (*before.what, said)
                found.append(RestTime(before.start_us, piece.end_us, what))
            else:
                found.append(RestTime(piece.start_us, piece.end_us, (said,)))
        last = piece
    if goes_on and last is not None and last.kind == "break":
        found[-1] = replace(found[-1], goes_on=True)
    return found


def _called(
    shift: Shift, rests: Sequence[RestTime], now_us: Instant
) -> tuple[tuple[CalledRest, ...], tuple[Overrule, ...]]:
    """The rests called with what became of them, and what was overruled without a call."""
    calls = [(row, row.event) for row in shift.facts if isinstance(row.event, ev.RestCalled)]
    refused = [
        Overrule(row.at_us, row.event.why)
        for row in shift.facts
        if isinstance(row.event, ev.RestOverruled)
    ]
    found = []
    for index, (row, call) in enumerate(calls):
        at_us, until_us = row.at_us, row.at_us + ANSWER_US
        taken = next((r for r in rests if r.start_us <= until_us and r.end_us > at_us), None)
        # An overrule speaks of the newest call before it that no rest has answered yet.
        ends = [rest.start_us for rest in rests if rest.end_us > at_us][:1]
        ends += [later.at_us for later, _call in calls[index + 1 :][:1]]
        mine = tuple(
            one for one in refused if at_us <= one.at_us and all(one.at_us < end for end in ends)
        )
        off_us = shift.off_us if taken is None else None
        if off_us is not None and off_us > until_us:
            off_us = None
        waiting = taken is None and not mine and shift.on_clock and now_us < until_us
        found.append(
            CalledRest(at_us, call.rule, call.rest_s, taken, mine, off_us, waiting, call.grade)
        )
    spoken_for = {one for call in found for one in call.overruled}
    return tuple(found), tuple(one for one in refused if one not in spoken_for)


def _drinks(taken: Sequence[tuple[int, int]]) -> Drinks:
    most_ml = most_end_us = 0
    for end_us, _ml in taken:
        within_ml = in_hour_ml(taken, end_us)
        if within_ml > most_ml:
            most_ml, most_end_us = within_ml, end_us
    return Drinks(sum(ml for _at_us, ml in taken), len(taken), most_ml, Instant(most_end_us))


def _of_heat(
    found: Sequence[Climate],
    pieces: Iterable[Piece],
    rest_place: ev.ReadingTaken | None,
    acclimatized: bool,
    around: Surroundings,
) -> tuple[str, ...]:
    """What the figures of heat rest on; only what was used."""
    kinds = {piece.kind for piece in pieces}
    reckoned = [c.reading for c in found if c.wbgt_from in ("globe", "estimate")]
    places = {c.reading.place for c in found if c.wbgt_from == "estimate"}
    band_c = REL_BAND_C if acclimatized else RAL_BAND_C
    said = [
        f"Effort by the class of the stage or section, give or take {EFFORT_OFF_PERCENT} %; "
        f"instruments within {AIR_OFF_C} C and {RH_OFF} % humidity: {band_c:g} C of caution "
        "either way.",
    ]
    for clothes in around.clothes:
        added_c = heat.CLOTHING_C.get(clothes, 0.0)
        said.append(f"{clothes[:1].upper()}{clothes[1:]}: {added_c:g} C added for clothing.")
    said.append(f"A reading holds for {STALE_US // MINUTE_US} min.")
    said += dict.fromkeys(map(_air_text, reckoned))
    for place in ("sun", "cloud"):
        if place in places:
            said.append(_light_text(place))
    if places & OPEN_SKY:
        said.append(_place_text(around))
    if "outdoor shade" in places:
        said.append(f"Shade outdoors: {OUTDOOR_SHADE_C:g} C above the same air indoors.")
    if "indoors" in places:
        roof = f"Roof or door hot to the hand, as told: {HOT_ROOF_C:g} C added to the estimate."
        unseen = "Indoors without a globe: a hot roof or door is not seen."
        said.append(roof if around.roof_was_hot else unseen)
    said.append(f"Breaks are reckoned as seated rest {_rest_text(found, rest_place)}.")
    if kinds & {"standing by", "unassigned"}:
        said.append("Standing by and nothing in hand count as light work.")
    if "not known" in kinds:
        said.append("Time not known counts as moderate work.")
    if "off" in kinds:
        said.append("Time off, as told afterwards, counts as rest.")
    return tuple(said)


def _air_text(reading: ev.ReadingTaken) -> str:
    speed = air_speed(reading)
    where = "indoors" if reading.place == "indoors" else "outdoors"
    if reading.moving == "not said":
        return f"Air of which nothing was said moves at {speed:g} m/s {where}."
    at = f" {where}" if reading.moving == "still" and where == "outdoors" else ""
    return f"Air called {reading.moving} moves at {speed:g} m/s{at}."


def _light_text(place: Literal["sun", "cloud"]) -> str:
    share, beam = (SUN_SHARE, SUN_BEAM) if place == "sun" else (OVERCAST_SHARE, OVERCAST_BEAM)
    part = "the light" if share == 1 else f"{share * 100:g} % of the light"
    return (
        f"{place.capitalize()}, not measured: {part} of a clear sky by the hour (Haurwitz 1945), "
        f"{beam * 100:g} % of it straight from the sun."
    )


def _place_text(around: Surroundings) -> str:
    place = f"latitude {around.latitude:.1f}, longitude {around.longitude:.1f}"
    if around.told:
        return f"The sun stands as at {place}."
    return f"No place in the settings: the sun stands as at {place}, the middle of the time zone."


def _rest_text(found: Sequence[Climate], rest_place: ev.ReadingTaken | None) -> str:
    if rest_place is not None:
        return f"at {reading_text(rest_place)}"
    places = {one.reading.place for one in found}
    if not places & OPEN_SKY:
        return "where the work is"
    return "in the shade of the same air" if places <= OPEN_SKY else "where the work is, in shade"
