"""What was done, section by section, in one table: a group of rows for each layer of a stage.

What all rows of a group share stands in its line, once; a reading stands before the first
section it holds for. Sections worked together are one line, and stages worked panel by panel
without a wait stand side by side.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from msgspec.structs import replace

from cartclock.engine.facts.section import SECOND_US, SectionState
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.paper.chapters.gate import gate_text
from cartclock.engine.paper.chapters.remarks import remark_text
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Group, Note, TableRow
from cartclock.engine.paper.said import exact_text, hour, lasted, places, short_day, stretch
from cartclock.engine.record.applied import NEVER_TAKEN, Asked
from cartclock.engine.record.coated import Put
from cartclock.engine.record.record import Record
from cartclock.engine.record.stage_layers import StageLayer, WorkRow, shared, stage_layers
from cartclock.engine.times import Instant

_COLUMNS = (
    Column("section", 23),
    Column("from - to", 13),
    Column("off", 6),
    Column("asked", 10, right=True),
    Column("taken", 6, right=True),
    Column("by", 10, rank=3),
    Column("remarks", 26, rank=2, remark=True),
)
_BY = 5
# So many stages stand side by side; so many names of sections stand in a line of their own.
_MOST_BESIDE, _MOST_NAMES = 4, 6
_OFF_BY = (
    "When it is to be off, nine films in ten are ready and the label's longest time is not over. "
    "One that is taken later, and before it closes, is still in the window."
)
_STILL: dict[SectionState, str] = {
    "todo": "Not done",
    "in hand": "In hand now",
    "held": "Put down unfinished",
    "waiting": "Waiting for the next step",
}


def put_sections(medium: Medium, record: Record, unit: TemperatureUnit = "C") -> None:
    """The chapter; unit: of temperatures."""
    layers = stage_layers(record)
    medium.heading("Sections", "asked: from last touch, opens-closes")
    usual = _usual(record, layers)
    if said := _usual_text(record, layers, usual):
        medium.words(said, small=True)
    panels = [layer for layer in layers if layer.setting == "panels"]
    for start in range(0, len(panels), _MOST_BESIDE):
        beside = panels[start : start + _MOST_BESIDE]
        notes = [note for layer in beside for note in _notes(layer, record.zone, usual)]
        _put_panels(medium, beside, notes, record.zone, usual)
    others = [layer for layer in layers if layer.setting != "panels"]
    named = any(
        layer.workers is None and row.workers not in ((), (usual,))
        for layer in others
        for row in layer.rows
    )
    groups = [_group(layer, record.zone, usual, named, unit) for layer in others]
    columns = _COLUMNS if named else _COLUMNS[:_BY] + _COLUMNS[_BY + 1 :]
    rows = (row for group in groups for row in group.rows if isinstance(row, TableRow))
    if not any(row.cells[-1] for row in rows):
        # The room stays free, so that the times stand beside their sections.
        columns = (*columns[:-1], replace(columns[-1], head=""))
    medium.groups(columns, groups)
    if any(window.off_by_us is not None for window in record.windows):
        medium.words(_OFF_BY, small=True)
    if any(window.example for window in record.windows):
        medium.words("(example): to be replaced from the pack.", small=True)


def _usual(record: Record, layers: Sequence[StageLayer]) -> str:
    """Who need not be named: who did more than half of it, or looked at all of it; "" if nobody."""
    did = Counter(row.workers for layer in layers for row in layer.rows if row.workers)
    for workers, count in did.most_common(1):
        return workers[0] if len(workers) == 1 and 2 * count > did.total() else ""
    return shared(_looked(record)) or ""


def _looked(record: Record) -> list[str]:
    """Who looked and said what they found, look by look."""
    sections = (section for stage in record.stages for section in stage.sections)
    return [one.worker for section in sections for one in section.remarks if one.worker]


def _usual_text(record: Record, layers: Sequence[StageLayer], usual: str) -> str:
    did = {row.workers for layer in layers for row in layer.rows if row.workers}
    if not usual or not did:
        return ""
    alone = did | {(who,) for who in _looked(record)} == {(usual,)}
    return f"All by {usual}." if alone else f"By {usual} where nobody else is named."


def _names(workers: Sequence[str] | None, usual: str) -> str:
    """Who it was, unless they need not be named; "" for nobody yet."""
    return "" if workers is None or tuple(workers) == (usual,) else ", ".join(workers)


def _by(layer: StageLayer, row: WorkRow, usual: str) -> str:
    """Who did a row, unless its layer says so."""
    return _names(row.workers, usual) if layer.workers is None else ""


def _name(layer: StageLayer) -> str:
    return (
        f"{layer.stage}, layer {layer.layer} of {layer.layers}" if layer.layers > 1 else layer.stage
    )


# Panel by panel.


def _put_panels(
    medium: Medium,
    layers: Sequence[StageLayer],
    notes: Sequence[Note],
    zone: str,
    usual: str,
) -> None:
    """Stages side by side; one alone is set in two halves, which takes half the lines."""
    sections = list(dict.fromkeys(row.section for layer in layers for row in layer.rows))
    cells = {
        layer.stage: {section: _times(layer, section, zone, usual) for section in sections}
        for layer in layers
    }
    shared_line = "; ".join(_panel_line(layer, zone, usual) for layer in layers)
    if len(layers) == 1:
        half = -(-len(sections) // 2)
        pairs = [(section, cells[layers[0].stage][section]) for section in sections]
        pairs += [("", "")] * (2 * half - len(pairs))
        columns = [Column("section", 23), Column("from - to", 14)] * 2
        rows = [
            TableRow((*left, *right))
            for left, right in zip(pairs[:half], pairs[half:], strict=True)
        ]
    else:
        columns = [Column("section", 23), *(Column(layer.stage, 13) for layer in layers)]
        rows = [
            TableRow((section, *(cells[layer.stage][section] for layer in layers)))
            for section in sections
        ]
    medium.groups(columns, [Group("Panel by panel", shared_line, (*rows, *notes))])


def _panel_line(layer: StageLayer, zone: str, usual: str) -> str:
    by = f", by {', '.join(layer.workers)}" if layer.workers not in (None, (), (usual,)) else ""
    return f"{_name(layer)} {short_day(layer.rows[0].first_us, zone)}{by}"


def _times(layer: StageLayer, section: str, zone: str, usual: str) -> str:
    """When a section was worked: each pass on a line of its own."""
    day = short_day(layer.rows[0].first_us, zone)
    told = []
    for row in layer.rows:
        if row.section != section or row.touched_us is None:
            continue
        here = short_day(row.first_us, zone)
        said = [stretch(row.first_us, row.touched_us, zone)]
        if here != day:
            said[0] = f"{here[:3]} {said[0]}"
        said += _pass(row) + _of_work(row)
        if by := _by(layer, row, usual):
            said.append(by)
        told.append(", ".join(said))
    return "\n".join(told)


# One line, or rows with windows.


def _group(layer: StageLayer, zone: str, usual: str, named: bool, unit: TemperatureUnit) -> Group:
    """named: True if the table has a column for who it was."""
    notes = _notes(layer, zone, usual)
    if not layer.rows:
        told = [note.text for note in notes] if len(notes) == 1 else []
        shared_line = "; ".join(part for part in (_gaps(layer), *told) if part)
        return Group(_name(layer), shared_line, () if told else notes)
    if layer.setting == "line":
        return Group(_name(layer), _line(layer, zone, usual), notes)
    said = [short_day(layer.rows[0].first_us, zone)]
    if layer.products:
        said.append(_products(layer.products))
    if layer.workers not in (None, (), (usual,)):
        said.append(f"by {', '.join(layer.workers)}")
    gaps = _gaps(layer)
    said += [gaps] if gaps else []
    waits = [wait for row in layer.rows for wait in row.waits]
    said += [_kinds(waits)] if waits else []
    return Group(_name(layer), "; ".join(said), (*_rows(layer, zone, usual, named, unit), *notes))


def _line(layer: StageLayer, zone: str, usual: str) -> str:
    """Each time with what was worked then: "Tue 19 May 08:06-08:56: all 5 sections"."""
    times: dict[tuple[Instant, Instant], list[WorkRow]] = {}
    for row in layer.rows:
        if row.touched_us is not None:
            times.setdefault((row.first_us, row.touched_us), []).append(row)
    told = []
    for (first_us, last_us), rows in times.items():
        said = f"{short_day(first_us, zone)} {stretch(first_us, last_us, zone)}"
        names = [row.section for row in rows]
        if len(names) == len(layer.sections) > _MOST_NAMES:
            said += f", all {len(names)} sections"
        elif len(layer.sections) > 1 or names != list(layer.sections):
            said += f", {', '.join(names)}"
        for extra in dict.fromkeys(text for row in rows for text in (*_pass(row), *_of_work(row))):
            said += f", {extra}"
        by = " and ".join(dict.fromkeys(", ".join(row.workers) for row in rows if row.workers))
        told.append(said if by in ("", usual) else f"{said}, by {by}")
    return "; ".join(told)


def _rows(
    layer: StageLayer, zone: str, usual: str, named: bool, unit: TemperatureUnit
) -> Iterable[TableRow | Note]:
    day = short_day(layer.rows[0].first_us, zone)
    reading: tuple[str, ...] = ()
    off_by = _off_by([wait for row in layer.rows for wait in row.waits])
    laid = next((row.products for row in layer.rows if not row.worked_over), ())
    if layer.products is None:
        yield Note(_products(laid))
    for row in layer.rows:
        here = short_day(row.first_us, zone)
        said = gate_text(row, zone, unit)
        if here != day:
            yield Note(here)
        if said and said != reading:
            yield from (Note(text) for text in said)
        if row.products != laid and not row.worked_over:
            yield Note(_products(row.products))
            laid = row.products
        day, reading = here, said or reading
        by = _by(layer, row, usual)
        remarks = _remarks(row, zone, usual, off_by)
        cells = (row.section, *_touches(row, zone), *_waits(row), by, remarks)
        yield TableRow(cells if named else cells[:_BY] + cells[_BY + 1 :])


def _touches(row: WorkRow, zone: str) -> tuple[str, str]:
    if row.touched_us is None:
        return f"{hour(row.first_us, zone)}-", ""
    off_us = row.off_us
    off = "" if off_us is None else hour(off_us, zone)
    if off_us is not None and short_day(off_us, zone) != short_day(row.first_us, zone):
        off = f"{off} {short_day(off_us, zone)[:3]}"
    return stretch(row.first_us, row.touched_us, zone), off


def _waits(row: WorkRow) -> tuple[str, str]:
    taken = ["-" if one.ended_us is None else _after(one, one.ended_us) for one in row.waits]
    return "\n".join(map(_span, row.waits)), "\n".join(taken)


def _span(one: Asked) -> str:
    """When it opened and closed. A film without a width has no span: its remark says why."""
    opens = _after(one, one.opens_us)
    return f"from {opens}" if one.told_shut_us else f"{opens}-{_after(one, one.closes_us)}"


def _after(one: Asked, at_us: Instant) -> str:
    return lasted(one.told_us(one.last_us, at_us))


def _remarks(row: WorkRow, zone: str, usual: str, off_by: int | None) -> str:
    """off_by: how long after its last touch each film was to be off, as the layer's line says."""
    said = _pass(row) + _of_work(row)
    if row.applied is None:
        said.append("not finished")
    for one in row.waits:
        said += outcome_words(one, False)
        own = _own_off_by(one)
        if own is not None and own != off_by:
            said.append(f"to be off by {lasted(own)}")
    if row.gap is not None:
        said += [f"gap {text}" for text in outcome_words(row.gap, True)]
    day = short_day(row.first_us, zone)
    said += [remark_text(remark, zone, usual, day) for remark in row.remarks]
    return "; ".join(said)


