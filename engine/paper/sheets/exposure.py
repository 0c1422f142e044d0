"""The heat, vibration and noise of shifts on a page, with the caution that belongs to them."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.body.climate import Climate
from cartclock.engine.body.strain import Strain, vibration_text
from cartclock.engine.dates import spoken
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.air import celsius
from cartclock.engine.figures.body import (
    MOST_DRINK_ML_PER_HOUR,
    NOISE_LOWER_ACTION_DBA,
    VIBRATION_ACTION_MS2,
    VIBRATION_LIMIT_MS2,
)
from cartclock.engine.figures.heat import BIN_FLOORS_F
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.paper.said import between, exact_text, hour, nearest
from cartclock.engine.paper.sheets.dated import ENTRIES, Calendar, dated_entries
from cartclock.engine.paper.sheets.time_sheet import HOUR_COLUMNS, Node, put_hours
from cartclock.engine.record.exposure import (
    ANSWER_US,
    RECORD_CAUTION,
    CalledRest,
    ExposureRecord,
    IndexTime,
    Overrule,
    RestTime,
)
from cartclock.engine.times import Instant

_READINGS = (
    Column("Readings", 15),
    Column("WBGT", 10, right=True),
    Column("heat index", 30),
    Column(),
)
_TOOLS = (
    Column("Tools", 27),
    *(
        Column(head, 8, right=True)
        for head in ("in hand", "ran", "m/s2", "points", "dB(A)", "dose")
    ),
)
_BY = {"meter": "meter", "globe": "globe and air", "estimate": "estimate", "": ""}
_INDEX_ORDER = ("none", *(name for _floor, name in reversed(BIN_FLOORS_F)), "no index",
                "no reading")  # fmt: skip
_BAND_ORDER = ("clear", "caution", "over", "no WBGT", "no reading")


def put_exposures(medium: Medium, exposures: Sequence[ExposureRecord], zone: str) -> None:
    """The chapter of these shifts; nothing if there are none."""
    if not exposures:
        return
    read = any(one.readings for one in exposures)
    medium.heading("Heat, vibration and noise", columns=HOUR_COLUMNS if read else ())
    if read or any(one.strain.tools for one in exposures):
        medium.words(RECORD_CAUTION)
        medium.gap()
    for index, one in enumerate(exposures):
        if index:
            medium.gap()
        if len(exposures) > 1:
            medium.words(f"{between(one.on_us, one.end_us, zone)}, {one.worker}", hangs=True)
        _put_heat(medium, one, zone)
        _put_rests(medium, one, zone)
        _put_body(medium, one, zone)
        _put_strain(medium, one.strain)
        following = exposures[index + 1 : index + 2]
        # What the figures of several shifts rest on alike is said behind the last of them.
        if not following or _basis(following[0]) != _basis(one):
            _put_basis(medium, one, index > 0 and _basis(exposures[index - 1]) == _basis(one))


def _put_heat(medium: Medium, one: ExposureRecord, zone: str) -> None:
    if not one.readings:
        medium.words(one.why_none)
        return
    medium.words(_judged(one), hangs=True)
    for answer in one.hot_days:
        said = f"{answer.days} of the last 14 days in the heat"
        medium.words(f"Told {spoken(answer.at_us, zone)}: {said}.", hangs=True)
    medium.gap()
    nodes = [_index_node(time) for time in sorted(one.index_times, key=_index_rank)]
    put_hours(medium, "By class of the heat index", nodes)
    medium.gap()
    nodes = [
        Node(_band(time.band, one.band_c), time.length_us)
        for time in sorted(one.band_times, key=lambda time: _BAND_ORDER.index(time.band))
    ]
    put_hours(medium, "By WBGT against the limit, piece by piece", nodes)
    medium.gap()
    medium.facts([("Peak hour", _peak(one, zone))])
    medium.gap()
    rows: list[TableRow | Note] = []
    calendar = Calendar(zone)
    for reading in one.readings:
        rows += calendar.turned(reading.at_us)
        wbgt = "none" if reading.wbgt_c is None else f"{reading.wbgt_c:.1f} C"
        cells = (hour(reading.at_us, zone), wbgt, _index_text(reading), _BY[reading.wbgt_from])
        rows.append(TableRow(cells, 2))
    medium.table(_READINGS, rows)


def _judged(one: ExposureRecord) -> str:
    said = one.acclimatization or "acclimatization not answered"
    because = one.because.rstrip(". ")
    if because.lower().startswith(said):
        said = because
    elif because:
        said = f"{said}, {because}"
    limit = "exposure limit (REL)" if one.acclimatized else "alert limit (RAL)"
    return f"{said[:1].upper()}{said[1:]}. Judged by the {limit} of NIOSH 2016-106."


def _index_rank(time: IndexTime) -> tuple[int, bool]:
    return _INDEX_ORDER.index(time.index), time.at_least


def _index_node(time: IndexTime) -> Node:
    floors = {name: f"{floor:g} F and more" for floor, name in BIN_FLOORS_F}
    match time.index:
        case "none":
            label = f"none, under {BIN_FLOORS_F[-1][0]:g} F"
        case "no index":
            label = "the reading gives no heat index"
        case "no reading":
            label = "no reading in force"
        case "extreme danger":
            label = f"extreme danger, {floors[time.index]}, or off the table"
        case _:
            label = f"{time.index}, {floors[time.index]}"
    return Node(f"at least {label}" if time.at_least else label, time.length_us)


def _band(band: str, band_c: float) -> str:
    match band:
        case "clear":
            return f"clear, more than {band_c:g} C under the limit"
        case "caution":
            return f"caution, within {band_c:g} C of it either way"
        case "over":
            return f"over, more than {band_c:g} C over it"
        case "no WBGT":
            return "no verdict, the reading gives no WBGT"
        case _:
            return "no verdict, no reading in force"


def _peak(one: ExposureRecord, zone: str) -> str:
    if one.peak is None:
        return "no whole hour with readings: no verdict"
    peak, band = one.peak, one.peak_band
    span = between(Instant(peak.end_us - HOUR_US), peak.end_us, zone)
    side = "under" if peak.margin_c >= 0 else "over"
    return (
        f"{span}: {band}\nWBGT {peak.wbgt_c:.1f} C, effort {peak.watts:.0f} W, limit "
        f"{peak.limit_c:.1f} C, {abs(peak.margin_c):.1f} C {side} it"
    )


def _index_text(reading: Climate) -> str:
    if reading.off_table:
        return "off the table, extreme danger"
    if reading.index_f is None:
        return "none"
    floor = "at least " if reading.at_least else ""
    said = f"{floor}{reading.index_f:.0f} F ({celsius(reading.index_f):.0f} C)"
    return said if reading.index_bin == "none" else f"{said}\n{reading.index_bin}"


def _put_rests(medium: Medium, one: ExposureRecord, zone: str) -> None:
    called = [(call.at_us, _call(call, zone)) for call in one.rests]
    called += [(over.at_us, f"rest not taken: {_why(over)}") for over in one.overruled]
    if called:
        _put_dated(medium, "Rests called", sorted(called), zone)


def _call(call: CalledRest, zone: str) -> str:
    said = [_grade(call)]
    said += [f"not taken at {hour(over.at_us, zone)}: {_why(over)}" for over in call.overruled]
    if call.taken is not None:
        said.append(f"{_taken(call.taken, zone)}{_short(call)}")
    elif call.off_us is not None:
        said.append(f"clocked off {hour(call.off_us, zone)}")
    elif call.waiting:
        said.append("not begun yet")
    elif not call.overruled:
        said.append(f"no rest within {ANSWER_US // MINUTE_US} min")
    return "\n".join(said)


def _grade(call: CalledRest) -> str:
    """What was called, how urgently and by which rule."""
    rest = _minutes(call.rest_s * SECOND_US)
    match call.grade:
        case "soon":
            return f"{rest} of rest before the next piece, {call.rule}"
        case "now":
            return f"{rest} of rest at once, {call.rule}"
        case "not here":
            return f"no work time here, a cooler place or a cooler hour, {call.rule}"


def _short(call: CalledRest) -> str:
    """By how much a rest is shorter than it was called; nothing under a minute."""
    return f", {_minutes(call.short_us)} too short" if call.short_us >= MINUTE_US else ""


def _why(over: Overrule) -> str:
    return over.why or "no reason given"


def _taken(rest: RestTime, zone: str) -> str:
    begun = f"{', '.join(rest.what)} from {hour(rest.start_us, zone)}"
    if rest.goes_on:
        return f"{begun}, {_minutes(rest.length_us)} so far"
    return f"{begun} to {hour(rest.end_us, zone)}, {_minutes(rest.length_us)}"


def _minutes(length_us: int) -> str:
    """Hours and minutes as "0:15", rounded to the nearest."""
    return exact_text(60 * nearest(length_us, MINUTE_US))[:-3]


def _put_body(medium: Medium, one: ExposureRecord, zone: str) -> None:
    drinks = one.drinks
    if drinks.count:
        times = "once" if drinks.count == 1 else f"{drinks.count} times"
        medium.gap()
        medium.facts([("Drinks", f"{drinks.ml} ml, {times}; {_most(one, zone)}")])
    if one.signs:
        signs = [
            (told.at_us, f"{', '.join(told.signs)}{' (private)' if told.private else ''}")
            for told in one.signs
        ]
        _put_dated(medium, "Signs of illness", signs, zone)


def _most(one: ExposureRecord, zone: str) -> str:
    drinks = one.drinks
    span = between(Instant(drinks.most_end_us - HOUR_US), drinks.most_end_us, zone)
    said = f"most in an hour {drinks.most_ml} ml, {span}"
    most = f"{MOST_DRINK_ML_PER_HOUR:g} ml"
    return f"{said}, over the {most} never to be exceeded" if drinks.too_much else said


def _put_strain(medium: Medium, strain: Strain) -> None:
    if not strain.tools:
        return
    medium.gap()
    medium.facts([("Vibration", _vibration(strain))])
    medium.facts([("Noise", _noise(strain))])
    medium.gap()
    rows = [
        TableRow(
            (
                tool.name,
                _minutes(tool.hands_us),
                _minutes(tool.run_us),
                _number(tool.a_ms2, ".1f"),
                _number(tool.points, ".0f"),
                _number(tool.noise_dba, "g"),
                _number(tool.dose_percent, ".0f", " %"),
            ),
            1,
        )
        for tool in strain.tools
    ]
    medium.table(_TOOLS, rows)


def _number(value: float | None, form: str, unit: str = "") -> str:
    return "-" if value is None else f"{value:{form}}{unit}"


def _vibration(strain: Strain) -> str:
    if strain.a8_ms2 is None or strain.points is None:
        return "no figure: no value declared that could be used"
    floor = "at least " if strain.undeclared else ""
    return (
        f"{vibration_text(strain)}, {floor}{strain.a8_ms2:.1f} m/s2 A(8)\n"
        f"action value {VIBRATION_ACTION_MS2:g}, limit value {VIBRATION_LIMIT_MS2:g} m/s2 "
        "(2002/44/EC)"
    )


def _noise(strain: Strain) -> str:
    if strain.dose_percent is None:
        return "no figure: no level known that could be used"
    floor = "at least " if strain.unmeasured else ""
    lex = "" if strain.lex_dba is None else f", {strain.lex_dba:.1f} dB(A) over 8 h"
    lower = (
        f"\nfrom the lower action value of {NOISE_LOWER_ACTION_DBA:g} dB(A) on"
        if strain.lower_action
        else ""
    )
    return f"{floor}dose {strain.dose_percent:.0f} % (NIOSH){lex}: {strain.noise}{lower}"


def _put_dated(medium: Medium, name: str, called: Sequence[tuple[int, str]], zone: str) -> None:
    medium.gap()
    medium.words(name)
    medium.table(ENTRIES, dated_entries(called, zone))


def _basis(one: ExposureRecord) -> tuple[object, ...]:
    return one.assumptions, one.versions, bool(one.readings or one.strain.tools)


def _put_basis(medium: Medium, one: ExposureRecord, alike: bool) -> None:
    """alike: True if the figures of the shift before rest on the same."""
    if one.assumptions:
        medium.gap()
        medium.words(f"What these figures rest on{', of each shift above' if alike else ''}")
    for said in one.assumptions:
        medium.words(said, 1, True)
    if one.readings or one.strain.tools:
        versions = "; ".join(f"{of.rule}: {of.version}" for of in one.versions)
        medium.gap()
        medium.words(f"Versions of the rules: {versions}.", hangs=True)
