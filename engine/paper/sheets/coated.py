"""What was applied, section by section, on a page: product, lot, layer and times."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from cartclock.engine.dates import local, spoken, spoken_day
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.paper.said import hour, lasted, places
from cartclock.engine.paper.sheets.dated import Calendar
from cartclock.engine.record.applied import NEVER_TAKEN
from cartclock.engine.record.coated import Coated
from cartclock.engine.times import Instant

_COLUMNS = (
    Column("", 24),
    Column("first", 6),
    Column("last", 6),
    Column("levelled", 8),
    Column("expected", 9, right=True),
    Column("taken", 7, right=True),
    Column("", 13),
)


def put_coated(medium: Medium, coated: Sequence[Coated], zone: str, several: bool = False) -> None:
    """The chapter; nothing where nothing was applied that must stay.

    coated: as `engine.record.coated.coated` gives it. zone: in which times are told. several: True
    if several worked on the job.
    """
    if not coated:
        return
    medium.heading("Applied, section by section", "waits in minutes:seconds")
    rows: list[TableRow | Note] = []
    for head, group in groupby(coated, heading):
        rows.append(Note(head, hangs=True))
        layer = list(group)
        calendar = Calendar(zone)
        for one in layer:
            rows += calendar.turned(one.first_us)
            cells = (
                one.section,
                hour(one.first_us, zone),
                _hour(one.last_us, one, zone),
                _hour(one.levelled_us, one, zone),
                _wait(one, one.expected_us),
                _wait(one, one.taken_us),
                outcome(one),
            )
            rows.append(TableRow(cells, 1))
        rows += [
            Note(f"{places(names, [one.section for one in layer])}: {said}", 1, True)
            for names, said in remarks(layer, zone, several)
        ]
    medium.table(_COLUMNS, rows)


def heading(one: Coated) -> str:
    """Stage, layer, pass, products with their lots: "Coat, layer 1: Coating, lot A12"."""
    said = [one.stage]
    if one.layers > 1:
        said.append(f"layer {one.layer}")
    if one.pass_ > 1:
        said.append(f"pass {one.pass_}")
    return f"{', '.join(said)}: {products(one)}"


def products(one: Coated) -> str:
    """The products of a layer with their lots; what is not noted is said so."""
    named = []
    for put in one.products:
        lots = f"lot {' and '.join(put.lots)}" if put.lots else "lot not noted"
        named.append(f"{put.name}, {lots}")
    if named:
        return "; ".join(named)
    return "no product noted" if one.last_us is not None else "worked over, nothing laid"


def outcome(one: Coated) -> str:
    """What became of the wait in few words; "" if there was none."""
    match one.outcome:
        case "early" | "late":
            return f"{one.outcome} by {lasted(one.off_us)}"
        case "running":
            return "running"
        case "left":
            return NEVER_TAKEN
        case "left out":
            return "not taken"
        case "in the window":
            return one.outcome
        case _:
            return ""


def _hour(at_us: Instant | None, one: Coated, zone: str) -> str:
    """The clock time; with its weekday if it is not on the day of the first touch."""
    if at_us is None:
        return "-"
    day = local(at_us, zone).date()
    said = hour(at_us, zone)
    return said if day == local(one.first_us, zone).date() else f"{said} {spoken_day(day)[:3]}"


def _wait(one: Coated, at_us: Instant | None) -> str:
    if at_us is None or one.last_us is None:
        return "-"
    return lasted(at_us - one.last_us)


def remarks(
    layer: Sequence[Coated], zone: str, several: bool = False
) -> list[tuple[list[str], str]]:
    """What happened to a layer, in words: one press that spoke of several sections once.

    several: True if who said so is to be told, because several worked on the job.
    """
    together: dict[str, list[str]] = {}
    for one in layer:
        for what, told in (("water on it", one.water), ("high spot", one.high_spots)):
            for remark in told:
                why = f": {remark.why}" if remark.why else ""
                by = f" by {remark.worker}" if several and remark.worker else ""
                said = f"{what} {spoken(remark.at_us, zone)}{by}{why}"
                together.setdefault(said, []).append(one.section)
    return [(names, said) for said, names in together.items()]
