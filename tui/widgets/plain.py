"""Text of a person on the screen: shown as it is, never read as markup or as control codes."""

from __future__ import annotations

from rich.segment import Segment
from textual.geometry import Size
from textual.reactive import Reactive
from textual.strip import Strip
from textual.widget import Widget

from cartclock.engine.letters import ELLIPSIS, cells, cropped, inert, wrapped


class Plain(Widget):
    """Lines of markup-free text, coloured and aligned by its CSS classes.

    Lines are cropped to the width, or wrapped if `fold` is set; if there are more lines than
    rows, the last row ends with an ellipsis. Nothing is repainted unless the text changed.
    """

    DEFAULT_CSS = """
    Plain {
        width: 1fr;
        height: auto;
    }
    """
    ALLOW_SELECT = False
    # What is drawn goes by the size that a layout gave it and asks for no other one.
    virtual_size = Reactive(Size(0, 0))

    def __init__(
        self,
        text: str = "",
        *,
        fold: bool = False,
        name: str | None = None,
        id: str | None = None,
        classes: str | None = None,
    ) -> None:
        super().__init__(name=name, id=id, classes=classes)
        self._said = text
        self._lines = inert(text).split("\n")
        self._fold = fold

    def _rows(self, width: int) -> list[str]:
        if not self._fold:
            return self._lines
        return [row for line in self._lines for row in wrapped(line, width)]

    @property
    def text(self) -> str:
        """The text shown, made inert; lines are parted by line feeds."""
        return "\n".join(self._lines)

    def show(self, text: str) -> None:
        """Show other text, of one or several lines.

        Args:
            text: any string; it is made inert here.
        """
        if text == self._said:
            return
        self._said, lines = text, inert(text).split("\n")
        if lines == self._lines:
            return
        before = len(self._rows(self.size.width))
        wider = self.styles.is_auto_width and _widest(lines) != _widest(self._lines)
        self._lines = lines
        taller = before != len(self._rows(self.size.width)) and self.styles.is_auto_height
        self.refresh(layout=taller or wider)

    def get_content_width(self, container: Size, viewport: Size) -> int:
        """Cells of the longest line."""
        return _widest(self._lines)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """One row for each line, or for each line it folds into."""
        return len(self._rows(width))

    def render_line(self, y: int) -> Strip:
        """Row `y` of the content, 0 at the top, padded to the width."""
        width, height = self.size
        style = self.rich_style
        rows = self._rows(width)
        if y >= len(rows):
            return Strip.blank(width, style)
        line = cropped(rows[y], width)
        if y == height - 1 and len(rows) > height and not line.endswith(ELLIPSIS):
            line = cropped(line + " " + ELLIPSIS, width)
        left = 0
        if self.styles.text_align in {"right", "end"}:
            left = width - cells(line)
        elif self.styles.text_align == "center":
            left = (width - cells(line)) // 2
        return Strip([Segment(" " * left + line, style)]).adjust_cell_length(width, style)


def _widest(lines: list[str]) -> int:
    return max(map(cells, lines))
