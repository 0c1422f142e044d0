"""A list that fills a screen: one line each, one of them chosen, always in sight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from cartclock.engine.letters import cropped, inert


class Rows(Widget):
    """Lines of markup-free text; the chosen one is marked by a sign and by its ground."""

    DEFAULT_CSS = """
    Rows { height: 1fr; width: 1fr; }
    Rows > .rows--chosen { background: $cursor-field; color: $cursor-ink; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"rows--chosen"}
    ALLOW_SELECT = False

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._lines: tuple[str, ...] = ()
        self._at: int | None = None
        self._top = 0

    @property
    def lines(self) -> tuple[str, ...]:
        """Every line, made inert, also those out of sight."""
        return self._lines

    def show(self, lines: Sequence[str], at: int | None = None, top: int = 0) -> None:
        """Shows the lines; `at` is the chosen one, None for a text that is only read, from its
        line `top` on."""
        new = tuple(inert(line).replace("\n", " ") for line in lines)
        if (new, at, top) != (self._lines, self._at, self._top):
            self._lines, self._at, self._top = new, at, top
            self.refresh()

    @property
    def first(self) -> int:
        """Index of the line on top: the chosen one stays in the middle where it can."""
        if self._at is None:
            return self._top
        height, at = self.size.height, self._at
        return max(0, min(at - height // 2, len(self._lines) - height))

    def render_line(self, y: int) -> Strip:
        """Row `y` of the content, 0 at the top."""
        width, plain = self.size.width, self.rich_style
        index = self.first + y
        if index >= len(self._lines):
            return Strip.blank(width, plain)
        chosen = index == self._at
        mark = "" if self._at is None else ("> " if chosen else "  ")
        style = self.get_component_rich_style("rows--chosen") if chosen else plain
        text = cropped(mark + self._lines[index], width)
        return Strip([Segment(text, style)]).adjust_cell_length(width, style)
