"""One widget that shows a picture of cells; of a new picture only what differs is repainted.

To draw some cells anew takes the screen library longer than to make the picture. Where nothing
stands in front of the picture and nothing else is to be drawn, as in most seconds in which only
clocks go on, the rows that changed go to the terminal past it. What it draws next it asks for as
ever, so that it never shows an older picture.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import compress, count, takewhile
from operator import ne

from rich.cells import cell_len
from rich.color import ColorSystem
from rich.console import COLOR_SYSTEMS
from rich.segment import Segment
from rich.style import Style
from textual.filter import ANSIToTruecolor
from textual.geometry import Region, Size
from textual.reactive import Reactive
from textual.strip import Strip
from textual.widget import Widget

from cartclock.tui.face.canvas import Canvas, Look
from cartclock.tui.face.grounds import inks
from cartclock.tui.terminal.wire import Cells, Run

# Two changes in one row that are further apart are repainted apart: to go past cells costs a
# terminal about as much as to write so many.
_APART = 12

Draw = Callable[[int, int], Canvas]
"""Makes a picture of so many columns and rows."""
Part = tuple[int, int, int]
"""A row, and a stretch of it: its first column, and the one before which it ends."""


class Painted(Widget):
    """Shows a canvas of its own size in the colours of the theme."""

    DEFAULT_CSS = "Painted { width: 1fr; height: 1fr; }"
    ALLOW_SELECT = False
    # What is drawn goes by the size that a layout gave it and asks for no other one.
    virtual_size = Reactive(Size(0, 0))
    _canvas = Canvas(0, 0)
    _turned = False
    _draw: Draw = Canvas

    @property
    def canvas(self) -> Canvas:
        """What is shown."""
        return self._canvas

    def show(self, draw: Draw, turned: bool = False) -> None:
        """Shows a picture.

        Args:
            draw: makes the picture for so many columns and rows; asked again for another size.
            turned: ink and ground change places in all of it.
        """
        self._draw = draw
        before, after = self._canvas, draw(*self.size)
        resized = (before.width, before.height) != (after.width, after.height)
        fresh = resized or turned is not self._turned
        self._canvas, self._turned = after, turned
        if fresh:
            self.refresh()
        elif (parts := _changed(before, after)) and not self._put(parts):
            self.refresh(*_difference(before, after, parts))

    def on_resize(self) -> None:
        """Another size has another picture."""
        self.show(self._draw, self._turned)

    def _put(self, changed: Sequence[Part]) -> bool:
        """Writes what changed straight to the terminal; False where the library has to draw it."""
        driver, place = self.app._driver, self._place
        if place is None or not isinstance(driver, Cells):
            return False
        left, top = place
        width, filters = self._canvas.width, self.get_line_filters()
        # Where colours are few they go by the letters that stand together.
        together = not all(isinstance(each, ANSIToTruecolor) for each in filters)
        # The library keeps rows that it has drawn.
        self._styles_cache.set_dirty(*(Region(0, y, width, 1) for y, _first, _end in changed))
        # Every cell has a ground of its own, so that none goes by what is behind.
        behind = self.styles.background
        system = COLOR_SYSTEMS[self.app.console.color_system or "truecolor"]
        runs: list[Run] = []
        for y, first, end in changed:
            first, end = (0, width) if together else (first, end)
            parts, x = self._parts(y, first, end), left + first
            for each in filters:
                parts = each.apply(parts, behind)
            for text, style, _control in parts:
                runs.append((top + y, x, _colours(style, system), text))
                x += cell_len(text)
        driver.put(runs)
        return True

    @property
    def _place(self) -> tuple[int, int] | None:
        """Column and row of the screen where all of it is seen; None if it is not, or if the
        library has something to draw or to lay out.
        """
        app, screen = self.app, self.screen
        if not app.is_running or app._batch_count or app.screen is not screen:
            return None
        shown = screen._compositor
        parts = (screen, *screen.children)
        waits = any(part._repaint_required or part._layout_required for part in parts)
        found = shown.visible_widgets.get(self)
        if waits or screen._dirty_widgets or found is None or shown.size != app.size:
            return None
        region, clip = found
        in_front = takewhile(lambda part: part[0] is not self, shown.visible_widgets.items())
        if any(place.overlaps(region) for _part, (place, _clip) in in_front):
            return None
        return region.offset if clip.contains_region(region) else None

    def render_line(self, y: int) -> Strip:
        """Row `y`, 0 at the top."""
        if (self._canvas.width, self._canvas.height) != self.size:
            self._canvas = self._draw(*self.size)
        return Strip(self._parts(y), self._canvas.width)

    def _parts(self, y: int, first: int = 0, end: int | None = None) -> list[Segment]:
        """What row `y` is made of from one column up to before another, in the colours of the
        theme.
        """
        return [Segment(text, self._style(look)) for text, look in self._canvas.runs(y, first, end)]

    def _style(self, look: Look) -> Style:
        ink, ground = inks(look, self.app.theme_variables, self._turned)
        return _style(ink, ground, look.bold)


@lru_cache(maxsize=64)
def _style(front: str, ground: str, bold: bool) -> Style:
    return Style(color=front, bgcolor=ground, bold=bold)


@lru_cache(maxsize=256)
def _colours(style: Style | None, system: ColorSystem) -> str:
    """The parameters of a style, as the library writes it."""
    return "" if style is None else Strip.render_ansi(style, system)


def _changed(before: Canvas, after: Canvas) -> list[Part]:
    """Where two pictures of one size differ."""
    found = []
    for y in range(after.height):
        first, end = after.width, 0
        for was, now in ((before.chars[y], after.chars[y]), (before.looks[y], after.looks[y])):
            if was != now:
                columns = _columns(was, now)
                first, end = min(first, columns[0]), max(end, columns[-1] + 1)
        if end and (y in before.uneven or y in after.uneven):
            # Terminals differ in where the cells behind such letters stand.
            first, end = 0, after.width
        if end:
            found.append((y, first, end))
    return found


def _columns(was: Sequence[object], now: Sequence[object]) -> list[int]:
    """Where two rows differ."""
    return list(compress(count(), map(ne, was, now)))


def _difference(before: Canvas, after: Canvas, parts: Sequence[Part]) -> Iterator[Region]:
    """Where two pictures of one size differ in these parts, stretch by stretch."""
    for y, _first, _end in parts:
        chars, looks = (before.chars[y], after.chars[y]), (before.looks[y], after.looks[y])
        columns = sorted({*_columns(*chars), *_columns(*looks)})
        first = last = columns[0]
        for x in columns[1:]:
            if x - last > _APART:
                yield Region(first, y, last + 1 - first, 1)
                first = x
            last = x
        yield Region(first, y, last + 1 - first, 1)
