"""One widget that shows a picture of cells; of a new picture only what differs is repainted."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.reactive import Reactive
from textual.strip import Strip
from textual.widget import Widget

from cartclock.tui.face.canvas import Canvas, Look
from cartclock.tui.face.grounds import GROUNDS

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
        self._canvas = after
        if (before.width, before.height) != (after.width, after.height):
            self.refresh()
        elif turned is not self._turned:
            self._turned = turned
            self.refresh()
        elif changed := list(_difference(before, after)):
            self.refresh(*changed)

    def on_resize(self) -> None:
        """Another size has another picture."""
        self.show(self._draw, self._turned)

    def render_line(self, y: int) -> Strip:
        """Row `y`, 0 at the top."""
        if (self._canvas.width, self._canvas.height) != self.size:
            self._canvas = self._draw(*self.size)
        runs = self._canvas.runs(y)
        return Strip([Segment(text, self._style(look)) for text, look in runs], self.size.width)

    def _style(self, look: Look) -> Style:
        colours = self.app.theme_variables
        ground, ink, faint = (colours[name] for name in GROUNDS[look.ground])
        front = faint if look.dim else ink
        if self._turned:
            ground, front = front, ground
        return Style(color=front, bgcolor=ground, bold=look.bold)


def _difference(before: Canvas, after: Canvas) -> Iterator[Region]:
    """Where two pictures of one size differ."""
    for y in range(after.height):
        chars, looks = after.chars[y], after.looks[y]
        if before.chars[y] == chars and before.looks[y] == looks:
            continue
        was = zip(before.chars[y], before.looks[y], strict=True)
        pairs = zip(was, zip(chars, looks, strict=True), strict=True)
        columns = [x for x, (one, other) in enumerate(pairs) if one != other]
        first = last = columns[0]
        for x in columns[1:]:
            if x - last > _APART:
                yield Region(first, y, last + 1 - first, 1)
                first = x
            last = x
        yield Region(first, y, last + 1 - first, 1)