def _pass(row: WorkRow) -> list[str]:
    return [f"pass {row.time}"] if row.time > 1 else []


def _of_work(row: WorkRow) -> list[str]:
    if row.applied is None:
        return []
    whole = row.applied.whole and not row.worked_over
    said = [] if whole else [f"only {', '.join(row.applied.steps)}"]
    return [*said, "times shared evenly"] if row.applied.shared else said


def outcome_words(one: Asked, long: bool) -> list[str]:
    """What became of a window, in words; nothing if it was taken up in time and unseen.

    long: True to tell lengths in hours and minutes.
    """
    off = wait_text(one.told_off_us, long)
    match one.outcome:
        case "early" | "late":
            said = [f"{one.outcome} by {off}"]
        case "running":
            said = [f"still running, late by {off}" if one.off_us else "still running"]
        case "left":
            said = [NEVER_TAKEN]
        case "left out":
            said = ["left out"]
        case "in the window":
            said = []
    if shut_us := one.told_shut_us:
        shut = wait_text(shut_us, long)
        said.insert(0, f"its first part had closed {shut} before its last one opened")
    if one.seen_us is not None:
        said.append(f"seen {wait_text(one.told_us(one.last_us, one.seen_us), long)}")
    if one.revised:
        said.append("marks revised")
    return said


