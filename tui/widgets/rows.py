"""A list that fills a screen: one line each, one of them chosen, always in sight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.segment import Segment
from textual.geometry import Region, Size
from textual.reactive import Reactive
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
    # What is drawn goes by the size that a layout gave it and asks for no other one.
    virtual_size = Reactive(Size(0, 0))

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
        if (new, at, top) == (self._lines, self._at, self._top):
            return
        before = self._rows()
        self._lines, self._at, self._top = new, at, top
        if not self.size:
            # Out of sight it has no rows to tell apart, but what was drawn of it is kept.
            self.refresh()
            return
        pairs = zip(before, self._rows(), strict=True)
        changed = [y for y, (was, is_so) in enumerate(pairs) if was != is_so]
        if changed:
            self.refresh(*(Region(0, y, self.size.width, 1) for y in changed))

    @property
    def first(self) -> int:
        """Index of the line on top: the chosen one stays in the middle where it can."""
        if self._at is None:
            return self._top
        height, at = self.size.height, self._at
        return max(0, min(at - height // 2, len(self._lines) - height))

    def line_at(self, y: int) -> int | None:
        """Index of the line in row `y` of the screen; None if none stands there."""
        row = y - self.content_region.y
        index = self.first + row
        return index if 0 <= row < self.size.height and index < len(self._lines) else None

    @property
    def chosen_row(self) -> int | None:
        """Row of the content in which the chosen line stands; None without one."""
        return None if self._at is None else self._at - self.first

    def _row(self, y: int) -> tuple[str, bool]:
        """What stands in row `y` of the content, and whether it is the chosen line."""
        index = self.first + y
        if index >= len(self._lines):
            return "", False
        mark = "" if self._at is None else ("> " if index == self._at else "  ")
        return mark + self._lines[index], index == self._at

    def _rows(self) -> list[tuple[str, bool]]:
        return [self._row(y) for y in range(self.size.height)]

    def render_line(self, y: int) -> Strip:
        """Row `y` of the content, 0 at the top."""
        width, (text, chosen) = self.size.width, self._row(y)
        style = self.get_component_rich_style("rows--chosen") if chosen else self.rich_style
        return Strip([Segment(cropped(text, width), style)]).adjust_cell_length(width, style)
