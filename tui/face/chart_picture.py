"""A chart drawn at a size: its marks named above, its scales at the left and below.

Points and the ways between them are set by plotext; scales are ours, so that no word of them is
cut and they look like the rest of a page: below runs a strip of tape that is cut at each place
with a name.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from functools import lru_cache

from cartclock.engine.letters import cells, cropped, inert, wrapped
from cartclock.tui.face.axis import (
    even_rows,
    longest_word,
    named_places,
    place,
    rounded_out,
    step_inside,
    widened,
)
from cartclock.tui.face.chart import Axis, Band, Chart, Columns, Plane, Series
from cartclock.tui.face.tape import CUT, LOW, slim

NO_ROOM = "A chart has no room here; V says the same as a table."

# Cells that points or columns need at least across and up. Our own judgement.
_LEAST_CELLS = 16
_LEAST_ROWS = 3
# Cells between two words below, and between two marks above. Our own judgement.
_CELLS_APART = 3
# Rows between two named heights at least, in a high chart and in one of less than so many rows,
# which has no strip below either.
# Our own judgement.
_ROWS_APART, _ROWS_APART_LOW, _LOW_ROWS = 3, 2, 9
# Cells between two dots of a height that has a name.
_DOTS_APART = 4
DOT, LEVEL = "·", "─"
# Cells of a column at most, with the gap beside it, where its word needs no more.
_COLUMN_MOST = 6


class _Grid:
    """Characters over a plane, (0, 0) at its upper left, and which of them are faint."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.chars = [[" "] * width for _ in range(height)]
        self.faint = [[True] * width for _ in range(height)]

    def put(self, x: int, y: int, char: str, faint: bool) -> None:
        if 0 <= x < self.width and 0 <= y < self.height:
            self.chars[y][x], self.faint[y][x] = char, faint

    def parts(self, y: int) -> list[tuple[int, str, bool]]:
        """The stretches of a row: column, text, whether it is faint."""
        found: list[tuple[int, str, bool]] = []
        for x, (char, faint) in enumerate(zip(self.chars[y], self.faint[y], strict=True)):
            if found and (found[-1][2] == faint or char == " "):
                at, text, was = found[-1]
                found[-1] = (at, text + char, was)
            else:
                found.append((x, char, faint))
        return found


ChartLine = tuple[tuple[int, str, bool], ...]
"""The texts of a line: column from 0, text, True if it is faint."""


