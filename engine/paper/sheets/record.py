"""The record of a job."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from msgspec.structs import replace

from cartclock.engine.dates import spoken
from cartclock.engine.facts.section import SECOND_US, SectionState
from cartclock.engine.facts.words import reading_text
from cartclock.engine.hours.partition import Piece
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.drawing import (
    HeatCourse,
    Pictures,
    ShiftCourse,
    StageShares,
    WindowCourse,
)
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.paper.said import (
    between,
    both_or_all,
    exact_text,
    hour,
    lasted,
    places,
)
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.sheets.aftercare import put_aftercare, put_dates, put_films
from cartclock.engine.paper.sheets.coated import put_coated
from cartclock.engine.paper.sheets.dated import ENTRIES, Calendar, dated_entries
from cartclock.engine.paper.sheets.dealings import put_dealings
from cartclock.engine.paper.sheets.exposure import put_exposures
from cartclock.engine.paper.sheets.gate import put_gate
from cartclock.engine.paper.sheets.incidents import put_incidents
from cartclock.engine.paper.sheets.products import put_products
from cartclock.engine.paper.sheets.revision import put_revision
from cartclock.engine.paper.sheets.time_sheet import (
    HOUR_COLUMNS,
    own_and_rest,
    put_account,
    put_hours,
    put_law,
    put_questions,
)
from cartclock.engine.paper.sheets.vehicle import price_text, put_vehicle
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.record.applied import (
    NEVER_TAKEN,
    Applied,
    Asked,
    Remark,
    SectionRecord,
    StageRecord,
)
from cartclock.engine.record.record import Record
from cartclock.engine.times import Instant, Length

_WINDOWS = (
    Column("", 24),
    Column("touched", 8),
    Column("opens", 6, right=True),
    Column("due", 7, right=True),
    Column("closes", 8, right=True),
    Column("taken", 8, right=True),
    Column("", 15),
)
# No customer wants to know who drank when, and nobody needs to be told that.
_BEFORE_COAT = "before the coat"
_WRITTEN = ("note", "file", "paper", _BEFORE_COAT)
_STILL: dict[SectionState, str] = {
    "todo": "Not done",
    "in hand": "In hand now",
    "held": "Put down unfinished",
    "waiting": "Waiting for the next step",
}


def put_record(medium: Medium, facts: PaperFacts) -> None:
    """All chapters of the record."""
    record = facts.of_job
    zone = record.zone
    _put_head(medium, record, facts.currency, facts.shop)
    put_dates(medium, record)
    medium.drawing(StageShares(_by_stage(record)))
    put_vehicle(medium, record, facts.currency)
    numbers = {share.job: share.number for share in record.shares}

    def row_name(piece: Piece) -> str:
        """Stages of this job by name, other jobs by number alone."""
        return piece.stage if piece.job == record.job else f"Job {numbers.get(piece.job, 0)}"

    medium.drawing(ShiftCourse(record.accounts, zone, row_name))
    _put_hours(medium, record, facts.round_minutes)
    put_questions(medium, record.accounts, zone)
    _put_readings(medium, record)
    heat = tuple(zip(record.courses, record.exposures, strict=True))
    medium.drawing(HeatCourse(heat, zone))
    put_exposures(medium, record.exposures, zone)
    _put_sections(medium, record)
    put_coated(medium, record.coated, zone, _several(record))
    put_gate(medium, record.gate, zone)
    medium.drawing(WindowCourse("Windows, drawn", (("", record.windows),)))
    _put_windows(medium, record)
    put_products(medium, record.used, record.products, zone, facts.currency)
    put_films(medium, record)
    put_aftercare(medium, record.cares, zone)
    put_incidents(medium, record.incidents, zone)
    put_dealings(medium, record.dealings, zone)
    _put_notes(medium, record)
    _put_trail(medium, record)
    _put_clocks(medium, record)
    _put_proof(medium, record)
    put_revision(medium, facts.out, zone, True)
    medium.drawing(Pictures(facts.pictures, zone))


RECORD = Sheet("Job record", put_record)


def _put_head(medium: Medium, record: Record, currency: str, shop: ShopHead) -> None:
    zone = record.zone
    medium.head(SheetHead(f"job {record.number}", record.now_us, zone, shop))
    medium.lead(record.vehicle)
    closed = record.closed_us
    promised = "" if record.promised_us is None else spoken(record.promised_us, zone)
    pairs = (
        ("Plan", record.plan),
        ("Customer", record.customer),
        ("Plate", record.plate),
        ("Phone", record.phone),
        ("Opened", spoken(record.opened_us, zone)),
        ("Promised", promised),
        ("Closed", "not closed yet" if closed is None else spoken(closed, zone)),
        ("Zone", zone),
        ("Price agreed", price_text(record.price, currency)),
    )
    medium.facts([pair for pair in pairs if pair[1]])


def _by_stage(record: Record) -> dict[str, Length]:
    lengths_us: dict[str, Length] = {}
    for share in record.shares:
        if (share.job, share.kind) == (record.job, "hands"):
            sum_us = lengths_us.get(share.stage, 0) + share.length_us
            lengths_us[share.stage] = Length(sum_us)
    return lengths_us


def _put_hours(medium: Medium, record: Record, round_minutes: int) -> None:
    medium.heading("Hours", columns=HOUR_COLUMNS)
    if not record.accounts:
        medium.words("No shift was worked on this job.")
    for index, account in enumerate(record.accounts):
        if index:
            medium.gap()
        nodes = own_and_rest(account.shares, record.job)
        put_account(medium, account, nodes, record.zone, round_minutes)
    if len(record.accounts) > 1:
        medium.gap()
        medium.words(both_or_all(len(record.accounts)))
        medium.gap()
        put_hours(medium, "On the clock", own_and_rest(record.shares, record.job))
    put_law(medium, [account.rule_set for account in record.accounts])


def _put_readings(medium: Medium, record: Record) -> None:
    if not record.readings:
        return
    medium.heading("Readings")
    noted = []
    for one in record.readings:
        rain_us = one.reading.rain_at_us
        rain = "" if rain_us is None else f", rain expected {spoken(rain_us, record.zone)}"
        noted.append((one.at_us, reading_text(one.reading) + rain))
    medium.table(ENTRIES, dated_entries(noted, record.zone))


def _put_sections(medium: Medium, record: Record) -> None:
    medium.heading("What was done, section by section")
    of_layers = {
        (one.stage, remark) for one in record.coated for remark in (*one.water, *one.high_spots)
    }
    for index, stage in enumerate(record.stages):
        if index:
            medium.gap()
        layers = f", {stage.layers} layers" if stage.layers > 1 else ""
        done = _rows(stage)
        heads = ("", "first", "last", "by", "") if done else ("",) * 5
        columns = [
            Column(head, letters)
            for head, letters in zip(
                (f"{stage.stage}{layers}", *heads), (24, 8, 9, 9, 9, 15), strict=True
            )
        ]
        calendar = Calendar(record.zone)
        rows: list[TableRow | Note] = []
        for section, applied in done:
            rows += calendar.turned(applied.first_us)
            cells = (
                section.section,
                _turn(stage.layers, applied.layer, applied.pass_),
                hour(applied.first_us, record.zone),
                _hour_after(applied, record.zone),
                ", ".join(applied.workers),
                _remark(applied),
            )
            rows.append(TableRow(cells, 1))
        medium.table(columns, rows)
        # What happened to a layer stands with the layer.
        left = {remark for of_stage, remark in of_layers if of_stage == stage.stage}
        _put_remarks(medium, stage, record.zone, _several(record), left)


def _rows(stage: StageRecord) -> list[tuple[SectionRecord, Applied]]:
    """In order of time: a layer of yesterday stands before one of today."""
    found = [(section, applied) for section in stage.sections for applied in section.applied]
    return sorted(found, key=lambda row: (row[1].first_us, row[1].last_us))


def _turn(layers: int, layer: int, pass_: int) -> str:
    said = [f"layer {layer}"] if layers > 1 else []
    if pass_ > 1:
        said.append(f"pass {pass_}")
    return "\n".join(said)


def _hour_after(applied: Applied, zone: str) -> str:
    first, last = spoken(applied.first_us, zone), spoken(applied.last_us, zone)
    text = hour(applied.last_us, zone)
    return text if first.split()[:4] == last.split()[:4] else f"{text} {last.split()[0]}"


def _remark(applied: Applied) -> str:
    said = [] if applied.whole else [f"only {', '.join(applied.steps)}"]
    if applied.shared:
        said.append("times shared evenly")
    return "\n".join(said)


def _several(record: Record) -> bool:
    """True if several worked on the job, or one looked at what another did."""
    workers = {account.worker for account in record.accounts}
    sections = (section for stage in record.stages for section in stage.sections)
    workers |= {remark.worker for section in sections for remark in section.remarks}
    return len(workers - {""}) > 1


def _put_remarks(
    medium: Medium, stage: StageRecord, zone: str, several: bool, left: Collection[Remark]
) -> None:
    """What happened to sections but for `left`; who said so, if several worked on the job."""
    # What one press said of several sections stands there once.
    together: dict[tuple[Remark, str], list[str]] = {}
    for section in stage.sections:
        for remark in section.remarks:
            if remark in left or _is_told_before(remark, section.remarks):
                continue
            apart = "" if remark.what in ("water", "fine", "not looked at") else section.section
            # When a chance went by unused is no hour of anybody's.
            missed = remark.what == "not looked at" and not remark.worker
            told = replace(remark, at_us=Instant(0)) if missed else remark
            together.setdefault((told, apart), []).append(section.section)
    everything = [section.section for section in stage.sections if section.state != "cut in two"]
    for (remark, _apart), names in sorted(
        together.items(), key=lambda told: (not told[0][0].at_us, told[0][0].at_us)
    ):
        by = f" by {remark.worker}" if several and remark.worker else ""
        when = f"{spoken(remark.at_us, zone)}{by}"
        why = f": {remark.why}" if remark.why else ", no reason given"
        match remark.what:
            case "left out":
                said = f"left out {when}{why}"
            case "done again":
                said = f"to be done again, {when}{why}"
            case "cut in two":
                said = f"cut {when} into {remark.why}"
            case "water":
                said = f"water on it {when}{why if remark.why else ''}"
            case "fine":
                said = f"looked at again {when}: fine"
            case "not looked at" if not remark.worker:
                said = f"not looked at{why}"
            case found:
                said = f"{found} {when}{why if remark.why else ''}"
        medium.words(f"{places(names, everything)}{':' if len(names) > 1 else ''} {said}", 1, True)
    for state, label in _STILL.items():
        names = [s.section for s in stage.sections if s.state == state]
        if names:
            whole = len(names) == len(stage.sections) > 1
            where = "all of it" if whole else places(names, everything)
            medium.words(f"{label}: {where}", 1, True)


def _is_told_before(remark: Remark, others: Sequence[Remark]) -> bool:
    """True of work to be done again whose reason is a finding that says so itself."""
    return remark.what == "done again" and any(
        one.at_us == remark.at_us and remark.why == f"{one.what}: {one.why}" for one in others
    )


def _put_windows(medium: Medium, record: Record) -> None:
    if not record.windows:
        return
    medium.heading("Windows asked and taken", "after the last touch")
    rows: list[TableRow | Note] = []
    groups: dict[tuple[str, str, int, int], list[Asked]] = {}
    for window in record.windows:
        key = (window.stage, window.kind, window.layer, window.pass_)
        groups.setdefault(key, []).append(window)
    layers = {stage.stage: stage.layers for stage in record.stages}
    for (stage, kind, layer, pass_), windows in groups.items():
        long = any(w.closes_us - w.last_us >= 3600 * SECOND_US for w in windows)
        turn = _turn(layers[stage], layer, pass_).replace("\n", ", ")
        before = f"{kind} before {turn}" if kind == "gap" else ", ".join(filter(None, (kind, turn)))
        unit = "hours:minutes" if long else "minutes:seconds"
        example = "; example, replace from the pack" if any(w.example for w in windows) else ""
        rows.append(Note(f"{stage}, {before} ({unit}{example})", hangs=True))
        # One mark for all of them is said once.
        offs = {None if w.off_by_us is None else w.off_by_us - w.last_us for w in windows}
        alike = next(iter(offs)) if len(offs) == 1 else None
        if alike is not None:
            rows.append(Note(f"to be off by {_length(alike, long)}", 1))
        calendar = Calendar(record.zone)
        for w in windows:
            rows += calendar.turned(w.last_us)
            ends = (w.opens_us, w.due_us, w.closes_us)
            cells = (
                w.section,
                hour(w.last_us, record.zone, seconds=True),
                *(_after(w, at_us, long) for at_us in (*ends, w.ended_us)),
                _outcome(w, long, len(offs) > 1),
            )
            rows.append(TableRow(cells, 1))
    medium.table(_WINDOWS, rows)


def _after(window: Asked, at_us: Instant | None, long: bool) -> str:
    return "-" if at_us is None else _length(at_us - window.last_us, long)


def _length(length_us: int, long: bool) -> str:
    """As a clock shows it, or as hours:minutes; fractions are cut off."""
    if not long:
        return lasted(length_us)
    return exact_text(max(0, length_us) // SECOND_US)[:-3]


def _outcome(window: Asked, long: bool, each_off_by: bool) -> str:
    match window.outcome:
        case "early" | "late":
            said = [f"{window.outcome} by {_length(window.off_us, long)}"]
        case "running":
            said = ["still running"]
            if window.off_us:
                said.append(f"late by {_length(window.off_us, long)}")
        case "left":
            said = [NEVER_TAKEN]
        case _:
            said = [window.outcome]
    if each_off_by and window.off_by_us is not None:
        said.append(f"off by {_length(window.off_by_us - window.last_us, long)}")
    if window.seen_us is not None:
        said.append(f"seen {_length(window.seen_us - window.last_us, long)}")
    if window.revised:
        said.append("marks revised")
    return "\n".join(said)


def _put_notes(medium: Medium, record: Record) -> None:
    # What was found, read and agreed has a chapter of its own.
    kept = [noted for noted in record.noted if noted.kind in _WRITTEN]
    if not kept:
        return
    medium.heading("Notes, files, papers")
    said = []
    for noted in kept:
        where = f", {noted.where}" if noted.where else ""
        private = " (private)" if noted.private and noted.kind != _BEFORE_COAT else ""
        said.append((noted.at_us, f"{noted.kind}{where}{private}: {noted.text}"))
    medium.table(ENTRIES, dated_entries(said, record.zone))


def _put_dated(medium: Medium, zone: str, found: Sequence[tuple[int, str]]) -> None:
    medium.table(ENTRIES, dated_entries(found, zone))
    if not found:
        medium.words("None.", 1)


def _put_trail(medium: Medium, record: Record) -> None:
    zone, trail = record.zone, record.trail
    medium.heading("Overruled")
    overruled = [
        (one.at_us, f"{one.what}; {one.rule.replace('_', ' ')}: {one.why or 'no reason given'}")
        for one in trail.overruled
    ]
    _put_dated(medium, zone, overruled)
    medium.heading("Put right afterwards")
    told = []
    for fix in trail.corrections:
        to = "" if fix.to_us is None else f" to {spoken(fix.to_us, zone)}"
        why = f"; {fix.why}" if fix.why else ""
        later = "" if fix.stands else "; this was struck later"
        said = f"{fix.kind}{to}: {fix.what}, written for {spoken(fix.was_us, zone)}{why}{later}"
        told.append((fix.entered_us, said))
    for late in trail.late:
        more = f" and {late.rows - 1} more" if late.rows > 1 else ""
        told.append(
            (late.entered_us, f"entered late for {spoken(late.at_us, zone)}: {late.what}{more}")
        )
    _put_dated(medium, zone, sorted(told))


def _put_clocks(medium: Medium, record: Record) -> None:
    zone, trail = record.zone, record.trail
    medium.heading("Clocks")
    told = [
        (gap.from_us, f"the program did not run: {between(gap.from_us, gap.to_us, zone)}")
        for gap in trail.gaps
    ]
    told += [
        (s.at_us, f"the wall clock was set by {s.by_us / SECOND_US:+.0f} s; no length moved")
        for s in trail.steps
    ]
    told += [(one.at_us, f"time not sure: {one.what}") for one in trail.unsure]
    told += [(at_us, "the worker said what time it is") for at_us in trail.told_time_us]
    told += [(one.at_us, f"set aside: {one.what}; {one.why}") for one in trail.aside]
    _put_dated(medium, zone, sorted(told))


def _put_proof(medium: Medium, record: Record) -> None:
    medium.heading("Where this comes from")
    rows = f"a log of {record.proof.rows} rows"
    digest = (
        f"; its newest row has the digest\n{record.proof.digest}" if record.proof.digest else "."
    )
    medium.words(f"Made {spoken(record.now_us, record.zone)} from {rows}{digest}")
    medium.words(f"Reckoned by version {record.reckoning} of the rules.")
