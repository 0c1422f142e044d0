"""One widget that shows a picture of cells; of a new picture only what differs is repainted.

To draw some cells anew takes the screen library longer than to make the picture. Where nothing
stands in front of the picture and nothing else is to be drawn, as in most seconds in which only
clocks go on, the rows that changed go to the terminal past it. What it draws next it asks for as
ever, so that it never shows an older picture.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import takewhile

from rich.cells import cell_len
from rich.color import ColorSystem
from rich.console import COLOR_SYSTEMS
from rich.segment import Segment
from rich.style import Style
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
        elif (rows := _changed(before, after)) and not self._put(rows):
            self.refresh(*_difference(before, after, rows))

    def on_resize(self) -> None:
        """Another size has another picture."""
        self.show(self._draw, self._turned)

    def _put(self, rows: Sequence[int]) -> bool:
        """Writes rows straight to the terminal; False where the library has to draw them."""
        driver, place = self.app._driver, self._place
        if place is None or not isinstance(driver, Cells):
            return False
        left, top = place
        # The library keeps rows that it has drawn.
        self._styles_cache.set_dirty(*(Region(0, y, self._canvas.width, 1) for y in rows))
        filters, behind = self.get_line_filters(), self.background_colors[1]
        system = COLOR_SYSTEMS[self.app.console.color_system or "truecolor"]
        runs: list[Run] = []
        for y in rows:
            parts, x = self._parts(y), left
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

    def _parts(self, y: int) -> list[Segment]:
        """What row `y` is made of, in the colours of the theme."""
        return [Segment(text, self._style(look)) for text, look in self._canvas.runs(y)]

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


def _changed(before: Canvas, after: Canvas) -> list[int]:
    """The rows in which two pictures of one size differ."""
    return [
        y
        for y in range(after.height)
        if before.chars[y] != after.chars[y] or before.looks[y] != after.looks[y]
    ]


def _difference(before: Canvas, after: Canvas, rows: Sequence[int]) -> Iterator[Region]:
    """Where two pictures of one size differ in these rows."""
    for y in rows:
        was = zip(before.chars[y], before.looks[y], strict=True)
        pairs = zip(was, zip(after.chars[y], after.looks[y], strict=True), strict=True)
        columns = [x for x, (one, other) in enumerate(pairs) if one != other]
        first = last = columns[0]
        for x in columns[1:]:
            if x - last > _APART:
                yield Region(first, y, last + 1 - first, 1)
                first = x
            last = x
        yield Region(first, y, last + 1 - first, 1)
