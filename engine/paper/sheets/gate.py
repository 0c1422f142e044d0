"""The gate before a coat on paper: the reading in force and the margin of every section."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.job.laid import Laid
from engine.paper.page.text import Calendar, Page
from engine.paper.said import hour

_WIDTHS = (-23, -9, -9, 9, 8, 7, 15)


def put_gate(page: Page, laid: Sequence[Laid], zone: str) -> None:
    """The chapter on the gate; nothing where no coat was begun.

    laid: as `engine.job.laid.laid` gives it. zone: in which times are told.
    """
    if not laid:
        return
    page.chapter("Gate before the coat", ("screening estimate",))
    calendar = Calendar(page, zone)
    head = ""
    layered = {one.stage for one in laid if one.layer > 1}
    told: tuple[object, ...] = ()
    for one in laid:
        wanted = f"{one.stage}, layer {one.layer}" if one.stage in layered else one.stage
        if wanted != head:
            head, told = wanted, ()
            page.heads(
                (head, "begun", "read", "panel C", "air C", "RH %", "over dew + 3 C"), _WIDTHS
            )
        calendar.turn(one.at_us)
        name = one.section if one.pass_ == 1 else f"{one.section}, pass {one.pass_}"
        page.columns(
            (
                name,
                hour(one.at_us, zone),
                "-" if one.read_us is None else hour(one.read_us, zone),
                *(_number(value) for value in (one.panel_c, one.air_c, one.rh)),
                _margin(one.margin_c),
            ),
            (-21, *_WIDTHS[1:]),
            2,
        )
        remarks = _remarks(one)
        # What was said of the section before is not said again.
        if remarks != told:
            for remark in remarks:
                page.line(remark, 4, 2)
        told = remarks


def _number(value: float | None) -> str:
    return "-" if value is None else f"{value:g}"


def _margin(margin_c: float | None) -> str:
    """With its sign, cut down like everywhere: what is short never reads as enough."""
    if margin_c is None:
        return "no verdict"
    cut = math.floor(round(margin_c * 10.0, 6)) / 10.0
    return f"{cut:+.1f}"


def _remarks(one: Laid) -> tuple[str, ...]:
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