@lru_cache(maxsize=8)
def chart_lines(chart: Chart, width: int, height: int) -> tuple[ChartLine, ...]:
    """The chart in so many cells and no more rows than `height`, >= 1; a sentence where it has no
    room.
    """
    legend = _legend(chart, width)
    up, heights, gutter, rows = _frame(chart, height - len(legend))
    room = width - gutter
    if isinstance(chart, Columns) and len(chart.stacks) > room:
        legend = _legend(chart, width, f"the last {room} of {len(chart.stacks)} {chart.called}")
        up, heights, _gutter, rows = _frame(chart, height - len(legend))
    if room < _LEAST_CELLS or rows < _LEAST_ROWS:
        return tuple(((0, line, False),) for line in wrapped(NO_ROOM, width)[:height])
    if isinstance(chart, Columns):
        room = _column_cells(chart, room) * min(room, len(chart.stacks))
    grid = _Grid(room, rows)
    sides = {_row_of(chart, at, up, rows): word for at, word in heights}
    for y in sides:
        for x in range(0, room, _DOTS_APART):
            grid.put(x, y, DOT, True)
    if isinstance(chart, Plane):
        across = widened(chart.across)
        _draw_plane(grid, chart, across, up)
        by = step_inside(across, room // (longest_word(across) + _CELLS_APART))
        named = [(place(at, across, room), word) for at, word in named_places(across, by)]
    else:
        named = _draw_columns(grid, chart, up)
    lines: list[ChartLine] = [((0, line, False),) for line in legend]
    for y in range(rows):
        side = _beside(sides.get(y, ""), gutter)
        parts = [(gutter + x, text, faint) for x, text, faint in grid.parts(y)]
        lines.append((*side, *parts))
    under = _under(named, room)
    if len(lines) + 2 <= height:
        ground = [slim(LOW)] * room
        for x, _left, _word in under:
            ground[x] = CUT
        lines.append((*_beside(sides.get(rows, ""), gutter), (gutter, "".join(ground), True)))
    row = ""
    for _x, left, word in under:
        row = row.ljust(left) + word
    lines.append(((gutter, row, True),))
    return tuple(lines)


def _beside(word: str, gutter: int) -> list[tuple[int, str, bool]]:
    """A word at the left of its row, or nothing."""
    return [(gutter - 1 - cells(word), word, True)] if word else []


def _row_of(chart: Chart, at: float, up: Axis, rows: int) -> int:
    """The row from above on which a named height stands. A point lies in the middle of its row; a
    column ends at the upper edge of its own, and nothing at that of the row below the lowest.
    """
    if isinstance(chart, Columns):
        return rows - round((at - up.start) / (up.end - up.start) * rows)
    return rows - 1 - place(at, up, rows)


def _frame(chart: Chart, height: int) -> tuple[Axis, tuple[tuple[float, str], ...], int, int]:
    """The scale at the left on round ends, its named heights, cells for their words, and the rows
    that are left for points or columns.
    """
    # A low chart has no row for the strip over the words below.
    low = height - 2 < _LOW_ROWS
    rows = height - (1 if low else 2)
    if low:
        # A row stands for much: a name beside another one would say something else.
        between = rows if isinstance(chart, Columns) else rows - 1
        up, by = even_rows(chart.up, max(1, between), _ROWS_APART_LOW)
    elif chart.up.kind == "clock":
        # Ends that have names of their own would take half of it for what is not there.
        up, _by = rounded_out(chart.up, rows + 1)
        by = step_inside(up, rows // _ROWS_APART + 1)
    else:
        up, by = rounded_out(chart.up, rows // _ROWS_APART + 1)
    heights = named_places(up, by)
    return up, heights, max(cells(word) for _at, word in heights) + 1, rows


def _legend(chart: Chart, width: int, note: str = "") -> list[str]:
    """The marks with their names, on as many lines as they need."""
    if isinstance(chart, Plane):
        named = [(one.mark, one.name) for one in chart.series]
        if chart.band is not None:
            named.insert(0, (chart.band.mark, chart.band.name))
        if chart.level is not None:
            named.append((LEVEL, chart.level[1]))
        said_all = [f"{mark} {inert(name)}" for mark, name in named]
        said_all.append(inert(chart.scales))
    elif len(chart.parts) > 1:
        said_all = [f"{mark} {inert(name)}" for name, mark in chart.parts]
    else:
        # The page says what it is of.
        said_all = []
    said_all = [one for one in (*said_all, note) if one]
    gap = " " * _CELLS_APART
    if cells(gap.join(said_all)) > width:
        gap = gap[1:]
    # A mark stays with its name.
    lines = [""] * bool(said_all)
    for said in said_all:
        joined = f"{lines[-1]}{gap}{said}" if lines[-1] else said
        if cells(joined) <= width or not lines[-1]:
            lines[-1] = cropped(joined, width)
        else:
            lines.append(cropped(said, width))
    return lines


def _under(named: Sequence[tuple[int, str]], room: int) -> list[tuple[int, int, str]]:
    """Words under their places, with the cells in which they begin, each in the middle under it;
    one that would run into another is left out, and none is cut off at an end.
    """
    found: list[tuple[int, int, str]] = []
    end = 0
    for x, word in named:
        left = max(0, min(room - cells(word), x - cells(word) // 2))
        if left >= end and cells(word) <= room:
            found.append((x, left, word))
            end = left + cells(word) + 1
    return found


def _draw_plane(grid: _Grid, chart: Plane, across: Axis, up: Axis) -> None:
    if chart.band is not None:
        _fill(grid, chart.band, across, up)
    if chart.level is not None:
        y = grid.height - 1 - place(chart.level[0], up, grid.height)
        for x in range(grid.width):
            grid.put(x, y, LEVEL, True)
    for series in chart.series:
        for y, line in enumerate(_plotted(series, across, up, grid.width, grid.height)):
            for x, char in enumerate(line):
                if char != " ":
                    grid.put(x, y, char, series.dim)


def _fill(grid: _Grid, band: Band, across: Axis, up: Axis) -> None:
    """The band from its first place to its last, a column a cell."""
    first, last = (place(band.low[end][0], across, grid.width) for end in (0, -1))
    for x in range(first, last + 1):
        at = across.start + (across.end - across.start) * x / max(1, grid.width - 1)
        low, high = (
            grid.height - 1 - place(_height(points, at), up, grid.height)
            for points in (band.low, band.high)
        )
        for y in range(high, low + 1):
            grid.put(x, y, band.mark, True)


def _height(points: Sequence[tuple[float, float]], at: float) -> float:
    """How high the way over the points is at a place; before the first and behind the last as
    high as there.
    """
    behind = bisect_left(points, at, key=lambda point: point[0])
    if behind in (0, len(points)):
        return points[min(behind, len(points) - 1)][1]
    (left, low), (right, high) = points[behind - 1 : behind + 1]
    return low + (high - low) * (at - left) / (right - left)


def _plotted(series: Series, across: Axis, up: Axis, width: int, height: int) -> list[str]:
    """The marks of one series alone, row by row."""
    # It takes as long to import as the first picture, and most people never open a chart.
    import plotext

    plotext.clear_figure()
    # Else it cuts the picture to the size that it believes the terminal to have.
    plotext.limitsize(False, False)
    plotext.theme("clear")
    plotext.plotsize(width, height)
    plotext.frame(False)
    plotext.xticks([])
    plotext.yticks([])
    draw = plotext.plot if series.joined else plotext.scatter
    xs, ys = [x for x, _y in series.points], [y for _x, y in series.points]
    draw(xs, ys, marker=series.mark)
    plotext.xlim(across.start, across.end)
    plotext.ylim(up.start, up.end)
    lines: list[str] = plotext.uncolorize(plotext.build()).split("\n")
    return lines[:height]


def _column_cells(chart: Columns, room: int) -> int:
    """Cells of a column and the gap beside it; all are alike, or the eye would compare widths. Of
    few columns each has room for its word.
    """
    longest = max(cells(stack.word) for stack in chart.stacks)
    return min(max(_COLUMN_MOST, longest + 1), room // len(chart.stacks)) or 1


def _draw_columns(grid: _Grid, chart: Columns, up: Axis) -> list[tuple[int, str]]:
    """Draws the newest columns that have room, and gives where each of them begins, with its
    word.
    """
    stacks = chart.stacks[-grid.width :]
    each = _column_cells(chart, grid.width)
    thick = each - 1 if each > 1 else 1
    named = []
    for at, stack in enumerate(stacks):
        left, low, total = at * each, 0, 0.0
        named.append((left + thick // 2, stack.word))
        for (_name, mark), length in zip(chart.parts, stack.parts, strict=True):
            total += length
            # What is there at all is seen.
            high = max(low + bool(length), round(total / (up.end - up.start) * grid.height))
            for y in range(low, min(high, grid.height)):
                for x in range(left, left + thick):
                    grid.put(x, grid.height - 1 - y, mark, False)
            low = high
    return [(x, word) for x, word in named if word]
