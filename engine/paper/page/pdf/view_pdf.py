"""A vehicle from above in print."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.page.pdf.ink import SMALL, Draw, Ink
from cartclock.engine.paper.page.pdf.letters import Style
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.paper.page.view import NAME_PT, SIGN_PT, VehicleView, untold_words
from cartclock.engine.paper.page.view_layout import CAPITAL, Layout, Writing, laid_out
from cartclock.engine.vehicle.plan_view import HALF_HEIGHT, LEFT_EDGE, RIGHT_EDGE, Point

HIGHEST_PT = 328.0
"""A view takes no more of the height of a sheet, in points, however wide the column; of a sheet
whose letters have to get smaller to keep to its page it takes less than they do."""

DIM = 0.3
"""Grey of the names of panels: weaker than signs, and still 7:1 (WCAG 2.1, SC 1.4.6)."""

# Room of a sign in the key, in points; signs grow with the drawing: their size in its units.
_KEY_PT = 22.0
_SIGN = 2.6
# A key stands in two columns from so many points of width on, if it has more rows than these
# and two columns are no higher than this; our own judgement.
_TWO_PT, _FEW, _HIGH_PT = 400.0, 3, 200.0


def put_view(page: Print, view: VehicleView, scale: float) -> None:
    """The drawing, then its key, a row for each sign.

    scale: how large the page's letters are printed, 1 for those of `ink`; those of the drawing
    never get smaller than they may be.
    """
    around, name = max(SIGN_PT / scale, SMALL), NAME_PT / scale
    letters = page.letters
    wide = page.width / (RIGHT_EDGE - LEFT_EDGE)
    unit = min(wide, (HIGHEST_PT * scale**2 - 2.8 * around) / (2 * HALF_HEIGHT))
    sign = max(around, _SIGN * unit)

    def width(text: str, bold: bool) -> float:
        return letters.width(letters.plain(text), "bold" if bold else "regular", 1.0)

    layout = laid_out(view, sign / unit, name / unit, around / unit, width)
    height = 2 * layout.half_height * unit

    def draw(ink: Ink, x: float, y: float) -> None:
        left = x + (page.width - (RIGHT_EDGE - LEFT_EDGE) * unit) / 2
        _Drawing(ink, left - LEFT_EDGE * unit, y - height / 2, unit).all(view, layout)

    page.air(3.0)
    key = (*view.key, *untold_words(layout.untold))
    page.drawing(height + (0.4 * around if key else 0.0), draw, keep=bool(key))
    _put_key(page, key, around)
    page.line()


def _put_key(page: Print, key: Sequence[tuple[str, str]], size: float) -> None:
    """In one column, or in two where that saves height and they are not too high for it."""
    if len(key) > _FEW and page.width >= _TWO_PT:
        half = (page.width - 12) / 2
        rows = [_key_row(page, one, text, size, half) for one, text in key]
        total = sum(height for height, _draw in rows)
        at = next(n for n in range(len(rows)) if 2 * sum(h for h, _d in rows[: n + 1]) >= total)
        columns = rows[: at + 1], rows[at + 1 :]
        high = max(sum(height for height, _draw in column) for column in columns)
        if high <= _HIGH_PT:

            def draw(ink: Ink, x: float, y: float) -> None:
                for index, column in enumerate(columns):
                    top = y
                    for height, row in column:
                        row(ink, x + index * (half + 12), top)
                        top -= height

            page.drawing(high, draw)
            return
    for one, text in key:
        page.drawing(*_key_row(page, one, text, size, page.width))


def _key_row(page: Print, sign: str, text: str, size: float, width: float) -> tuple[float, Draw]:
    """Height and drawing of one row of the key."""
    letters = page.letters
    signs = letters.lines(sign, width / 3, "bold", size)
    left = max(_KEY_PT, 6 + max(letters.width(line, "bold", size) for line in signs))
    lines = letters.lines(text, width - left, "regular", size)
    step = size * 1.28
    styles: tuple[tuple[list[str], float, Style], ...] = (
        (signs, 0.0, "bold"),
        (lines, left, "regular"),
    )

    def draw(ink: Ink, x: float, y: float) -> None:
        for column, indent, style in styles:
            for index, line in enumerate(column):
                ink.text(x + indent, y - size - index * step, line, style, size)

    return max(len(signs), len(lines)) * step + 1, draw


class _Drawing:
    """Draws on the page; `x`, `y` are where the middle of the vehicle's front lies."""

    def __init__(self, ink: Ink, x: float, y: float, unit: float) -> None:
        self._ink, self._x, self._y, self._unit = ink, x, y, unit
        # A heavy line round a small panel would be more of it than the panel is.
        self._line = min(1.0, max(0.5, unit / 4.2))

    def all(self, view: VehicleView, layout: Layout) -> None:
        ink = self._ink
        ink.canvas.saveState()
        for place in layout.plan.places:
            thin = place.kind in ("glass", "bed")
            ground = 1 - view.ink(place.name)
            self._outline(place.corners, self._line * (0.5 if thin else 1), ground)
        for a, b in layout.strokes:
            ink.line(*self._at(a), *self._at(b), 0.4)
        for rim in layout.plan.rims:
            self._outline(rim, self._line * 0.6)
        self._outline(layout.arrow, 0.1, 0.0)
        ink.canvas.restoreState()
        for one in layout.writings:
            self._write(one)

    def _at(self, point: Point) -> Point:
        return self._x + point[0] * self._unit, self._y - point[1] * self._unit

    def _outline(self, corners: Sequence[Point], line: float, ground: float | None = None) -> None:
        canvas = self._ink.canvas
        path = canvas.beginPath()
        first, *others = map(self._at, corners)
        path.moveTo(*first)
        for point in others:
            path.lineTo(*point)
        path.close()
        canvas.setLineWidth(line)
        if ground is not None:
            canvas.setFillGray(ground)
        canvas.drawPath(path, stroke=1, fill=0 if ground is None else 1)

    def _write(self, one: Writing) -> None:
        ink, size = self._ink, one.size * self._unit
        if one.tag:
            ink.canvas.saveState()
            self._outline(one.tag, 1.1, 1.0)
            ink.canvas.restoreState()
        x, y = self._at((one.x, one.y))
        line = ink.letters.plain(one.text).replace("\n", " ")
        style: Style = "bold" if one.bold else "regular"
        grey = DIM if one.dim else 0.0
        down = CAPITAL * size / 2
        if one.turned:
            ink.upward(x + down, y, line, style, size, grey)
        else:
            ink.canvas.saveState()
            ink.canvas.setFillGray(grey)
            ink.text(x, y - down, line, style, size, one.anchor)
            ink.canvas.restoreState()
