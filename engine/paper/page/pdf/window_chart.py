"""Windows asked against taken: for every film a bar from opens to closes, and when it was taken."""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.paper.page.pdf.chart import (
    Scale,
    length_scale,
    length_text,
    put_axis,
    put_bar,
    put_key,
    row_drawing,
)
from cartclock.engine.paper.page.pdf.ink import Draw, Ink
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.record.applied import NEVER_TAKEN, Asked
from cartclock.engine.times import Instant, Length

_RIGHT_CELLS = 19
# A window taken much too late would squeeze all others: it is drawn at the end, with an arrow.
_MOST_TIMES = 2


def put_window_bars(page: Print, windows: Iterable[Asked], over: str = "") -> None:
    """The windows as rows, one scale for each stage and kind; `over` stands before the stage."""
    groups: dict[tuple[str, str, int, int], list[Asked]] = {}
    for window in windows:
        key = window.stage, window.kind, window.layer, window.pass_
        groups.setdefault(key, []).append(window)
    several = {(key[0], key[1]) for key in groups if (key[2], key[3]) != (1, 1)}
    for (stage, kind, layer, pass_), found in groups.items():
        turn = [f"layer {layer}"] if (stage, kind) in several and kind != "gap" else []
        turn += [f"before layer {layer}"] if kind == "gap" else []
        turn += [f"pass {pass_}"] if pass_ > 1 else []
        long = any(w.closes_us - w.last_us >= HOUR_US for w in found)
        unit = "h:min" if long else "min:s"
        title = f"{over}{stage}, {', '.join([kind, *turn])} ({unit})"
        scale = length_scale(page, _most_us(found), long, _RIGHT_CELLS)
        put_axis(page, scale, title)
        for window in found:
            inside = _window(scale, window)
            row_drawing(page, scale, window.section, inside, _outcome(window, long), _RIGHT_CELLS)
        page.line()


def put_window_key(page: Print, windows: Iterable[Asked]) -> None:
    """What the marks of the rows mean; only those that are drawn."""
    windows = tuple(windows)
    entries: list[tuple[Draw, str]] = [
        (lambda ink, x, y: put_bar(ink, x, x + 16, y, "light"), "opens to closes"),
        (lambda ink, x, y: ink.line(x + 8, y + 3.2, x + 8, y - 3.2, 0.6), "due"),
        (lambda ink, x, y: _tick(ink, x + 8, y), "taken up"),
    ]
    if any(w.off_by_us is not None for w in windows):
        entries.append((lambda ink, x, y: _off_by(ink, x + 8, y), "to be off by"))
    if any(w.outcome == "left out" for w in windows):
        entries.append((lambda ink, x, y: _cross(ink, x + 8, y), "left out"))
    put_key(page, entries, above=True)


def _most_us(windows: Iterable[Asked]) -> Length:
    closes, ends = 0, 0
    for window in windows:
        closes = max(closes, window.closes_us - window.last_us, window.opens_us - window.last_us)
        if window.ended_us is not None:
            ends = max(ends, window.ended_us - window.last_us)
    return Length(max(closes, min(ends, _MOST_TIMES * closes), 1_000_000))


def _window(scale: Scale, window: Asked) -> Draw:
    def at(x: float, at_us: Instant) -> float:
        return x + scale.x(at_us - window.last_us)

    def draw(ink: Ink, x: float, y: float) -> None:
        if window.closes_us > window.opens_us:
            put_bar(ink, at(x, window.opens_us), at(x, window.closes_us), y, "light")
        else:
            put_bar(ink, at(x, window.opens_us), at(x, window.opens_us), y, "full")
        due_us = window.due_us
        if due_us is not None and window.opens_us < due_us < window.closes_us:
            due = at(x, due_us)
            ink.line(due, y + 3.2, due, y - 3.2, 0.6)
        if window.off_by_us is not None:
            _off_by(ink, at(x, window.off_by_us), y)
        if window.ended_us is None:
            return
        ended = at(x, window.ended_us)
        if window.outcome == "left out":
            _cross(ink, ended, y)
        elif window.ended_us - window.last_us > scale.high:
            _arrow(ink, ended, y)
        else:
            _tick(ink, ended, y)

    return draw


def _tick(ink: Ink, x: float, y: float) -> None:
    ink.line(x, y + 4, x, y - 5, 1.6)
    path = ink.canvas.beginPath()
    path.moveTo(x - 2.6, y + 5.4)
    path.lineTo(x + 2.6, y + 5.4)
    path.lineTo(x, y + 1.6)
    path.close()
    ink.canvas.saveState()
    ink.canvas.setFillGray(0.0)
    ink.canvas.drawPath(path, stroke=0, fill=1)
    ink.canvas.restoreState()


def _off_by(ink: Ink, x: float, y: float) -> None:
    ink.line(x, y + 5, x, y - 5, 0.9, (1.6, 1.2))


def _cross(ink: Ink, x: float, y: float) -> None:
    ink.line(x - 2.5, y - 2.5, x + 2.5, y + 2.5, 1.0)
    ink.line(x - 2.5, y + 2.5, x + 2.5, y - 2.5, 1.0)


def _arrow(ink: Ink, x: float, y: float) -> None:
    ink.line(x - 9, y, x + 2, y, 1.4)
    ink.line(x - 3, y + 3.5, x + 2, y, 1.4)
    ink.line(x - 3, y - 3.5, x + 2, y, 1.4)


def _outcome(window: Asked, long: bool) -> str:
    taken = ""
    if window.ended_us is not None and window.outcome != "left out":
        taken = f"{length_text(window.ended_us - window.last_us, long)}, "
    match window.outcome:
        case "early" | "late":
            return f"{taken}{window.outcome} by {length_text(window.off_us, long)}"
        case "running":
            late = f", late by {length_text(window.off_us, long)}" if window.off_us else ""
            return f"still running{late}"
        case "left":
            return NEVER_TAKEN
        case _:
            return f"{taken}{window.outcome}"
