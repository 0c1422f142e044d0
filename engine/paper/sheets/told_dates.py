"""What the customer was told, on the shop's own paper: every date, its beginning, its source."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cartclock.engine.after.aftercare import Care, CureEnd, Recoat
from cartclock.engine.after.dates import MAY, ToldDate
from cartclock.engine.after.dues import Due, due_end_us
from cartclock.engine.dates import local, spoken, spoken_day, up_to_minute
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Group, Note, TableRow
from cartclock.engine.paper.said import short_moment
from cartclock.engine.paper.sheets.aftercare import EXAMPLE_TEXT, cure_climate, otherwise_text
from cartclock.engine.record.customer import due_text
from cartclock.engine.record.record import Record
from cartclock.engine.record.stage_layers import shared

_COLUMNS = (
    Column("when", 33),
    Column("", 30),
    Column("counted from", 29, rank=2),
    Column("source", 14, rank=2),
)
_SOURCE = 3


def put_told_dates(medium: Medium, record: Record, unit: TemperatureUnit) -> None:
    """The chapter; nothing if the plan names no date. unit: of temperatures."""
    rows: list[TableRow | Note] = []
    named: list[Care] = []
    for one in record.dates:
        own = _named(one, record)
        rows += _told(one, own, record.zone, unit)
        named += own
    for care in record.cares:
        if care not in named:
            rows += _care(care, record.zone)
    for cure in record.cures:
        rows += _cure(cure, record, unit)
    for recoat in record.recoats:
        rows += _recoat(recoat, record.zone)
    if not rows:
        return
    medium.heading("Dates told to the customer")
    source = shared(row.cells[_SOURCE] for row in rows if isinstance(row, TableRow))
    if source is None:
        medium.groups(_COLUMNS, [Group("", "", tuple(rows))])
        return
    without = tuple(
        TableRow(row.cells[:_SOURCE]) if isinstance(row, TableRow) else row for row in rows
    )
    medium.groups(_COLUMNS[:_SOURCE], [Group("", f"Source: {source}", without)])


def _named(one: ToldDate, record: Record) -> list[Care]:
    """The lines of the aftercare that say no more than this date: the one that ends with it, then
    the one that begins with it, if both are counted alike."""
    zone = record.zone
    until = [
        care
        for care in record.cares
        if care.say == one.line
        and [(due.kind, due_end_us(due, zone)) for due in care.dues] == [("until", one.at_us)]
    ][:1]
    then = [
        care
        for care in record.cares
        if care.say == one.then
        and [due.kind for due in care.dues] == ["from"]
        and all(_counted(care, zone) == _counted(other, zone) for other in until)
        and all(care.source == other.source for other in until)
    ][:1]
    return [*until, *then] if until or not one.line else []


def _told(
    one: ToldDate, named: Sequence[Care], zone: str, unit: TemperatureUnit
) -> Iterable[TableRow | Note]:
    """A date with what is said of it until then and from then on."""
    source = EXAMPLE_TEXT if one.example else "label"
    if one.at_us is None:
        yield TableRow((f"known when {one.stage} is finished", MAY[one.about], one.why, source))
        return
    when = f"not before {spoken(up_to_minute(one.at_us), zone)}"
    if named:
        source = EXAMPLE_TEXT if one.example else named[0].source
        yield TableRow((when, MAY[one.about], _counted(named[0], zone), source))
    else:
        yield TableRow((when, MAY[one.about], one.line or one.then or one.why, source))
    for care in named:
        when = "Until then" if care.say == one.line else "Then"
        yield from _notes(care, zone, f"{when}: {care.say}")
    if said := otherwise_text(one, zone, unit):
        yield Note(said)


def _care(care: Care, zone: str) -> Iterable[TableRow | Note]:
    source = EXAMPLE_TEXT if care.example else care.source
    if care.state != "dated":
        said = "no date" if care.state == "not yet" else "drops out"
        yield TableRow((said, care.say, "", source))
        yield Note(f"{said}: {care.why}")
    elif care.dues:
        when = "\n".join(_due(due, zone) for due in care.dues)
        yield TableRow((when, care.say, _counted(care, zone), source))
    else:
        yield TableRow(("no day", care.say, "", source))
    yield from _notes(care, zone)


def _notes(care: Care, zone: str, told: str = "") -> Iterable[Note]:
    """What stands under the date of a line. told: its sentence, where that is not in the row."""
    not_kept = f"If it happens all the same: {care.if_not}" if care.if_not else ""
    if told:
        yield Note(f"{told} {not_kept}".strip())
    if care.no_day:
        yield Note(care.no_day)
    for due in care.dues:
        if due.moved_from:
            yield Note(f"{due_text(due, zone)}: moved from {spoken_day(due.moved_from)}, {due.why}")
    for wet in care.wet:
        yield Note(wet)
    if not_kept and not told:
        yield Note(not_kept)


def _due(due: Due, zone: str) -> str:
    when = due_text(due, zone)
    if due.kind == "every":
        return f"{when} ({due.nth} of {due.of})" if due.of > 1 else when
    return f"{due.kind} {when}"


def _counted(care: Care, zone: str) -> str:
    lengths = dict.fromkeys(
        f"every {due.duration}" if due.kind == "every" else due.duration for due in care.dues
    )
    if care.anchor_us is None:
        return " and ".join(lengths)
    when = short_moment(care.anchor_us, zone)
    start = f"{care.after}, {care.anchor_section}, {when}" if care.after else f"the close, {when}"
    said = f"{' and '.join(lengths)} from {start}"
    if any(
        due.at_us is not None
        and local(due.at_us, zone).utcoffset() != local(care.anchor_us, zone).utcoffset()
        for due in care.dues
    ):
        said += "; the clocks change in between"
    if care.without:
        said += f"; nothing was put on {', '.join(care.without)}"
    if care.visit:
        said += "; at the shop"
        said += "" if care.days_known else ", or on its next open day if it is closed"
    return said


def _cure(cure: CureEnd, record: Record, unit: TemperatureUnit) -> Iterable[TableRow | Note]:
    zone = record.zone
    source = EXAMPLE_TEXT if cure.example else "label"
    if cure.anchor_us is None or cure.until_us is None or cure.not_before_us is None:
        yield TableRow(("no date", f"{cure.stage}: cured", "", source))
        yield Note(f"no date: {cure.why}")
        return
    start = f"last touch {cure.section}, {short_moment(cure.anchor_us, zone)}"
    when = f"not before {spoken(up_to_minute(cure.not_before_us), zone)}"
    yield TableRow((when, f"{cure.stage}: cured", start, source))
    said = cure_climate(cure, record, unit)
    if said:
        yield Note(said)


def _recoat(recoat: Recoat, zone: str) -> Iterable[TableRow | Note]:
    when = (
        f"not before {spoken(up_to_minute(recoat.opens_us), zone)}\n"
        f"not after {spoken(recoat.closes_us, zone)}"
    )
    what = f"{recoat.stage}, layer {recoat.layer} on {', '.join(recoat.sections)}"
    yield TableRow((when, what, "", EXAMPLE_TEXT if recoat.example else "label"))
    if recoat.closes_us <= recoat.opens_us:
        yield Note("The first section closes before the last one opens: go section by section.")
