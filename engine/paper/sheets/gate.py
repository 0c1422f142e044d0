"""The gate before a coat on paper: the reading in force, its margin, and what was said of it."""

from __future__ import annotations

from cartclock.engine.films.margins import LayerBegun
from cartclock.engine.paper.said import short_moment, signed_margin
from cartclock.engine.record.coated import Coated
from cartclock.engine.record.stage_layers import WorkRow


def gate_text(row: WorkRow, zone: str) -> tuple[str, ...]:
    """The reading a section was laid in, and what asked or only warned; () where none matters.

    zone: in which times are told.
    """
    if row.film is None:
        return ()
    said = [_reading(row.film, zone)]
    return (*said, *_remarks(row.begun)) if row.begun is not None else tuple(said)


def _reading(film: Coated, zone: str) -> str:
    if film.read_us is None:
        return film.why_none.rstrip(".") or "no reading was in force"
    measured = [
        f"{what} {value:g}{unit}"
        for what, value, unit in (
            ("air", film.air_c, " C"),
            ("humidity", film.rh, " %"),
            ("panel", film.panel_c, " C"),
        )
        if value is not None
    ]
    if film.margin_c is not None:
        measured.append(f"{signed_margin(film.margin_c)} C over dew point + 3 C")
    elif not film.why_none:
        measured.append("no verdict")
    none = f"; {film.why_none.rstrip('.')}" if film.why_none else ""
    return f"read {short_moment(film.read_us, zone)}: {', '.join(measured)}{none}"


def _remarks(one: LayerBegun) -> tuple[str, ...]:
    said = []
    if one.outlived_us:
        said.append("read over an hour before, and held because the layer went on without a pause")
    said += one.broken
    said += [f"only warned: {text}" for text in one.warned]
    if one.overruled:
        said.append(f"coated all the same: {one.overruled}")
    if one.unmet:
        said.append(f"not waited for the stage's condition: {one.unmet}")
    if not one.overruled and (one.why_none or one.broken or (one.margin_c or 0.0) < 0.0):
        said.append("nothing was asked: a window ran, or it was entered later")
    return tuple(said)
