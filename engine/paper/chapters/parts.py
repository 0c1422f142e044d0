"""The parts of a vehicle on paper: which there are, how far each is told, who did what of them."""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.dates import spoken
from cartclock.engine.facts.layers import layer_text
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Group, TableRow
from cartclock.engine.paper.said import short_day, short_moment, stretch, to_minute
from cartclock.engine.record.whole_vehicle import (
    SectionDone,
    VehiclePart,
    WholeVehicle,
    WorkerHours,
)

_PARTS = (Column("part", 6), Column("on cart", 10), Column("plan", 26), Column("", 34, rank=2))
_HOURS = (
    Column("who, from which cart", 26),
    Column("hands on", 9, right=True),
    Column("by a window", 11, right=True),
    Column("other", 7, right=True),
    Column("all", 7, right=True),
)
_SECTIONS = (
    Column("from - to", 13),
    Column("section", 18),
    Column("stage", 20),
    Column("by", 16),
    Column("part", 6),
)


def not_told_texts(whole: WholeVehicle) -> list[str]:
    """What of the vehicle is not told, a sentence each."""
    said = [
        f"The part on cart {part.cart}, job {part.number}, was open when it was told of: what was "
        f"done there since {spoken(part.as_of_us, whole.zone)} is not told here."
        for part in whole.parts
        if part.may_be_behind
    ]
    return [*said, *(f"A part is not told here: {job[:8]}." for job in whole.not_told)]


def put_parts(medium: Medium, whole: WholeVehicle) -> None:
    """Which parts there are."""
    medium.heading("Parts", "each a job of its own")
    rows = [
        TableRow((f"job {part.number}", part.cart, part.plan, _state(part, whole.zone)))
        for part in whole.parts
    ]
    medium.groups(_PARTS, [Group(rows=tuple(rows))])


def _state(part: VehiclePart, zone: str) -> str:
    opened = f"opened {short_moment(part.opened_us, zone)}"
    if part.closed_us is not None:
        return f"{opened}, closed {short_moment(part.closed_us, zone)}"
    if part.may_be_behind:
        return f"{opened}, open as of {short_moment(part.as_of_us, zone)}"
    return f"{opened}, not closed yet"


def put_worker_hours(medium: Medium, whole: WholeVehicle) -> None:
    """The hours by part, and in each by worker and cart."""
    medium.heading("Hours", "hours:minutes; of each part alone")
    groups = []
    for part in whole.parts:
        own = [one for one in whole.hours if one.job == part.job]
        rows = [TableRow((f"{one.worker}, cart {one.cart}", *_lengths((one,)))) for one in own]
        if len(own) > 1:
            rows.append(TableRow(("all", *_lengths(own)), bold=True))
        none = TableRow(("nothing worked yet", "", "", "", ""))
        groups.append(Group(f"job {part.number}", part.plan, tuple(rows or [none])))
    if len(whole.parts) > 1:
        every = TableRow(("the vehicle", *_lengths(whole.hours)), bold=True)
        groups.append(Group("all parts", "", (every,)))
    medium.groups(_HOURS, groups)


def _lengths(of: Iterable[WorkerHours]) -> tuple[str, ...]:
    some = list(of)
    sums = (
        sum(one.hands_us for one in some),
        sum(one.waits_us for one in some),
        sum(one.other_us for one in some),
        sum(one.all_us for one in some),
    )
    return tuple(to_minute(us) if us else "" for us in sums)


def put_sections_done(medium: Medium, whole: WholeVehicle) -> None:
    """The sections of all parts in order of time, a group a day."""
    medium.heading("Sections", "all parts, in order of time")
    if not whole.sections:
        medium.words("Nothing was finished yet.")
        return
    days: dict[str, list[SectionDone]] = {}
    for one in whole.sections:
        days.setdefault(short_day(one.first_us, whole.zone), []).append(one)
    groups = [
        Group(day, "", tuple(_row(one, whole.zone) for one in found)) for day, found in days.items()
    ]
    medium.groups(_SECTIONS, groups)


def _row(one: SectionDone, zone: str) -> TableRow:
    layer = layer_text(one.layer, one.layers)
    stage = f"{one.stage}, {layer}" if layer else one.stage
    again = " (done again)" if one.pass_ > 1 else ""
    by = "; ".join(f"{worker}, {cart}" for worker, cart in one.by)
    when = stretch(one.first_us, one.last_us, zone)
    return TableRow((when, one.section, f"{stage}{again}", by, f"job {one.number}"))
