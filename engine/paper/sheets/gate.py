"""The gate before a coat on paper: the reading in force and the margin of every section."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.films.margins import LayerBegun
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.paper.said import hour
from cartclock.engine.paper.sheets.dated import Calendar

# Of sections whose reading was old, so many are named. Our own judgement.
_NAMED = 3
_COLUMNS = (
    Column("begun", 8),
    Column("read", 8),
    Column("panel C", 9, right=True),
    Column("air C", 8, right=True),
    Column("RH %", 7, right=True),
    Column("over dew + 3 C", 15, right=True),
)


def put_gate(medium: Medium, laid: Sequence[LayerBegun], zone: str) -> None:
    """The chapter on the gate; nothing where no coat was begun.

    laid: as `engine.films.margins.layers_begun` gives it. zone: in which times are told.
    """
    if not laid:
        return
    medium.heading("Gate before the coat", "screening estimate")
    calendar = Calendar(zone)
    layered = {one.stage for one in laid if one.layer > 1}
    told: tuple[object, ...] = ()
    rows: list[TableRow | Note] = []
    outlived: list[LayerBegun] = []
    head = ""
    for one in laid:
        wanted = f"{one.stage}, layer {one.layer}" if one.stage in layered else one.stage
        if wanted != head:
            # A layer that is gone back to begins a table of its own.
            _put_table(medium, head, rows, outlived)
            head, told, rows, outlived = wanted, (), [], []
        rows += calendar.turned(one.at_us)
        name = one.section if one.pass_ == 1 else f"{one.section}, pass {one.pass_}"
        cells = (
            name,
            hour(one.at_us, zone),
            "-" if one.read_us is None else hour(one.read_us, zone),
            *(_number(value) for value in (one.panel_c, one.air_c, one.rh)),
            _margin(one.margin_c),
        )
        rows.append(TableRow(cells, 1))
        outlived += [one] if one.outlived_us else []
        remarks = _remarks(one)
        # What was said of the section before is not said again.
        if remarks != told:
            rows += [Note(remark, 2, True) for remark in remarks]
        told = remarks
    _put_table(medium, head, rows, outlived)


def _put_table(
    medium: Medium, head: str, rows: Sequence[TableRow | Note], outlived: Sequence[LayerBegun]
) -> None:
    """outlived: the rows whose reading was over an hour old."""
    if rows:
        said = [Note(_outlived(outlived), 2, True)] if outlived else []
        medium.table((Column(head, 22), *_COLUMNS), [*rows, *said])


def _outlived(found: Sequence[LayerBegun]) -> str:
    """How old the reading was that held over its hour, and why it did."""
    ages = [one.outlived_us // MINUTE_US for one in found]
    where = (
        ", ".join(f"{one.section} {age} min" for one, age in zip(found, ages, strict=True))
        if len(found) <= _NAMED
        else f"{len(found)} sections, {min(ages)} to {max(ages)} min"
    )
    return f"read over an hour before, and held because the layer went on without a pause: {where}"


def _number(value: float | None) -> str:
    return "-" if value is None else f"{value:g}"


def _margin(margin_c: float | None) -> str:
    """With its sign, cut down like everywhere: what is short never reads as enough."""
    if margin_c is None:
        return "no verdict"
    cut = math.floor(round(margin_c * 10.0, 6)) / 10.0
    return f"{cut:+.1f}"


def _remarks(one: LayerBegun) -> tuple[str, ...]:
    said = [one.why_none] if one.why_none else []
    said += one.broken
    said += [f"only warned: {text}" for text in one.warned]
    if one.overruled:
        said.append(f"coated all the same: {one.overruled}")
    if one.unmet:
        said.append(f"not waited for the stage's condition: {one.unmet}")
    if not one.overruled and (one.why_none or one.broken or (one.margin_c or 0.0) < 0.0):
        said.append("nothing was asked: a window ran, or it was entered later")
    return tuple(said)
