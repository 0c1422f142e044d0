"""Big digits that are read from three metres, drawn from strokes at any size.

A glyph is drawn on a raster twice as fine downwards as the cells of the screen: a cell is about
twice as high as it is wide, so a raster point is about a square, and half blocks show it.
Strokes are about a seventh of the height and a digit is 0.62 of the height wide where there is
room (common practice for legible numerals, no source). Where there is not, digits are condensed
before they lose height: legibility at a distance is reckoned by the height of the character
(NUREG-0700: at least 16, better 20 to 22 minutes of arc; read second-hand).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

from textual.geometry import Region

from cartclock.engine.letters import cells, cropped, inert

FEWEST_ROWS, MOST_ROWS = 3, 20

# Shares of the height of a digit; NARROWEST and GAP are our own judgement.
STROKE = 1 / 7
WIDTH = 0.62
NARROWEST = 0.39
GAP = 0.12

# Below this many rows corners stay square: a rounded one would take a whole stroke with it.
ROUNDED_FROM = 5

Points = frozenset[tuple[int, int]]  # (column, raster line) from the top left


class _Pen:
    """The measures of one size, its strokes and glyphs; boxes are half open."""

    def __init__(self, rows: int, width: int) -> None:
        self.width = width
        self.height = 2 * rows
        # Two strokes and the hollow between them must stay three things in a narrow digit.
        even = max(round(self.height * STROKE), 1 if rows < ROUNDED_FROM else 2)
        self.stroke = max(1, min(even, round(0.28 * width)))
        self.gap = max(round(self.height * GAP), min(2, self.stroke))
        self.sign = max(3, round(0.6 * width))
        self.radius = 0.0 if rows < ROUNDED_FROM else 0.36 * width
        self.bar_top = (self.height - self.stroke) // 2
        self.bar_bottom = self.bar_top + self.stroke
        # A hook ends where the open side is still seen as open: a stroke and a quarter of paper.
        longest = self.bar_top - math.ceil(1.25 * self.stroke)
        self.hook = max(self.stroke, min(round(0.27 * self.height), longest))

    def box(self, left: int, top: int, right: int, bottom: int) -> Points:
        """Every point of a rectangle that lies on the raster."""
        columns = range(max(0, left), min(self.width, right))
        lines = range(max(0, top), min(self.height, bottom))
        return frozenset((x, y) for y in lines for x in columns)

    def rounded(self, left: int, top: int, right: int, bottom: int, radius: float) -> Points:
        """Every point of a rectangle with rounded corners."""
        radius = min(radius, (right - left) / 2, (bottom - top) / 2)

        def inside(x: float, y: float) -> bool:
            across = max(left + radius - x, x - right + radius, 0.0)
            down = max(top + radius - y, y - bottom + radius, 0.0)
            return across * across + down * down <= radius * radius

        box = self.box(left, top, right, bottom)
        return frozenset((x, y) for x, y in box if inside(x + 0.5, y + 0.5))

    def bowl(self, top: int, bottom: int) -> Points:
        """A closed ring over the whole width."""
        stroke, right, inner = self.stroke, self.width, max(0.0, self.radius - self.stroke)
        hollow = self.rounded(stroke, top + stroke, right - stroke, bottom - stroke, inner)
        return self.rounded(0, top, right, bottom, self.radius) - hollow

    def slant(self, top: int, bottom: int, upper: float, lower: float) -> Points:
        """A leaning stroke whose left edge runs from column `upper` to column `lower`."""
        lean = (lower - upper) / (bottom - top)
        # As much wider across as the lean makes it thinner.
        across = self.stroke * (1 + lean * lean) ** 0.5
        edges = [(upper + lean * (y + 0.5 - top), y) for y in range(top, bottom)]
        rows = [self.box(round(left), y, round(left + across), y + 1) for left, y in edges]
        return frozenset().union(*rows)

    def one(self) -> Points:
        stroke, height = self.stroke, self.height
        left = (self.width - stroke + 1) // 2
        reach = max(1, round(0.24 * self.width))
        glyph = self.box(left, 0, left + stroke, height)
        for step in range(1, reach + 1):
            top = round(0.75 * step)
            glyph |= self.box(left - step, top, left - step + 1, top + round(1.25 * stroke))
        return glyph | self.box(left - reach, height - stroke, left + stroke + reach, height)

    def two(self) -> Points:
        stroke, width, height = self.stroke, self.width, self.height
        turn, low = round(0.4 * height), height - stroke
        below = self.box(0, self.hook, width - stroke, height) | self.box(0, turn, width, height)
        slope = self.slant(turn, low, width - stroke, 0)
        return (self.bowl(0, height) - below) | slope | self.box(0, low, width, height)

    def three(self) -> Points:
        # The bar is shorter than the hooks: a long one closes the left side into an 8.
        third = round(0.33 * self.width)
        return self.eight() - self.box(0, self.hook, third, self.height - self.hook)

    def four(self) -> Points:
        stroke, width, height = self.stroke, self.width, self.height
        bar = round(0.62 * height) if self.radius else self.bar_top
        cross = self.box(0, bar, width, bar + stroke)
        if width - 2 * stroke < 6:
            # No room for a slope with a hollow under it: the open form.
            return cross | self.box(0, 0, stroke, bar) | self.box(width - stroke, 0, width, height)
        stem = width - stroke - round(0.12 * width)
        slope = self.slant(0, bar, stem - 0.4 * stroke, 0)
        return cross | slope | self.box(stem, 0, stem + stroke, height)

    def five(self) -> Points:
        stroke, width, height = self.stroke, self.width, self.height
        top = round(0.4 * height) if self.radius else self.bar_top
        opening = self.box(0, top + stroke, round(0.33 * width), height - self.hook)
        neck = self.box(0, 0, stroke, top + stroke) | self.box(0, top, width // 2, top + stroke)
        return self.box(0, 0, width, stroke) | neck | (self.bowl(top, height) - opening)

    def six(self) -> Points:
        stroke, top = self.stroke, round(0.43 * self.height)
        arm = self.bowl(0, self.height) - self.box(stroke, stroke, self.width, self.height)
        neck = self.box(stroke, top, self.width // 2, top + stroke)
        return self.bowl(top, self.height) | neck | arm

    def seven(self) -> Points:
        right = self.width - self.stroke
        leg = self.slant(self.stroke, self.height, right, round(0.26 * self.width))
        return self.box(0, 0, self.width, self.stroke) | leg

    def eight(self) -> Points:
        return self.bowl(0, self.bar_bottom) | self.bowl(self.bar_top, self.height)

    def nine(self) -> Points:
        return frozenset((self.width - 1 - x, self.height - 1 - y) for x, y in self.six())

    def colon(self) -> Points:
        dot = self.stroke
        high = round(0.3 * self.height - dot / 2)
        low = self.height - high - dot
        return self.box(0, high, dot, high + dot) | self.box(0, low, dot, low + dot)

    def minus(self) -> Points:
        return self.box(0, self.bar_top, self.sign, self.bar_bottom)

    def plus(self) -> Points:
        arm = (self.sign - self.stroke) // 2
        stem = self.box(arm, self.bar_top - arm, self.sign - arm, self.bar_bottom + arm)
        return self.minus() | stem

    def advance(self, char: str) -> int:
        """Columns that a character takes."""
        narrow = {":": self.stroke, "-": self.sign, "+": self.sign, " ": self.width // 2}
        return narrow.get(char, self.width)


_ONE_TO_FIVE = (_Pen.one, _Pen.two, _Pen.three, _Pen.four, _Pen.five)
_OTHERS = (_Pen.six, _Pen.seven, _Pen.eight, _Pen.nine, _Pen.colon, _Pen.minus, _Pen.plus)
_SHAPES: dict[str, Callable[[_Pen], Points]] = {
    "0": lambda pen: pen.bowl(0, pen.height),
    " ": lambda _: frozenset(),
    **dict(zip("123456789:-+", _ONE_TO_FIVE + _OTHERS, strict=True)),
}


@lru_cache(maxsize=512)
def _glyph(char: str, rows: int, width: int) -> tuple[str, ...]:
    pen = _Pen(rows, width)
    points = _SHAPES[char](pen)
    lines = [[(x, y) in points for x in range(pen.advance(char))] for y in range(2 * rows)]
    pairs = zip(lines[::2], lines[1::2], strict=True)
    return tuple("".join(" ▀▄█"[a + 2 * b] for a, b in zip(*pair, strict=True)) for pair in pairs)


@lru_cache(maxsize=64)
def _width(shape: str, rows: int, columns: int | None) -> int | None:
    """The widest digit, in cells, at which the shape fits; None if even the narrowest fails."""
    # Three points are the least in which a stroke, a hollow and a stroke can be seen.
    narrowest = max(3, round(NARROWEST * 2 * rows))
    for width in range(round(WIDTH * 2 * rows), narrowest - 1, -1):
        pen = _Pen(rows, width)
        taken = sum(pen.advance(char) for char in shape) + pen.gap * (len(shape) - 1)
        if columns is None or taken <= columns:
            return width
    return None


def _shape(text: str) -> str:
    """The text with every digit as 0: all texts of one shape are equally wide."""
    for char in text:
        if char not in _SHAPES:
            raise ValueError(f"There is no big {char!r}: only digits, colon, signs and space.")
    return "".join("0" if char.isdigit() else char for char in text)


def big(text: str, rows: int, columns: int | None = None) -> tuple[str, ...]:
    """The text in big characters. Every digit is equally wide: nothing moves as a clock runs.

    Args:
        text: digits, ":", "-", "+" and spaces.
        rows: height in cells, 3 to 20.
        columns: cells at hand; digits are made narrower to fit. None: as wide as they should be.

    Returns:
        `rows` strings of equal length holding only U+2588, U+2580, U+2584 and spaces.

    Raises:
        ValueError: another character, rows outside the range, or too few columns.
    """
    shape = _shape(text)
    if not FEWEST_ROWS <= rows <= MOST_ROWS:
        raise ValueError(f"Big digits have {FEWEST_ROWS} to {MOST_ROWS} rows, not {rows}.")
    width = _width(shape, rows, columns)
    if width is None:
        raise ValueError(f"{text!r} at {rows} rows does not fit into {columns} columns.")
    gap = " " * _Pen(rows, width).gap
    glyphs = [_glyph(char, rows, width) for char in text]
    return tuple(gap.join(glyph[row] for glyph in glyphs) for row in range(rows))


def fitting_rows(text: str, width: int, height: int) -> int:
    """The most rows at which the text fits `width` by `height` cells, condensed if it must be.

    Returns:
        3 to 20, or 0 if not even 3 rows fit.

    Raises:
        ValueError: a character that has no big form.
    """
    shape = _shape(text)
    sizes = range(min(height, MOST_ROWS), FEWEST_ROWS - 1, -1)
    return next((rows for rows in sizes if _width(shape, rows, width) is not None), 0)


@lru_cache(maxsize=64)
def clock_lines(text: str, width: int, height: int) -> tuple[str, ...]:
    """A clock in the biggest digits that its place allows, in the middle of it.

    Text that has no big form, and any text where 3 rows do not fit, is shown as it is.

    Returns:
        `height` strings, each `width` cells wide.
    """
    text = inert(text).replace("\n", " ")
    rows = fitting_rows(text, width, height) if set(text) <= set(_SHAPES) else 0
    lines = big(text, rows, width) if rows else (cropped(text, width),)
    above = max(0, (height - len(lines)) // 2)
    # center() counts characters, and some are two cells wide.
    padded = [line.center(width + len(line) - cells(line)) for line in lines]
    return tuple([" " * width] * above + padded + [" " * width] * height)[:height]


def difference(before: tuple[str, ...], after: tuple[str, ...]) -> Region:
    """The smallest rectangle that holds every change; one without area if there is none.

    Args:
        before, after: as many lines each, every one as wide as the others.
    """
    rows = [y for y, line in enumerate(after) if line != before[y]]
    if not rows:
        return Region()
    top, bottom, width = rows[0], rows[-1] + 1, cells(after[0])
    # With wide characters a place in the string is no column: the rows are taken whole.
    if any(len(line) != width for line in (*before, *after)):
        return Region(0, top, width, bottom - top)
    pairs = [zip(before[y], after[y], strict=True) for y in rows]
    columns = [x for pair in pairs for x, (old, new) in enumerate(pair) if old != new]
    return Region(min(columns), top, max(columns) + 1 - min(columns), bottom - top)
