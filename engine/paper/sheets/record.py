"""The record of a job as plain text."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from engine.job.applied import Applied, Asked, Remark, SectionRecord, StageRecord
from engine.job.dates import spoken
from engine.job.record import Record
from engine.job.section import SectionState
from engine.job.words import reading_text
from engine.paper.page.text import Calendar, Page
from engine.paper.said import SECOND_US, between, exact_text, hour, lasted
from engine.paper.sheets.aftercare import put_aftercare, put_films
from engine.paper.sheets.coated import put_coated
from engine.paper.sheets.exposure import put_exposures
from engine.paper.sheets.gate import put_gate
from engine.paper.sheets.products import put_products
from engine.paper.sheets.time_sheet import (
    COLUMNS,
    HEADS,
    own_and_rest,
    put_account,
    put_hours,
    put_law,
    put_questions,
)
from engine.paper.sheets.vehicle import put_vehicle

_STILL: dict[SectionState, str] = {
    "todo": "Not done",
    "in hand": "In hand now",
    "held": "Put down unfinished",
    "waiting": "Waiting for the next step",
}


def record_text(record: Record, round_minutes: int = 0, currency: str = "") -> str:
    """The record in lines of at most 80 cells, ended by a line feed.

    round_minutes: step to which clock times of the shifts are also shown rounded, one of
    `engine.job.breaks.ROUNDING_MINUTES`; 0 for not at all. currency: stands behind the cost of
    products.
    """
    page = Page()
    put_record(page, record, round_minutes, currency)
    return str(page)


def put_record(
    page: Page,
    record: Record,
    round_minutes: int = 0,
    currency: str = "",
    put_chart: Callable[[], None] | None = None,
) -> None:
    """All chapters of the record.

    put_chart: puts a picture behind the head of a page that can hold one; the other arguments
    as in `record_text`.
    """
    _put_head(page, record)
    if put_chart is not None:
        put_chart()
    put_vehicle(page, record)
    _put_hours(page, record, round_minutes)
    put_questions(page, record.accounts, record.zone)
    _put_readings(page, record)
    put_exposures(page, record.exposures, record.zone)
    _put_sections(page, record)
    put_coated(page, record.coated, record.zone)
    put_gate(page, record.gate, record.zone)
    _put_windows(page, record)
    put_products(page, record.used, record.products, record.zone, currency)
    put_films(page, record)
    put_aftercare(page, record.cares, record.zone)
    _put_notes(page, record)
    _put_trail(page, record)
    _put_clocks(page, record)
    _put_proof(page, record)


def _put_head(page: Page, record: Record) -> None:
    zone = record.zone
    page.title("JOB RECORD", f"job {record.number}")
    page.line()
    page.line(record.vehicle)
    page.line()
    page.field("Plan", record.plan)
    if record.customer:
        page.field("Customer", record.customer)
    if record.plate:
        page.field("Plate", record.plate)
    page.field("Opened", spoken(record.opened_us, zone))
    if record.promised_us is not None:
        page.field("Promised", spoken(record.promised_us, zone))
    if record.handover:
        page.field("Hand-over", record.handover)
    closed = record.closed_us
    page.field("Closed", "not closed yet" if closed is None else spoken(closed, zone))
    page.field("Zone", zone)
    if record.price:
        page.field("Price agreed", record.price)


def _put_hours(page: Page, record: Record, round_minutes: int) -> None:
    page.chapter("Hours", HEADS, COLUMNS)
    if not record.accounts:
        page.line("No shift was worked on this job.")
    for index, account in enumerate(record.accounts):
        if index:
            page.line()
        nodes = own_and_rest(account.shares, record.job)
        put_account(page, account, nodes, record.zone, round_minutes)
    if len(record.accounts) > 1:
        page.line()
        page.line(f"All {len(record.accounts)} shifts together")
        page.line()
        put_hours(page, "On the clock", own_and_rest(record.shares, record.job))
    put_law(page, [account.rule_set for account in record.accounts])


def _put_readings(page: Page, record: Record) -> None:
    if not record.readings:
        return
    page.chapter("Readings")
    calendar = Calendar(page, record.zone)
    for one in record.readings:
        calendar.turn(one.at_us)
        rain_us = one.reading.rain_at_us
        rain = "" if rain_us is None else f", rain expected {spoken(rain_us, record.zone)}"
        _put_entry(page, hour(one.at_us, record.zone), reading_text(one.reading) + rain)


def _put_entry(page: Page, when: str, text: str) -> None:
    page.columns((when, text), (-12, -64), 4)


def _put_sections(page: Page, record: Record) -> None:
    page.chapter("What was done, section by section")
    for index, stage in enumerate(record.stages):
        if index:
            page.line()
        layers = f", {stage.layers} layers" if stage.layers > 1 else ""
        done = _rows(stage)
        heads = ("", "first", "last", "by", "") if done else ("",) * 5
        page.heads((f"{stage.stage}{layers}", *heads), (-23, -11, -10, -10, -10, -16))
        calendar = Calendar(page, record.zone)
        for section, applied in done:
            calendar.turn(applied.first_us)
            page.columns(
                (
                    section.section,
                    _turn(stage.layers, applied.layer, applied.pass_),
                    hour(applied.first_us, record.zone),
                    _hour_after(applied, record.zone),
                    ", ".join(applied.workers),
                    _remark(applied),
                ),
                (-23, -9, -10, -10, -10, -16),
                2,
            )
        _put_remarks(page, stage, record.zone)


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


def _put_remarks(page: Page, stage: StageRecord, zone: str) -> None:
    # What one press said of several sections stands there once.
    together: dict[tuple[Remark, str], list[str]] = {}
    for section in stage.sections:
        for remark in section.remarks:
            apart = "" if remark.what in ("water", "fine") else section.section
            together.setdefault((remark, apart), []).append(section.section)
    for (remark, _apart), names in together.items():
        when = spoken(remark.at_us, zone)
        why = f": {remark.why}" if remark.why else ", no reason given"
        match remark.what:
            case "skipped":
                said = f"skipped {when}{why}"
            case "redone":
                said = f"to be redone, {when}{why}"
            case "split":
                said = f"cut {when} into {remark.why}"
            case "water":
                said = f"water on it {when}{why if remark.why else ''}"
            case "fine":
                said = f"looked at again {when}: fine"
            case "high spot":
                said = f"high spot {when}{why if remark.why else ''}"
        page.line(f"{', '.join(names)}{':' if len(names) > 1 else ''} {said}", 2, 2)
    for state, label in _STILL.items():
        names = [s.section for s in stage.sections if s.state == state]
        if names:
            everything = len(names) == len(stage.sections) > 1
            page.line(f"{label}: {'all of it' if everything else ', '.join(names)}", 2, 2)


def _put_windows(page: Page, record: Record) -> None:
    if not record.windows:
        return
    widths = (-23, -9, 6, 7, 8, 8, 1, -16)
    page.chapter("Windows asked and taken", ("after the last touch",))
    page.heads(
        ("", "touched", "opens", "due", "closes", "taken", "", ""),
        widths,
        2,
    )
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
        page.line(f"{stage}, {before} ({unit}{example})", 0, 2)
        # One mark for all of them is said once.
        offs = {None if w.off_by_us is None else w.off_by_us - w.last_us for w in windows}
        alike = next(iter(offs)) if len(offs) == 1 else None
        if alike is not None:
            page.line(f"to be off by {_length(alike, long)}", 2)
        calendar = Calendar(page, record.zone)
        for w in windows:
            calendar.turn(w.last_us)
            ends = (w.opens_us, w.due_us, w.closes_us)
            page.columns(
                (
                    w.section,
                    hour(w.last_us, record.zone, seconds=True),
                    *(_after(w, at_us, long) for at_us in ends),
                    _after(w, w.ended_us, long) if w.ended_us is not None else "-",
                    "",
                    _outcome(w, long, len(offs) > 1),
                ),
                widths,
                2,
            )


def _after(window: Asked, at_us: int, long: bool) -> str:
    return _length(at_us - window.last_us, long)


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
        case _:
            said = [window.outcome]
    if each_off_by and window.off_by_us is not None:
        said.append(f"off by {_length(window.off_by_us - window.last_us, long)}")
    if window.seen_us is not None:
        said.append(f"seen {_length(window.seen_us - window.last_us, long)}")
    if window.revised:
        said.append("marks revised")
    return "\n".join(said)


def _put_notes(page: Page, record: Record) -> None:
    # What was found, read and agreed has a chapter of its own.
    kept = [noted for noted in record.noted if noted.kind in ("note", "file", "paper")]
    if not kept:
        return
    page.chapter("Notes, files, papers")
    calendar = Calendar(page, record.zone)
    for noted in kept:
        calendar.turn(noted.at_us)
        where = f", {noted.where}" if noted.where else ""
        private = " (private)" if noted.private else ""
        text = f"{noted.kind}{where}{private}: {noted.text}"
        _put_entry(page, hour(noted.at_us, record.zone), text)


def _put_dated(page: Page, zone: str, entries: Iterable[tuple[int, str]]) -> None:
    calendar = Calendar(page, zone)
    any_put = False
    for at_us, text in entries:
        calendar.turn(at_us)
        _put_entry(page, hour(at_us, zone), text)
        any_put = True
    if not any_put:
        page.line("None.", 2)


def _put_trail(page: Page, record: Record) -> None:
    zone, trail = record.zone, record.trail
    page.chapter("Overruled")
    _put_dated(
        page,
        zone,
        (
            (one.at_us, f"{one.what}; {one.rule.replace('_', ' ')}: {one.why or 'no reason given'}")
            for one in trail.overruled
        ),
    )
    page.chapter("Put right afterwards")
    entries = []
    for fix in trail.corrections:
        to = "" if fix.to_us is None else f" to {spoken(fix.to_us, zone)}"
        why = f"; {fix.why}" if fix.why else ""
        later = "" if fix.stands else "; this was struck later"
        said = f"{fix.kind}{to}: {fix.what}, written for {spoken(fix.was_us, zone)}{why}{later}"
        entries.append((fix.entered_us, said))
    for late in trail.late:
        more = f" and {late.rows - 1} more" if late.rows > 1 else ""
        entries.append(
            (late.entered_us, f"entered late for {spoken(late.at_us, zone)}: {late.what}{more}")
        )
    _put_dated(page, zone, sorted(entries))


def _put_clocks(page: Page, record: Record) -> None:
    zone, trail = record.zone, record.trail
    page.chapter("Clocks")
    entries = [
        (gap.from_us, f"the program did not run: {between(gap.from_us, gap.to_us, zone)}")
        for gap in trail.gaps
    ]
    entries += [
        (s.at_us, f"the wall clock was set by {s.by_us / SECOND_US:+.0f} s; no length moved")
        for s in trail.steps
    ]
    entries += [(one.at_us, f"time not sure: {one.what}") for one in trail.unsure]
    entries += [(at_us, "the worker said what time it is") for at_us in trail.told_time_us]
    entries += [(one.at_us, f"set aside: {one.what}; {one.why}") for one in trail.aside]
    _put_dated(page, zone, sorted(entries))


def _put_proof(page: Page, record: Record) -> None:
    page.chapter("Where this comes from")
    rows = f"a log of {record.proof.rows} rows"
    digest = (
        f"; its newest row has the digest\n{record.proof.digest}" if record.proof.digest else "."
    )
    page.line(f"Made {spoken(record.now_us, record.zone)} from {rows}{digest}")
    page.line(f"Reckoned by version {record.reckoning} of the rules.")
