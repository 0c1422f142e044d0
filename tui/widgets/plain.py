"""Text of a person on the screen: shown as it is, never read as markup or as control codes.

Names, notes and whatever stands in a plan file may hold square brackets, escape sequences
or marks that turn the writing direction. None of that may steer the terminal or the screen.
"""

from __future__ import annotations

import re
import unicodedata

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

ELLIPSIS = "…"

# Forms of ECMA-48 (5th edition, 5.4 control sequences, 5.6 control strings, and the escape
# sequences of ECMA-35); the parameters go with the introducer, or they would stay as litter.
_SEQUENCES = re.compile(
    r"(?:\x1b\[|\x9b)[0-?]*[ -/]*[@-~]"
    r"|(?:\x1b[\]PX^_]|[\x90\x98\x9d\x9e\x9f])[^\n]*?(?:\x1b\\|\x9c|\x07)"
    r"|\x1b[ -/]*[0-~]"
)
_BREAKS = re.compile("\r\n|[\r\n\v\f\x85\u2028\u2029]")

# Format characters that draw something or join letters of a script: zero width non-joiner
# and joiner, and the signs written around numbers (Unicode 15, property
# Prepended_Concatenation_Mark; from memory). Every other format character is dropped, among
# them the marks, embeddings, overrides and isolates of the writing direction (UAX #9).
_KEPT_FORMATS = frozenset(
    "\u200c\u200d\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2"
    "\U000110bd\U000110cd"
)


def clean(text: str) -> str:
    """Text that cannot steer a terminal.

    Escape sequences, C0 and C1 controls, format characters (writing direction included) and
    noncharacters are dropped; a tab becomes a space, every kind of line break a line feed,
    half a surrogate pair U+FFFD. Cleaning twice changes nothing more.

    Args:
        text: any string, of any length.

    Returns:
        The same text with printable characters, spaces and line feeds only.
    """
    if text.isascii() and text.isprintable():
        return text
    text = _BREAKS.sub("\n", _SEQUENCES.sub("", text)).replace("\t", " ")
    return "".join(_printable(char) for char in text)


def _printable(char: str) -> str:
    if char == "\n" or char in _KEPT_FORMATS:
        return char
    category = unicodedata.category(char)
    if category == "Cs":
        return "\ufffd"
    nonchar = ord(char) & 0xFFFE == 0xFFFE or 0xFDD0 <= ord(char) <= 0xFDEF
    return "" if category in {"Cc", "Cf"} or nonchar else char


def cropped(text: str, width: int) -> str:
    """One line of text in at most `width` cells, ended by an ellipsis if it was longer.

    Args:
        text: clean text of one line; characters may be two cells wide.
        width: cells, 0 or more.

    Returns:
        The text whole, or its beginning and an ellipsis; "" for no width. A wide character
        that would stand half outside is left out.
    """
    if cell_len(text) <= width:
        return text
    if width < 1:
        return ""
    return set_cell_size(text, width - 1).rstrip() + ELLIPSIS


def folded(text: str, width: int) -> list[str]:
    """One line of text as lines of at most `width` cells, parted at spaces where it can be.

    Args:
        text: clean text of one line; characters may be two cells wide.
        width: cells, 2 or more (less counts as 2).
    """
    width = max(2, width)
    lines = [""]
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines[-1] else word
        if cell_len(joined) <= width:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        while cell_len(word) > width:
            head = set_cell_size(word, width).rstrip()
            lines[-1] = head
            word = word[len(head) :]
            lines.append("")
        lines[-1] = word
    return lines


class Plain(Widget):
    """Lines of markup-free text, coloured and aligned by its CSS classes.

    Lines are cropped to the width, or folded if `fold` is set; if there are more lines than
    rows, the last row ends with an ellipsis. Nothing is repainted unless the text changed.
    """

    DEFAULT_CSS = """
    Plain {
        width: 1fr;
        height: auto;
    }
    """
    ALLOW_SELECT = False

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
        self._lines = clean(text).split("\n")
        self._fold = fold

    def _rows(self, width: int) -> list[str]:
        if not self._fold:
            return self._lines
        return [row for line in self._lines for row in folded(line, width)]

    @property
    def text(self) -> str:
        """The text shown, cleaned; lines are parted by line feeds."""
        return "\n".join(self._lines)

    def show(self, text: str) -> None:
        """Show other text, of one or several lines.

        Args:
            text: any string; it is cleaned here.
        """
        lines = clean(text).split("\n")
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
            left = width - cell_len(line)
        elif self.styles.text_align == "center":
            left = (width - cell_len(line)) // 2
        return Strip([Segment(" " * left + line, style)]).adjust_cell_length(width, style)


def _widest(lines: list[str]) -> int:
    return max(cell_len(line) for line in lines)
