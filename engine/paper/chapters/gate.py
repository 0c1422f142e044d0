"""The gate before a coat on paper: the reading in force, its margin, and what was said of it."""

from __future__ import annotations

from cartclock.engine.facts.words import in_both
from cartclock.engine.figures.air import TemperatureUnit, full_degrees
from cartclock.engine.films.margins import LayerBegun
from cartclock.engine.paper.degrees import over_dew_point
from cartclock.engine.paper.said import short_moment
from cartclock.engine.record.coated import Coated
from cartclock.engine.record.stage_layers import WorkRow


def gate_text(row: WorkRow, zone: str, unit: TemperatureUnit) -> tuple[str, ...]:
    """The reading a section was laid in, and what asked or only warned; () where none matters.

    zone: in which times are told. unit: of what was measured; what the gate said stays as it
    was said, in C, with the same in the unit beside it.
    """
    if row.film is None:
        return ()
    said = [_reading(row.film, zone, unit)]
    remarks = () if row.begun is None else _remarks(row.begun, unit)
    return (*said, *remarks)


def _reading(film: Coated, zone: str, unit: TemperatureUnit) -> str:
    if film.read_us is None:
        return film.why_none.rstrip(".") or "no reading was in force"
    measured = []
    if film.air_c is not None:
        measured.append(f"air {full_degrees(film.air_c, unit)}")
    if film.rh is not None:
        measured.append(f"humidity {film.rh:g} %")
    if film.panel_c is not None:
        measured.append(f"panel {full_degrees(film.panel_c, unit)}")
    if film.margin_c is not None:
        measured.append(over_dew_point(film.margin_c, unit))
    elif not film.why_none:
        measured.append("no verdict")
    none = f"; {film.why_none.rstrip('.')}" if film.why_none else ""
    return f"read {short_moment(film.read_us, zone)}: {', '.join(measured)}{none}"


def _remarks(one: LayerBegun, unit: TemperatureUnit) -> tuple[str, ...]:
    said = []
    if one.outlived_us:
        said.append("read over an hour before, and held because the layer went on without a pause")
    said += [in_both(text, unit) for text in one.broken]
    said += [f"only warned: {in_both(text, unit)}" for text in one.warned]
    if one.overruled:
        said.append(f"coated all the same: {one.overruled}")
    if one.unmet:
        said.append(f"not waited for the stage's condition: {one.unmet}")
    if not one.overruled and (one.why_none or one.broken or (one.margin_c or 0.0) < 0.0):
        said.append("nothing was asked: a window ran, or it was entered later")
    return tuple(said)
