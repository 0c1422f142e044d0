"""Heat, rests, vibration and noise of shifts on a page, with the caution that belongs to them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from cartclock.engine.body.strain import Strain, vibration_text
from cartclock.engine.dates import hours_text
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.words import in_both
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.figures.body import (
    MOST_DRINK_ML_PER_HOUR,
    NOISE_LOWER_ACTION_DBA,
    VIBRATION_ACTION_MS2,
    VIBRATION_LIMIT_MS2,
)
from cartclock.engine.paper.degrees import degrees_apart, reckoned_apart, reckoned_text
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Group, TableRow
from cartclock.engine.paper.said import (
    between,
    counted,
    hour,
    rests_text,
    short_day,
    short_moment,
    to_minute,
)
from cartclock.engine.record.exposure import (
    ANSWER_US,
    RECORD_CAUTION,
    CalledRest,
    ExposureRecord,
    Overrule,
    RestTime,
)
from cartclock.engine.record.stage_layers import shared
from cartclock.engine.times import Instant

_RESTS = (
    Column("rest called", 16),
    Column("", 15),
    Column("rule", 25),
    Column("what became of it", 34, rank=2, remark=True),
)
_ACTION = (
    f"Vibration: action value {VIBRATION_ACTION_MS2:g}, limit value {VIBRATION_LIMIT_MS2:g} m/s2 "
    f"A(8) (2002/44/EC). Noise: lower action value {NOISE_LOWER_ACTION_DBA:g} dB(A)."
)
Rests = Literal["table", "sentence", "counted"]
_BAND_ORDER = ("clear", "caution", "over", "no WBGT", "no reading")


def put_exposures(
    medium: Medium,
    exposures: Sequence[ExposureRecord],
    zone: str,
    unit: TemperatureUnit = "C",
    rests: Rests = "table",
) -> None:
    """The chapter of these shifts; nothing if there are none.

    unit: of temperatures. rests: how they are told. What the figures rest on stands under their
    table, in C as it is published, and in the unit beside it.
    """
    if not exposures:
        return
    medium.heading("Heat, rests, vibration, noise", "NIOSH 2016-106; 2002/44/EC")
    if any(one.readings or one.strain.tools for one in exposures):
        medium.words(RECORD_CAUTION, small=True)
    judged = shared(_judged(one) for one in exposures if one.readings)
    if judged is not None:
        medium.words(judged, small=True)
    medium.facts(
        [
            (_whose(one, exposures, zone), _shift(one, zone, judged is None, unit))
            for one in exposures
        ]
    )
    if any(one.strain.tools for one in exposures):
        medium.words(_ACTION, small=True)
    if rests == "table":
        _put_rests(medium, exposures, zone)
        _put_basis(medium, exposures, unit)
        return
    for one in exposures:
        if one.rests or one.overruled:
            one_by_one = f": {_rests_told(one, zone)}" if rests == "sentence" else ""
            medium.words(f"{_rests_counted(one)}{one_by_one}.", hangs=True)


def _whose(one: ExposureRecord, exposures: Sequence[ExposureRecord], zone: str) -> str:
    day = short_day(one.on_us, zone)
    return day if len({other.worker for other in exposures}) < 2 else f"{day} {one.worker}"


def _shift(one: ExposureRecord, zone: str, judged: bool, unit: TemperatureUnit) -> str:
    parts = (_heat(one, zone, judged, unit), _body(one, zone), _strain(one.strain))
    return "\n".join(" ".join(part) for part in parts if part)


def _heat(one: ExposureRecord, zone: str, judged: bool, unit: TemperatureUnit) -> list[str]:
    if not one.readings:
        return [one.why_none]
    said = [_judged(one)] if judged else []
    said += [
        f"Told {short_moment(answer.at_us, zone)}: {answer.days} of the last 14 days in the heat."
        for answer in one.hot_days
    ]
    bands = sorted(one.band_times, key=lambda time: _BAND_ORDER.index(time.band))
    wide = degrees_apart(one.band_c, unit)
    told = "; ".join(f"{_band(time.band, wide)} {_lasting(time.length_us)}" for time in bands)
    said.append(f"{told[:1].upper()}{told[1:]}.")
    if calls := len(one.by_last_reading):
        rests = f"{counted(calls, 'rest')} {'was' if calls == 1 else 'were'}"
        said.append(f"With no reading in force {rests} called by the last one there was.")
    return [*said, f"Peak hour: {peak_text(one, zone, unit)}."]


def _lasting(length_us: int) -> str:
    said = to_minute(length_us)
    return "under a minute" if said == to_minute(0) else said


def _judged(one: ExposureRecord) -> str:
    said = one.acclimatization or "acclimatization not answered"
    because = one.because.rstrip(". ")
    if because.lower().startswith(said):
        said = because
    elif because:
        said = f"{said}, {because}"
    limit = "exposure limit (REL)" if one.acclimatized else "alert limit (RAL)"
    return f"{said[:1].upper()}{said[1:]}. Judged by the {limit} of NIOSH 2016-106."


def _band(band: str, wide: str) -> str:
    match band:
        case "clear":
            return f"clear, more than {wide} under the limit,"
        case "caution":
            return f"caution, within {wide} of it,"
        case "over":
            return f"over, more than {wide} over it,"
        case "no WBGT":
            return "no verdict, the reading gives no WBGT,"
        case _:
            return "no verdict, no reading in force,"


def peak_text(one: ExposureRecord, zone: str, unit: TemperatureUnit) -> str:
    """The hour with the least margin, with its verdict; that there is none is said."""
    if one.peak is None:
        return "none was read whole"
    peak, band = one.peak, one.peak_band
    side = "under" if peak.margin_c >= 0 else "over"
    start_us = Instant(peak.end_us - HOUR_US)
    return (
        f"{hour(start_us, zone)} to {hour(peak.end_us, zone)}, {band}: "
        f"WBGT {reckoned_text(peak.wbgt_c, unit)}, effort {peak.watts:.0f} W, "
        f"limit {reckoned_text(peak.limit_c, unit)}, "
        f"{reckoned_apart(abs(peak.margin_c), unit)} {side} it"
    )


def _body(one: ExposureRecord, zone: str) -> list[str]:
    said = []
    drinks = one.drinks
    if drinks.count:
        times = "once" if drinks.count == 1 else f"{drinks.count} times"
        said.append(f"Drinks: {drinks.ml} ml, {times}; {_most(one, zone)}.")
    for told in one.signs:
        private = " (private)" if told.private else ""
        signs = f"{', '.join(told.signs)}{private}"
        said.append(f"Signs of illness {short_moment(told.at_us, zone)}: {signs}.")
    return said


def _most(one: ExposureRecord, zone: str) -> str:
    drinks = one.drinks
    span = between(Instant(drinks.most_end_us - HOUR_US), drinks.most_end_us, zone)
    said = f"most in an hour {drinks.most_ml} ml, {span}"
    most = f"{MOST_DRINK_ML_PER_HOUR:g} ml"
    return f"{said}, over the {most} never to be exceeded" if drinks.too_much else said


def _strain(strain: Strain) -> list[str]:
    if not strain.tools:
        return []
    tools = "; ".join(
        f"{tool.name} {to_minute(tool.hands_us)} in hand, ran {to_minute(tool.run_us)}"
        for tool in strain.tools
    )
    return [f"Tools: {tools}.", f"Vibration: {_vibration(strain)}.", f"Noise: {_noise(strain)}."]


def _vibration(strain: Strain) -> str:
    if strain.a8_ms2 is None or strain.points is None:
        return "no figure, no value declared that could be used"
    floor = "at least " if strain.undeclared else ""
    return f"{vibration_text(strain)}, {floor}{strain.a8_ms2:.1f} m/s2 A(8)"


def _noise(strain: Strain) -> str:
    if strain.dose_percent is None:
        return "no figure, no level known that could be used"
    floor = "at least " if strain.unmeasured else ""
    lex = "" if strain.lex_dba is None else f", {strain.lex_dba:.1f} dB(A) over 8 h"
    lower = "; from the lower action value on" if strain.lower_action else ""
    return f"{floor}dose {strain.dose_percent:.0f} % (NIOSH){lex}: {strain.noise}{lower}"


# Rests.


def _put_rests(medium: Medium, exposures: Sequence[ExposureRecord], zone: str) -> None:
    called: list[tuple[int, tuple[str, str, str]]] = []
    for one in exposures:
        called += [(call.at_us, (_grade(call), call.rule, _fate(call, zone))) for call in one.rests]
        called += [
            (over.at_us, ("not called", "", f"rest not taken: {_why(over)}"))
            for over in one.overruled
        ]
    if not called:
        return
    day, rows = "", []
    for at_us, cells in sorted(called):
        here = short_day(Instant(at_us), zone)
        when = hour(Instant(at_us), zone)
        rows.append(TableRow((f"{here if here != day else ''} {when}".strip(), *cells)))
        day = here
    medium.groups(_RESTS, [Group("", "", tuple(rows))])


def _rests_counted(one: ExposureRecord) -> str:
    taken = sum(call.taken is not None for call in one.rests)
    return rests_text(len(one.rests), taken, sum(call.too_short for call in one.rests))


def _rests_told(one: ExposureRecord, zone: str) -> str:
    told = [
        (call.at_us, f"{hour(call.at_us, zone)} {_grade(call)}, {_fate(call, zone)}")
        for call in one.rests
    ]
    told += [(over.at_us, f"{hour(over.at_us, zone)} not taken: {_why(over)}")
             for over in one.overruled]  # fmt: skip
    return "; ".join(text for _at_us, text in sorted(told))


def _grade(call: CalledRest) -> str:
    """What was called and how urgently: "soon" is before the next piece, "no work here" that a
    cooler place or hour was asked for."""
    rest = hours_text(call.rest_s)
    match call.grade:
        case "soon":
            return f"{rest}, soon"
        case "now":
            return f"{rest}, at once"
        case "not here":
            return "no work here"


def _fate(call: CalledRest, zone: str) -> str:
    said = [f"not taken at {hour(over.at_us, zone)}: {_why(over)}" for over in call.overruled]
    if call.taken is not None:
        said.append(f"{_taken(call.taken, zone)}{_short(call)}")
    elif call.off_us is not None:
        said.append(f"clocked off {hour(call.off_us, zone)}")
    elif call.waiting:
        said.append("not begun yet")
    elif not call.overruled:
        said.append(f"no rest within {ANSWER_US // MINUTE_US} min")
    return "; ".join(said)


def _short(call: CalledRest) -> str:
    """By how much a rest is shorter than it was called; nothing under a minute."""
    return f", {to_minute(call.short_us)} too short" if call.too_short else ""


def _why(over: Overrule) -> str:
    return over.why or "no reason given"


def _taken(rest: RestTime, zone: str) -> str:
    begun = f"{', '.join(rest.what)} from {hour(rest.start_us, zone)}"
    if rest.goes_on:
        return f"{begun}, {to_minute(rest.length_us)} so far"
    return f"{begun} to {hour(rest.end_us, zone)}, {to_minute(rest.length_us)}"


def _put_basis(medium: Medium, exposures: Iterable[ExposureRecord], unit: TemperatureUnit) -> None:
    """What the figures rest on; what several shifts rest on alike is said once."""
    said = dict.fromkeys(text for one in exposures for text in one.assumptions)
    if said:
        medium.words(f"These figures rest on: {in_both(' '.join(said), unit)}", small=True)
