"""Scales of a chart: which round steps they are named in, and where a value stands on one."""

from __future__ import annotations

from datetime import timedelta
from math import ceil, floor

from msgspec.structs import replace

from cartclock.engine.dates import spoken_day
from cartclock.engine.letters import cells
from cartclock.tui.face.chart import Axis, Kind

# Between two named places, in the unit of the kind. People count minutes in these. Our own
# judgement.
_CLOCK = (1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880, 10080)
_STEPS: dict[Kind, tuple[float, ...]] = {
    "number": tuple(m * 10.0**e for e in range(-2, 9) for m in (1, 2, 5)),
    "count": tuple(m * 10.0**e for e in range(9) for m in (1, 2, 5)),
    "clock": _CLOCK,
    "stopwatch": (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 21600, 86400),
    "length": (*_CLOCK, 30240, 60480),
}

# Few rows are filled better by more of them.
_OF_FEW_ROWS: dict[Kind, tuple[float, ...]] = _STEPS | {
    "stopwatch": tuple(sorted({*_STEPS["stopwatch"], 20, 40, 45, 90, 180, 240, 360, 480})),
    "length": tuple(sorted({*_STEPS["length"], 20, 25, 40, 45, 50, 75, 90, 240, 300, 480, 600})),
    "number": tuple(
        m * 10.0**e for e in range(-2, 9) for m in (1, 2, 2.5, 3, 4, 5) if e > 0 or m != 2.5
    ),
}


def rounded_out(axis: Axis, most: int) -> tuple[Axis, float]:
    """The scale with both ends on the smallest round step that gives no more than `most` places,
    >= 2, and that step; one of no length has a step above, and one below where that is no less
    than 0.
    """
    by = next(
        (
            one
            for one in _STEPS[axis.kind]
            if ceil(axis.end / one) - floor(axis.start / one) + 1 <= most
        ),
        _STEPS[axis.kind][-1],
    )
    start, end = floor(axis.start / by) * by, ceil(axis.end / by) * by
    if start == end:
        end += by
        start = max(0.0, start - by) if start >= 0 else start - by
    return replace(axis, start=start, end=end), by


def even_rows(axis: Axis, between: int, apart: int) -> tuple[Axis, float]:
    """The scale over so few rows that each of its named places must stand on a row of its own, all
    as many rows apart, and the step between these places.

    Its start lies on a round step, and a named place at its greatest value or above it; a time of
    day needs neither, but two named places.

    between: rows from its start to its end, >= 1. apart: between two named places at least, >= 1;
        fewer where there are no more.
    """
    if axis.kind == "clock":
        return _even_clock(axis, between, apart)
    found = []
    for by in _OF_FEW_ROWS[axis.kind]:
        start = floor(axis.start / by) * by
        places = max(1, ceil((axis.end - start) / by - 1e-9))
        rows = between // places
        if rows >= min(apart, between):
            # What a row stands for: the less, the higher the picture; then the more names.
            found.append((by / rows, by, start))
    if not found:
        by = _OF_FEW_ROWS[axis.kind][-1]
        start = floor(axis.start / by) * by
        found.append(((axis.end - start) / between, by, start))
    each, by, start = min(found)
    return replace(axis, start=start, end=start + each * between), by


def _even_clock(axis: Axis, between: int, apart: int) -> tuple[Axis, float]:
    found = []
    for by in _CLOCK:
        for rows in range(min(apart, between), between + 1):
            each = by / rows
            start = floor(axis.start / each + 1e-9) * each
            end = start + each * between
            names = floor(end / by + 1e-9) - ceil(start / by - 1e-9) + 1
            if end >= axis.end and names > 1:
                found.append((each, by, start))
    if not found:
        return rounded_out(axis, between + 1)
    each, by, start = min(found)
    return replace(axis, start=start, end=start + each * between), by


def step_inside(axis: Axis, most: int) -> float:
    """The smallest round step that has no more than `most` places, >= 1, from end to end."""
    found = (
        one
        for one in _STEPS[axis.kind]
        if floor(axis.end / one) - ceil(axis.start / one) + 1 <= most
    )
    return next(found, _STEPS[axis.kind][-1])


def widened(axis: Axis) -> Axis:
    """The scale, with some length where all values are one."""
    if axis.start < axis.end:
        return axis
    by = 1.0 if axis.kind in ("number", "count") else 30.0
    return replace(axis, start=axis.start - by, end=axis.end + by)


def named_places(axis: Axis, by: float) -> tuple[tuple[float, str], ...]:
    """The multiples of a step from end to end of the scale, each with its word."""
    first, last = ceil(axis.start / by - 1e-9), floor(axis.end / by + 1e-9)
    said = [(at * by, _word(axis, at * by, by)) for at in range(first, last + 1)]
    if said and axis.unit:
        said[-1] = (said[-1][0], f"{said[-1][1]} {axis.unit}")
    return tuple(said)


def longest_word(axis: Axis) -> int:
    """Cells that the word of a place on it takes at most."""
    unit = f" {axis.unit}" if axis.unit else ""
    return max(cells(_word(axis, end, 1.0)) + cells(unit) for end in (axis.start, axis.end))


def place(value: float, axis: Axis, cells: int) -> int:
    """The cell, from 0, in which a value of the scale stands; `cells` >= 1 from end to end."""
    return round((value - axis.start) / (axis.end - axis.start) * (cells - 1))


def _word(axis: Axis, value: float, by: float) -> str:
    match axis.kind:
        case "number" | "count":
            return f"{value:.{0 if by >= 1 else 1 if by >= 0.1 else 2}f}"
        case "clock":
            clock = f"{int(value) // 60 % 24:02}:{int(value) % 60:02}"
            later = int(value) // 1440
            if axis.day is None or not later:
                return clock
            return f"{spoken_day(axis.day + timedelta(days=later)).split(' ')[0]} {clock}"
        case "stopwatch":
            return f"{int(value) // 60}:{int(value) % 60:02}"
        case "length":
            if by >= 60 and value % 60 == 0:
                return f"{int(value) // 60} h" if value else "0"
            return f"{int(value) // 60}:{int(value) % 60:02}"