def wait_text(length_us: int, long: bool) -> str:
    """As a clock shows it, or as hours:minutes; fractions are cut off."""
    return exact_text(max(0, length_us) // SECOND_US)[:-3] if long else lasted(length_us)


# What is shared.


def _products(laid: Sequence[Put]) -> str:
    return "; ".join(f"{put.name}, {put.lots_text}" for put in laid) or "nothing laid"


def _kinds(waits: Sequence[Asked]) -> str:
    """Kinds of the windows, whether an example's, by when they were to be off, and how many were
    taken later than that."""
    said = " and ".join(dict.fromkeys(one.kind for one in waits))
    if any(one.example for one in waits):
        said += " (example)"
    marked = [one for one in waits if one.off_by_us is not None]
    off_by = _off_by(marked)
    if off_by is None:
        return said
    said += f", to be off by {lasted(off_by)}"
    if any(_own_off_by(one) != off_by for one in marked):
        said += " where nothing else is said"
    taken = [one for one in marked if one.ended_us is not None]
    later = sum(map(_taken_later, taken))
    return f"{said}, {later} of {len(taken)} taken later" if later else said


def _own_off_by(one: Asked) -> int | None:
    """How long after its last touch a film was to be off; None without that mark."""
    return None if one.off_by_us is None else one.told_us(one.last_us, one.off_by_us)


def _off_by(waits: Iterable[Asked]) -> int | None:
    """The mark that most of these had; None if they had none."""
    marks = Counter(mark for one in waits if (mark := _own_off_by(one)) is not None)
    return next((mark for mark, _count in marks.most_common(1)), None)


def _taken_later(one: Asked) -> bool:
    """True if it was taken later than it was to be off."""
    if one.ended_us is None or one.off_by_us is None:
        return False
    return one.told_us(one.off_by_us, one.ended_us) > 0


def _gaps(layer: StageLayer) -> str:
    """The gaps before a layer: what was asked and what was taken; "" without one."""
    gaps = (*layer.ended_gaps, *layer.gaps)
    if not gaps:
        return ""
    asked = _ends([gap.told_us(gap.last_us, gap.opens_us) for gap in gaps])
    closes = _ends([gap.told_us(gap.last_us, gap.closes_us) for gap in gaps])
    said = f"gap asked {asked} to {closes} h"
    taken = [gap.told_us(gap.last_us, gap.ended_us) for gap in gaps if gap.ended_us is not None]
    if taken:
        said += f", taken {_ends(taken)} h"
    # What no section of the layer ended is said here, in the words of a window.
    open_: dict[str, list[str]] = {}
    for gap in layer.gaps:
        open_.setdefault("; ".join(outcome_words(gap, True)), []).append(gap.section)
    for words, names in open_.items():
        said += f", {words} on {places(names, layer.sections)}"
    return said + (" (example)" if any(gap.example for gap in gaps) else "")


def _ends(lengths_us: Sequence[int]) -> str:
    return " to ".join(
        dict.fromkeys(wait_text(us, True) for us in (min(lengths_us), max(lengths_us)))
    )


def _notes(layer: StageLayer, zone: str, usual: str) -> tuple[Note, ...]:
    """Remarks without a row of their own; among stages side by side each names its stage."""
    stage = f"{layer.stage}, " if layer.setting == "panels" else ""
    told = [
        Note(
            f"{stage}{places(one.sections, layer.sections)}: {remark_text(one.remark, zone, usual)}"
        )
        for one in layer.told
        if one.remark.what != "fine"
    ]
    looks = _looks(layer, zone, usual)
    told += [Note(f"{stage}looked at, fine: {looks}")] if looks else []
    if layer.setting != "rows":
        told += [
            Note(f"{stage}{row.section}: {remark_text(remark, zone, usual)}")
            for row in layer.rows
            for remark in row.remarks
        ]
    for state, names in layer.still.items():
        whole = len(names) == len(layer.sections) > 1
        where = "all of it" if whole else places(names, layer.sections)
        told.append(Note(f"{stage}{_STILL[state]}: {where}"))
    return tuple(told)


def _looks(layer: StageLayer, zone: str, usual: str) -> str:
    """When which sections were looked at and found fine; each day is named where it begins."""
    told, day = [], ""
    for one in layer.told:
        if one.remark.what == "fine":
            here = short_day(one.remark.at_us, zone)
            by = "" if one.remark.worker == usual else f" by {one.remark.worker}"
            when = f"{here if here != day else ''} {hour(one.remark.at_us, zone)}{by}".strip()
            told.append(f"{when} {places(one.sections, layer.sections)}")
            day = here
    return "; ".join(told)
