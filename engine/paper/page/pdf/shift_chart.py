"""A shift over the clock: what was in hand, waited for, or taken as a break; and the heat of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from cartclock.engine.body.course import Course, Hold
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.hours.account import Account
from cartclock.engine.hours.partition import Piece
from cartclock.engine.paper.page.pdf.chart import (
    Pattern,
    Scale,
    clock_scale,
    put_axis,
    put_bar,
    put_grid,
    put_key,
    put_marks,
    row_drawing,
)
from cartclock.engine.paper.page.pdf.ink import SMALL, Draw, Ink
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.paper.said import between
from cartclock.engine.record.exposure import ExposureRecord

Name = Callable[[Piece], str]

_PATTERNS: dict[str, Pattern] = {
    "hands": "full",
    "standing by": "striped",
    "other": "light",
    "break": "open",
    "off": "open",
    "not known": "open",
    "unassigned": "open",
}
_KEY: dict[str, str] = {
    "hands": "hands on",
    "standing by": "standing by a window",
    "other": "other work",
    "break": "break, or nothing in hand",
}
_LAST = ("hands", "other", "break", "unassigned", "not known", "off")

_PLOT = 150.0
_PLOT_TOP = 12.0
_PLOT_FOOT = 14.0


def put_bars(page: Print, account: Account, zone: str, name: Name) -> None:
    """The shift as rows of bars: one row for every stage, kind of other work and of break.

    name: what the row of a piece of a job is called.
    """
    page.line(f"{between(account.on_us, account.end_us, zone)}, {account.worker}")
    if account.end_us <= account.on_us:
        page.line("No time has passed on this shift yet.", 2)
        return
    lanes: dict[tuple[int, str], list[Piece]] = {}
    for piece in account.pieces:
        kind = "hands" if piece.kind == "standing by" else piece.kind
        lanes.setdefault((_LAST.index(kind), _lane(piece, name)), []).append(piece)
    scale = clock_scale(page, account.on_us, account.end_us, zone)
    put_axis(page, scale, "Clock time")
    for (_rank, label), pieces in sorted(lanes.items(), key=lambda lane: lane[0][0]):
        row_drawing(page, scale, label, _bars(scale, pieces))
    used = {"break" if p.kind in ("off", "not known", "unassigned") else p.kind
            for p in account.pieces}  # fmt: skip
    put_key(page, [(_sample(_PATTERNS[kind]), said) for kind, said in _KEY.items() if kind in used])


def _lane(piece: Piece, name: Name) -> str:
    match piece.kind:
        case "hands" | "standing by":
            return name(piece)
        case "other":
            return f"Other work: {piece.what}"
        case "break":
            return f"Break: {piece.what}"
        case "unassigned":
            return "Nothing in hand"
        case "not known":
            return "Not known"
        case "off":
            return "Off, as told afterwards"


def _bars(scale: Scale, pieces: Sequence[Piece]) -> Draw:
    def draw(ink: Ink, x: float, y: float) -> None:
        # Dark ones last, so that a short stretch of work is not hidden by a wait beside it.
        for piece in sorted(pieces, key=lambda p: p.kind == "hands"):
            ends = x + scale.x(piece.start_us), x + scale.x(piece.end_us)
            put_bar(ink, *ends, y, _PATTERNS[piece.kind])

    return draw


def _sample(pattern: Pattern) -> Draw:
    return lambda ink, x, y: put_bar(ink, x, x + 16, y, pattern)


def put_heat(page: Print, course: Course, exposure: ExposureRecord, zone: str) -> None:
    """Temperatures over the clock, and the WBGT against the limit; says so if there are none."""
    said = f"{between(course.on_us, course.end_us, zone)}, {exposure.worker}"
    series = (*course.air_c, *course.panel_c, *course.wbgt_c)
    if exposure.why_none:
        said = f"{said}. {exposure.why_none}"
    page.line(said)
    if not series or course.end_us <= course.on_us:
        return
    scale = clock_scale(page, course.on_us, course.end_us, zone)
    values = [hold.value for hold in series]
    values += [point.limit_c for run in course.limits for point in run]
    degrees = _degrees(values)
    page.drawing(
        _PLOT + _PLOT_TOP + _PLOT_FOOT,
        lambda ink, x, y: _plot(ink, x, y, scale, degrees, course, exposure),
    )
    limit = "exposure limit (REL)" if course.acclimatized else "alert limit (RAL)"
    entries: list[tuple[Draw, str]] = []
    if course.air_c:
        entries.append((_line_sample(_AIR), "air"))
    if course.panel_c:
        entries.append((_line_sample(_PANEL), "panel"))
    if course.wbgt_c:
        entries.append((_line_sample(_WBGT), "WBGT at the work"))
    if course.limits:
        entries.append((_line_sample(_LIMIT), f"{limit} at the mean effort of the hour before"))
    if exposure.peak is not None:
        entries.append((lambda ink, x, y: _shade(ink, x, x + 16, y + 4, y - 4), "peak hour"))
    put_key(page, entries)


class _Pen:
    """How a line is drawn, and what its readings look like."""

    def __init__(self, width: float, dash: tuple[float, ...], point: str) -> None:
        self.width, self.dash, self.point = width, dash, point

    def stroke(self, ink: Ink, x1: float, y1: float, x2: float, y2: float) -> None:
        ink.line(x1, y1, x2, y2, self.width, self.dash)

    def curve(self, ink: Ink, points: Sequence[tuple[float, float]]) -> None:
        canvas = ink.canvas
        path = canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        canvas.saveState()
        canvas.setLineWidth(self.width)
        canvas.setDash(list(self.dash))
        canvas.drawPath(path, stroke=1, fill=0)
        canvas.restoreState()

    def dot(self, ink: Ink, x: float, y: float) -> None:
        canvas = ink.canvas
        canvas.saveState()
        canvas.setLineWidth(0.7)
        canvas.setStrokeGray(0.0)
        canvas.setFillGray(0.0)
        match self.point:
            case "ring":
                canvas.setFillGray(1.0)
                canvas.circle(x, y, 2.2, stroke=1, fill=1)
            case "square":
                canvas.setFillGray(1.0)
                canvas.rect(x - 2, y - 2, 4, 4, stroke=1, fill=1)
            case "wedge":
                path = canvas.beginPath()
                path.moveTo(x - 3, y - 2.4)
                path.lineTo(x + 3, y - 2.4)
                path.lineTo(x, y + 3)
                path.close()
                canvas.drawPath(path, stroke=0, fill=1)
        canvas.restoreState()


_AIR = _Pen(0.7, (), "ring")
_PANEL = _Pen(0.9, (1.0, 1.8), "square")
_WBGT = _Pen(1.7, (), "wedge")
_LIMIT = _Pen(1.0, (6.0, 2.5), "")


def _line_sample(pen: _Pen) -> Draw:
    def draw(ink: Ink, x: float, y: float) -> None:
        pen.stroke(ink, x, y, x + 16, y)
        pen.dot(ink, x + 8, y)

    return draw


def _degrees(values: Sequence[float]) -> tuple[int, int, int]:
    """(lowest, highest, step) of a scale of temperature that holds these, in C."""
    low, high = min(values), max(values)
    step = 5 if high - low <= 40 else 10
    bottom = math.floor((low - 1) / step) * step
    top = max(bottom + 2 * step, math.ceil((high + 1) / step) * step)
    return bottom, top, step


def _plot(
    ink: Ink,
    x: float,
    y: float,
    scale: Scale,
    degrees: tuple[int, int, int],
    course: Course,
    exposure: ExposureRecord,
) -> None:
    bottom, top, step = degrees
    high, low = y - _PLOT_TOP, y - _PLOT_TOP - _PLOT
    left, right = x + scale.left, x + scale.right

    def level(value: float) -> float:
        return low + (value - bottom) / (top - bottom) * (high - low)

    if exposure.peak is not None:
        end_us = exposure.peak.end_us
        edges = x + scale.x(end_us - HOUR_US), x + scale.x(end_us)
        _shade(ink, *edges, high, low)
        _name_peak(ink, exposure, edges, (left, right), high)
    put_grid(ink, scale, x, high, low)
    for value in range(bottom, top + 1, step):
        ink.line(left, level(value), right, level(value), 0.3, grey=0.75)
        ink.text(left - 4, level(value) - 2.7, f"{value} C", "regular", SMALL, "right")
    ink.line(left, low, right, low, 0.6)
    ink.line(left, low, left, high, 0.6)
    put_marks(ink, scale, x, low - 10)
    for run in course.limits:
        _LIMIT.curve(ink, [(x + scale.x(one.at_us), level(one.limit_c)) for one in run])
    for pen, holds in ((_AIR, course.air_c), (_PANEL, course.panel_c), (_WBGT, course.wbgt_c)):
        _steps(ink, pen, [(x + scale.x(h.from_us), x + scale.x(h.to_us), h) for h in holds], level)


def _steps(
    ink: Ink,
    pen: _Pen,
    holds: Sequence[tuple[float, float, Hold]],
    level: Callable[[float], float],
) -> None:
    for index, (x1, x2, hold) in enumerate(holds):
        pen.stroke(ink, x1, level(hold.value), x2, level(hold.value))
        if index and holds[index - 1][2].to_us == hold.from_us:
            pen.stroke(ink, x1, level(holds[index - 1][2].value), x1, level(hold.value))
    for x1, _x2, hold in holds:
        pen.dot(ink, x1, level(hold.value))


def _shade(ink: Ink, x1: float, x2: float, top: float, bottom: float) -> None:
    canvas = ink.canvas
    canvas.saveState()
    canvas.setFillGray(0.9)
    canvas.rect(x1, bottom, x2 - x1, top - bottom, stroke=0, fill=1)
    canvas.restoreState()
    for at in (x1, x2):
        ink.line(at, top, at, bottom, 0.5, (2.0, 2.0))


def _name_peak(
    ink: Ink,
    exposure: ExposureRecord,
    edges: tuple[float, float],
    frame: tuple[float, float],
    high: float,
) -> None:
    said = f"peak hour: {exposure.peak_band}"
    half = ink.letters.width(said, "regular", SMALL) / 2
    at = min(max(sum(edges) / 2, frame[0] + half), frame[1] - half)
    ink.text(at, high + 3, said, "regular", SMALL, "middle")
