"""Letters, digits and signs of one family for what is read from three metres, and for dates.

A point is one cell wide and half a cell high, about a square; half blocks show it. One rule for
every size: a stroke is a fifth to a seventh of the height (common practice for legible numerals
and capitals, no source) and equally thick in every direction; a round corner is cut off at 45
degrees, a corner at a stem stays square, so that O and D, S and 5, B and 8 stay apart. Letters
are made narrower before they are made lower: legibility at a distance is reckoned by the height
(NUREG-0700: at least 16, better 20 to 22 minutes of arc; read second-hand).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from functools import cached_property, lru_cache

Points = frozenset[tuple[int, int]]  # (column, line of half cells) from the top left
Glyph = tuple[Points, int]  # and its width in points

# Height in points -> stroke in points, where a seventh would close a hollow; else a sixth.
_STROKES = {5: 1, 6: 1, 7: 1, 8: 1, 10: 2, 12: 2, 14: 2, 17: 3, 21: 3, 27: 4}

# Height in points -> (width of a plain letter, gap between two), from the roomiest to the tightest.
SETTINGS: dict[int, tuple[tuple[int, int], ...]] = {
    5: ((4, 1), (3, 1)),
    6: ((4, 1), (3, 1)),
    7: ((5, 2), (5, 1), (4, 1), (3, 1)),
    8: ((5, 2), (5, 1), (4, 1)),
    10: ((7, 2), (6, 2), (5, 2), (5, 1)),
    12: ((7, 3), (7, 2), (6, 2), (5, 2)),
    14: ((9, 3), (8, 2), (7, 2), (6, 2)),
    17: ((11, 3), (10, 3), (9, 2), (8, 2)),
    21: ((13, 3), (12, 3), (11, 3), (10, 2)),
    27: ((17, 4), (15, 4), (13, 3)),
}

# A wedge says which way digits run: down to the mark, up since it.
DOWN, UP = "v", "^"

# Folding finds the accents that are parted from their letter, not what is a letter of its own.
_FOLDED = str.maketrans(
    {
        "Ł": "L",
        "Ŀ": "L",
        "Ð": "D",
        "Ø": "O",
        "Đ": "D",
        "ẞ": "SS",
        "Æ": "AE",
        "Œ": "OE",
        "Þ": "TH",
        "’": "'",
        "–": "-",
    }
)


class _Pen:
    """One size: its height, the width of a plain letter, its strokes and glyphs.

    Boxes are half open: the right column and the bottom line are outside.
    """

    def __init__(self, height: int, width: int) -> None:
        self.height, self.width = height, width
        self.stroke = _STROKES.get(height) or max(1, round(height / 6))
        thick = self.stroke > 1
        self.cut = 0 if width < 4 or height < 6 else max(1, self.stroke - 1)
        self.bar = (height - self.stroke) // 2
        self.low = height - self.stroke
        # A hook would close the open side of a small letter: only thick strokes have a long one.
        self.hook = min(self.bar - 1, self.stroke + (self.stroke > 2)) if self.bar > 1 else 1
        self.inner = width - self.stroke
        self.thick = thick

    def box(self, left: int, top: int, right: int, bottom: int) -> Points:
        lines = range(max(0, top), min(self.height, bottom))
        return frozenset((x, y) for y in lines for x in range(max(0, left), right))

    def corners(self, top: int, bottom: int, which: str, cut: int, rim: int = 0) -> Points:
        """What a cut at 45 degrees takes off a box; which: some of "abcd" from the top left."""
        left, right = rim, self.width - 1 - rim
        gone: set[tuple[int, int]] = set()
        for i in range(cut):
            for j in range(cut - i):
                found = {
                    "a": (left + i, top + j),
                    "b": (right - i, top + j),
                    "c": (right - i, bottom - 1 - j),
                    "d": (left + i, bottom - 1 - j),
                }
                gone |= {found[name] for name in which}
        return frozenset(gone)

    def ring(self, top: int, bottom: int, which: str = "abcd") -> Points:
        """A closed ring over the whole width with those corners cut, within and without."""
        stroke = self.stroke
        hollow = self.box(stroke, top + stroke, self.inner, bottom - stroke)
        within = self.corners(top + stroke, bottom - stroke, which, max(0, self.cut - 1), stroke)
        whole = self.box(0, top, self.width, bottom) - (hollow - within)
        return whole - self.corners(top, bottom, which, self.cut)

    def slant(self, upper: int, top: int, lower: int, bottom: int) -> Points:
        """A leaning stroke whose left edge runs from column `upper` to column `lower`."""
        lines = max(1, bottom - top - 1)
        lean = abs(lower - upper) / lines
        # As much wider across as the lean makes it thinner, and never with holes.
        even = round(self.stroke * (1 + lean * lean) ** 0.5 - 0.2)
        across = max(self.stroke, even, round(lean))
        found: set[tuple[int, int]] = set()
        for y in range(max(0, top), min(bottom, self.height)):
            left = int(upper + (lower - upper) * (y - top) / lines + 0.5)
            found |= {(x, y) for x in range(max(0, left), left + across)}
        return frozenset(found)

    def stem(self, left: int, top: int = 0, bottom: int | None = None) -> Points:
        bottom = self.height if bottom is None else bottom
        return self.box(left, top, left + self.stroke, bottom)

    def line(self, top: int, left: int = 0, right: int | None = None) -> Points:
        return self.box(left, top, self.width if right is None else right, top + self.stroke)

    @cached_property
    def odd(self) -> int:
        """A width in which a stroke stands in the very middle."""
        return self.width + self.inner % 2

    @property
    def bowls(self) -> str:
        """The corners that are cut in a letter of two bowls; none in the narrowest."""
        return "abcd" if self.width > 3 else ""

    def both(self, above: str, below: str) -> Points:
        """Two rings over each other with these corners cut."""
        narrow = self.width <= 3
        upper = self.ring(0, self.bar + self.stroke, "" if narrow else above)
        return upper | self.ring(self.bar, self.height, "" if narrow else below)

    def turned(self, points: Points, width: int) -> Points:
        return frozenset((width - 1 - x, self.height - 1 - y) for x, y in points)

    def a(self) -> Glyph:
        width, stroke = self.width, self.stroke
        arch = self.box(0, 0, width, self.height) - self.box(
            stroke, stroke, self.inner, self.height
        )
        arch -= self.corners(0, self.height, "ab", self.cut or 1)
        at = min(self.low - 1, self.bar + (self.height > 6) + self.thick)
        return arch | self.line(at, stroke, self.inner), width

    def b(self) -> Glyph:
        width, stroke, right = self.width, self.stroke, self.width - 1
        two = self.ring(0, self.bar + stroke, "bc") | self.ring(self.bar, self.height, "bc")
        # The waist tells a B from an 8.
        if width <= 3:
            waist = {(right, 0), (right, self.height - 1), (right, self.bar)}
        else:
            waist = {(right, self.bar + stroke // 2), (right, self.bar + (stroke - 1) // 2)}
        return (two | self.stem(0)) - frozenset(waist), width

    def c(self) -> Glyph:
        open_ = self.box(self.stroke, self.hook, self.width, self.height - self.hook)
        return self.ring(0, self.height) - open_, self.width

    def d(self) -> Glyph:
        cut = max(1, self.cut + self.thick)
        bow = self.ring(0, self.height, "bc") | self.stem(0)
        return bow - self.corners(0, self.height, "bc", cut), self.width

    def e(self) -> Glyph:
        points, width = self.f()
        return points | self.line(self.low), width

    def f(self) -> Glyph:
        bars = self.line(0) | self.line(self.bar, 0, self.width - 1)
        return self.stem(0) | bars, self.width

    def g(self) -> Glyph:
        width, stroke = self.width, self.stroke
        ring = self.ring(0, self.height) - self.box(stroke, self.hook, width, self.bar)
        tight = width < 2 * stroke + 2 and self.thick
        left = self.inner if tight else width - max(stroke + (width > 4), width // 2)
        arm = self.line(self.bar, left) | self.stem(self.inner, self.bar, self.height - self.cut)
        return ring | arm, width

    def h(self) -> Glyph:
        return self.stem(0) | self.stem(self.inner) | self.line(self.bar), self.width

    def i(self) -> Glyph:
        return self.stem(0), self.stroke

    def j(self) -> Glyph:
        open_ = self.box(0, 0, self.inner, self.height - max(self.stroke + 1, self.hook))
        hook = self.ring(0, self.height, "cd") - open_
        return hook | self.stem(self.inner, 0, self.height - self.cut), self.width

    def k(self) -> Glyph:
        width, joint, mid = self.width + self.thick, self.stroke - self.thick, self.height // 2
        upper = self.slant(width - self.stroke, 0, joint, mid + self.height % 2)
        lower = self.slant(joint, mid, width - self.stroke, self.height)
        return self.stem(0) | upper | lower, width

    def l(self) -> Glyph:  # noqa: E743  # a glyph is named after its letter
        return self.stem(0) | self.line(self.low), self.width

    def m(self) -> Glyph:
        stroke = self.stroke
        width = 2 * stroke + 2 * max(1, stroke - 1) + stroke
        half, depth = (width - stroke) // 2, max(2, round(0.62 * self.height))
        left = self.slant(max(1, stroke - 1), int(self.thick), half, depth)
        right = frozenset((width - 1 - x, y) for x, y in left)
        return self.stem(0) | self.stem(width - stroke) | left | right, width

    def n(self) -> Glyph:
        stroke = self.stroke
        width = self.width + (0 if self.width > 6 else 2 if self.thick and self.width < 6 else 1)
        last = width - 2 * stroke + self.thick
        slope = self.slant(max(1, stroke - 1), 1, last, self.height - 1)
        return self.stem(0) | self.stem(width - stroke) | slope, width

    def o(self) -> Glyph:
        return self.ring(0, self.height), self.width

    def p(self) -> Glyph:
        end = self.bar + self.stroke + (self.thick or self.height > 6)
        return self.ring(0, end, "bc") | self.stem(0), self.width

    def q(self) -> Glyph:
        # The tail lies outside: inside it would fill the hollow.
        width = self.width + max(1, self.stroke - 1)
        tail = self.box(self.inner, self.low, width, self.height)
        return self.ring(0, self.height, "abd") | tail, width

    def r(self) -> Glyph:
        end = self.bar + self.stroke + (self.thick and self.height > 10)
        begin = max(self.stroke, self.width // 2 - 1) if self.width > 3 else 1
        leg = self.slant(begin, end, self.inner, self.height)
        return self.ring(0, end, "bc") | self.stem(0) | leg, self.width

    def s(self) -> Glyph:
        width, stroke, bar = self.width, self.stroke, self.bar
        gone = self.box(stroke, stroke, width, bar) - self.box(0, 0, width, min(bar, self.hook))
        gone |= self.box(self.inner, min(bar, max(stroke, self.hook)), width, bar)
        gone |= self.box(0, bar + stroke, stroke, self.height - max(stroke, self.hook))
        gone |= self.box(stroke, bar + stroke, self.inner, self.low)
        if not self.cut:
            # Else it would be a 5.
            gone |= {(0, 0), (width - 1, self.height - 1)}
        return self.both("abd", "bcd") - gone, width

    def t(self) -> Glyph:
        width = self.odd
        return self.box(0, 0, width, self.stroke) | self.stem((width - self.stroke) // 2), width

    def u(self) -> Glyph:
        if not self.cut:
            return self.stem(0) | self.stem(self.inner) | self.line(self.low), self.width
        end = self.height - self.cut - 1
        bow = self.ring(-self.stroke, self.height, "cd")
        return bow | self.stem(0, 0, end) | self.stem(self.inner, 0, end), self.width

    def v(self) -> Glyph:
        width = self.odd
        half, knee = (width - self.stroke) // 2, round(0.4 * self.height)
        left = self.stem(0, 0, knee) | self.slant(0, knee - 1, half, self.height)
        return left | frozenset((width - 1 - x, y) for x, y in left), width

    def w(self) -> Glyph:
        points, width = self.m()
        return frozenset((x, self.height - 1 - y) for x, y in points), width

    def x(self) -> Glyph:
        width = self.odd
        one = self.slant(0, 0, width - self.stroke, self.height)
        return one | frozenset((width - 1 - x, y) for x, y in one), width

    def y(self) -> Glyph:
        width = self.odd
        half, knee = (width - self.stroke) // 2, round(0.5 * self.height)
        left = self.slant(0, 0, half, knee + 1)
        right = frozenset((width - 1 - x, y) for x, y in left)
        return left | right | self.stem(half, knee), width

    def z(self) -> Glyph:
        slope = self.slant(self.inner, self.stroke, 0, self.low)
        return self.line(0) | self.line(self.low) | slope, self.width

    def one(self) -> Glyph:
        # As wide as every digit, so that nothing moves as a clock runs.
        stroke = self.stroke
        left = (self.width - self.inner % 2 - stroke) // 2
        reach = max(1, round(0.22 * self.width))
        glyph = self.stem(left) | self.line(self.low, left - reach, left + stroke + reach)
        for step in range(1, reach + 1):
            glyph |= self.box(left - step, step, left - step + 1, step + stroke + self.thick)
        return glyph, self.width

    def two(self) -> Glyph:
        width, height = self.width, self.height
        turn = self.bar + self.stroke if height < 10 else round(0.44 * height)
        below = self.box(0, self.hook, self.inner, height) | self.box(0, turn, width, height)
        slope = self.slant(self.inner, turn - 1, 0, self.low + 1)
        return (self.ring(0, height, "ab") - below) | slope | self.line(self.low), width

    def three(self) -> Glyph:
        # The bar is shorter than the hooks: a long one closes the left side into an 8.
        third, open_ = max(self.stroke, round(0.36 * self.width)), max(self.stroke, self.hook)
        gone = self.box(0, open_, third, self.height - open_)
        return self.both("abc", "bcd") - gone, self.width

    def four(self) -> Glyph:
        # The open form: a slope with a hollow under it closes up when it is small.
        at = round(0.56 * self.height) if self.height > 8 else self.bar + (self.height > 6)
        wide = self.width > 6
        stem = self.stem(self.inner - wide, self.stroke if wide else 0)
        return self.line(at) | self.stem(0, 0, at) | stem, self.width

    def five(self) -> Glyph:
        width, stroke = self.width, self.stroke
        at = self.bar if self.height < 10 else round(0.4 * self.height)
        third, open_ = max(stroke, round(0.36 * width)), max(stroke, self.hook)
        bow = self.ring(at, self.height, "bcd" if width > 3 else "")
        bow -= self.box(0, at + stroke, third, self.height - open_)
        neck = self.stem(0, 0, at + stroke) | self.line(at, 0, width // 2)
        return self.line(0) | neck | bow, width

    def six(self) -> Glyph:
        open_ = self.box(self.stroke, max(self.stroke, self.hook), self.width, self.height)
        arm = self.ring(0, self.height) - open_
        bow = self.ring(self.bar, self.height, "bcd" if self.width > 3 else "")
        return arm | bow | self.stem(0, self.stroke, self.low), self.width

    def seven(self) -> Glyph:
        leg = self.slant(self.inner, self.stroke, round(0.25 * self.width), self.height)
        return self.line(0) | leg, self.width

    def eight(self) -> Glyph:
        upper = self.ring(0, self.bar + self.stroke)
        return upper | self.ring(self.bar, self.height), self.width

    def nine(self) -> Glyph:
        points, width = self.six()
        return self.turned(points, width), width

    def colon(self) -> Glyph:
        dot = self.stroke
        high = max(1, round(0.3 * self.height - dot / 2))
        low = self.height - high - dot
        return self.box(0, high, dot, high + dot) | self.box(0, low, dot, low + dot), dot

    def minus(self) -> Glyph:
        width = max(2, self.width - 2)
        return self.line(self.bar, 0, width), width

    def plus(self) -> Glyph:
        arm = max(1, self.inner // 2)
        width = 2 * arm + self.stroke
        down = self.box(arm, self.bar - arm, arm + self.stroke, self.bar + self.stroke + arm)
        return self.line(self.bar, 0, width) | down, width

    def stop(self) -> Glyph:
        return self.stem(0, self.low), self.stroke

    def comma(self) -> Glyph:
        # It goes on to the left below the middle of the dot, or it would be a stop.
        width, top = self.stroke + 1, self.low - max(1, self.stroke // 2)
        tail = self.box(0, self.height - max(1, self.stroke // 2), 1, self.height)
        return self.box(1, top, width, self.height - 1 + self.thick) | tail, width

    def question(self) -> Glyph:
        mid, stroke = self.inner // 2, self.stroke
        below = self.box(0, self.hook, self.inner, self.height)
        top = self.ring(0, self.height, "ab") - below - self.box(0, self.bar, 99, self.height)
        neck = self.line(self.bar, mid, self.width - (self.width > 3))
        stem = self.stem(mid, self.bar, self.height - 2 * stroke)
        return top | neck | stem | self.stem(mid, self.low), self.width

    def slash(self) -> Glyph:
        return self.slant(self.inner, 0, 0, self.height), self.width

    def apostrophe(self) -> Glyph:
        return self.stem(0, 0, 2 * self.stroke), self.stroke

    def wedge(self) -> Glyph:
        rows = max(2, self.stroke + 1)
        width, top = 2 * rows - 1, self.bar + self.stroke // 2 - rows // 2
        lines = range(rows)
        return frozenset((x, top + y) for y in lines for x in range(y, width - y)), width

    def wedge_up(self) -> Glyph:
        rows = max(2, self.stroke + 1)
        width, top = 2 * rows - 1, self.bar + self.stroke // 2 - rows // 2
        lines = range(rows)
        up = frozenset((x, top + rows - 1 - y) for y in lines for x in range(y, width - y))
        return up, width

    def space(self) -> Glyph:
        return frozenset(), max(2, round(0.5 * self.width))


_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_DIGITS = (
    _Pen.o, _Pen.one, _Pen.two, _Pen.three, _Pen.four,
    _Pen.five, _Pen.six, _Pen.seven, _Pen.eight, _Pen.nine,
)  # fmt: skip
_SIGNS: dict[str, Callable[[_Pen], Glyph]] = {
    ":": _Pen.colon,
    "-": _Pen.minus,
    "+": _Pen.plus,
    ".": _Pen.stop,
    ",": _Pen.comma,
    "?": _Pen.question,
    "/": _Pen.slash,
    "'": _Pen.apostrophe,
    DOWN: _Pen.wedge,
    UP: _Pen.wedge_up,
    " ": _Pen.space,
}
_SHAPES: dict[str, Callable[[_Pen], Glyph]] = {
    **{letter: getattr(_Pen, letter.lower()) for letter in _LETTERS},
    **dict(zip("0123456789", _DIGITS, strict=True)),
    **_SIGNS,
}
KNOWN = frozenset(_SHAPES)


def unaccented(text: str) -> str:
    """The text in capitals without accents: what has a large form, as far as it goes.

    Wedges are marks and no letters, so a "v" of the text becomes a V.
    """
    if text.isascii():
        return text.upper()
    parted = unicodedata.normalize("NFKD", text.upper().translate(_FOLDED))
    return "".join(char for char in parted if not unicodedata.combining(char))


@lru_cache(maxsize=2048)
def _glyph(char: str, height: int, width: int) -> Glyph:
    return _SHAPES[char](_Pen(height, width))


@lru_cache(maxsize=512)
def measured(text: str, height: int, width: int, gap: int) -> int:
    """Columns that a text takes.

    Args:
        text: of `KNOWN` characters.
        height: in points, a key of `SETTINGS`.
        width: of a plain letter, in points.
        gap: between two characters, in points.

    Raises KeyError for a character without a large form.
    """
    return sum(_glyph(char, height, width)[1] for char in text) + gap * max(0, len(text) - 1)


@lru_cache(maxsize=512)
def in_blocks(text: str, height: int, width: int, gap: int, offset: int = 0) -> tuple[str, ...]:
    """The text in half blocks.

    Args:
        text, height, width, gap: as for `measured`.
        offset: points left free above, 0 or 1: where in a row of cells it begins.

    Returns:
        Rows of equal length holding only U+2588, U+2580, U+2584 and spaces.

    Raises KeyError for a character without a large form.
    """
    points: set[tuple[int, int]] = set()
    at = 0
    for char in text:
        glyph, wide = _glyph(char, height, width)
        points |= {(at + x, y + offset) for x, y in glyph}
        at += wide + gap
    columns = range(max(0, at - gap))
    rows = range(-(-(height + offset) // 2))
    return tuple(
        "".join(" ▀▄█"[((x, 2 * y) in points) + 2 * ((x, 2 * y + 1) in points)] for x in columns)
        for y in rows
    )


@lru_cache(maxsize=512)
def setting(text: str, height: int, columns: int) -> tuple[int, int] | None:
    """The roomiest (width, gap) of that height at which the text fits; None if none does.

    Raises KeyError for a height that is not among `SETTINGS` and for an unknown character.
    """
    return next((one for one in SETTINGS[height] if measured(text, height, *one) <= columns), None)
