"""All readings in one table: what was measured, and what it says of coat and body."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from cartclock.engine.body.climate import Climate
from cartclock.engine.dates import spoken
from cartclock.engine.figures.air import (
    DEW_MARGIN_K,
    TemperatureUnit,
    bare_degrees,
    celsius,
    full_degrees,
)
from cartclock.engine.hours.account import TakenReading
from cartclock.engine.paper.degrees import (
    degrees_apart,
    reckoned_degrees,
    signed_margin,
)
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Group, TableRow
from cartclock.engine.paper.said import hour, short_day
from cartclock.engine.record.coated import Coated
from cartclock.engine.record.exposure import ExposureRecord
from cartclock.engine.record.stage_layers import shared
from cartclock.engine.times import Instant

_PLACE, _BY = Column("where", 14, rank=2), Column("WBGT by", 8, rank=2)
_ALSO = Column("also", 20, rank=2, remark=True)
_FROM = {"meter": "meter", "globe": "globe and air", "estimate": "estimate", "": ""}


class _Line(Struct, frozen=True):
    """A reading as it is told: its figures, "" for none, and what all may share."""

    at_us: Instant
    figures: tuple[str, ...]
    place: str
    by: str
    also: str


def put_readings(
    medium: Medium,
    readings: Sequence[TakenReading],
    exposures: Iterable[ExposureRecord],
    coated: Iterable[Coated],
    zone: str,
    unit: TemperatureUnit,
) -> None:
    """The chapter; nothing without a reading.

    exposures: of the shifts they were taken in. coated: what was laid by them. unit: of
    temperatures.
    """
    if not readings:
        return
    medium.heading("Readings", "screening estimate")
    climates = {one.at_us: one for exposure in exposures for one in exposure.readings}
    margins = {one.read_us: one.margin_c for one in coated if one.read_us is not None}
    lines = [
        _line(one, climates.get(one.at_us), margins.get(one.at_us), zone, unit) for one in readings
    ]
    place, by = shared(one.place for one in lines), shared(one.by for one in lines)
    alike = [place] if place else []
    alike += [f"WBGT by {by}"] if by else []
    measured = _columns(unit)
    # A column in which nothing stands is none.
    kept = [
        0,
        *(at + 1 for at in range(len(measured) - 1) if any(one.figures[at] for one in lines)),
    ]
    columns = [measured[at] for at in kept]
    columns += [_PLACE] if place is None else []
    columns += [_BY] if by is None else []
    columns += [_ALSO] if any(one.also for one in lines) else []
    day, rows = "", []
    for one in lines:
        here = short_day(one.at_us, zone)
        when = f"{here if here != day else ''} {hour(one.at_us, zone)}".strip()
        others = [one.place] if place is None else []
        others += [one.by] if by is None else []
        others += [one.also] if columns[-1] is _ALSO else []
        figures = (one.figures[at - 1] or "-" for at in kept[1:])
        rows.append(TableRow((when, *figures, *others)))
        day = here
    medium.groups(columns, [Group("", ", ".join(alike), tuple(rows))])


def _columns(unit: TemperatureUnit) -> tuple[Column, ...]:
    over = f"over dew + {degrees_apart(DEW_MARGIN_K, unit)}"
    return (
        Column("", 16),
        Column(f"air {unit}", 5, right=True),
        Column("RH %", 4, right=True),
        Column(f"panel {unit}", 7, right=True),
        Column(over, len(over), right=True),
        Column(f"WBGT {unit}", 6, right=True),
        Column("heat index", 20),
    )


def _line(
    taken: TakenReading,
    climate: Climate | None,
    margin_c: float | None,
    zone: str,
    unit: TemperatureUnit,
) -> _Line:
    reading = taken.reading
    place: str = reading.place
    if reading.moving not in ("not said", "still"):
        place += f", {reading.moving}"
    also = [] if reading.globe_c is None else [f"globe {full_degrees(reading.globe_c, unit)}"]
    if reading.rain_at_us is not None:
        also.append(f"rain expected {spoken(reading.rain_at_us, zone)}")
    if reading.confirmed:
        also.append("looks odd, asked about and kept")
    wbgt_c = None if climate is None else climate.wbgt_c
    figures = (
        "" if reading.air_c is None else bare_degrees(reading.air_c, unit),
        "" if reading.rh is None else f"{reading.rh:g}",
        "" if reading.panel_c is None else bare_degrees(reading.panel_c, unit),
        "" if margin_c is None else signed_margin(margin_c, unit),
        "" if wbgt_c is None else reckoned_degrees(wbgt_c, unit),
        "" if climate is None else index_cell(climate, unit),
    )
    by = "" if climate is None else _FROM[climate.wbgt_from]
    return _Line(taken.at_us, figures, place, by, "; ".join(also))


def index_cell(reading: Climate, unit: TemperatureUnit) -> str:
    """The heat index in F, as its table is published, for a reader of C in C as well; with its
    class from caution on."""
    if reading.off_table:
        return "off the table, extreme danger"
    if reading.index_f is None:
        return "none"
    floor = "at least " if reading.at_least else ""
    said = f"{floor}{reading.index_f:.0f} F"
    if unit == "C":
        said += f" ({celsius(reading.index_f):.0f} C)"
    return said if reading.index_bin == "none" else f"{said}, {reading.index_bin}"
