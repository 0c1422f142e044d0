"""A paper as plain text, 80 cells wide: for a terminal, a mail or a line printer.

Lines leave inert and never wider than the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from cartclock.engine.letters import cells, clusters, padded, wrapped
from cartclock.engine.paper.page.columns import STEP, WIDTH, Line, heads
from cartclock.engine.paper.page.drawing import Drawing
from cartclock.engine.paper.page.medium import Column, Note, SheetHead, TableRow
from cartclock.engine.paper.page.view import BY_HAND, View, said_in_words

_LABEL = Column("", 13)
# A sign and what it means; lines to write on where a drawing would be marked.
_SIGNED = (Column("", 5), Column())
_BY_HAND_LINES = 3
_REMARKED = (Column("", 39), Column("", 40, right=True))


class Text:
    """A `Medium` of lines, written from the top down."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._title = ""

    def __str__(self) -> str:
        return "\n".join(self._lines).rstrip("\n") + "\n"

    def begin(self, title: str, lying: bool) -> None:
        self._title = title

    def head(self, head: SheetHead) -> None:
        columns = (Column("", WIDTH - 21), Column("", 20, right=True))
        self._row(Line(columns, (self._title.upper(), head.number), 0))
        self._put("=" * WIDTH)
        self.gap()

    def lead(self, name: str) -> None:
        self.words(name)
        self.gap()

    def alert(self, text: str) -> None:
        self.words(text)
        self.gap()

    def heading(self, text: str, remark: str = "", columns: Sequence[Column] = ()) -> None:
        self.gap()
        over = [column.head for column in columns[1:]] or [remark]
        self._row(Line(columns or _REMARKED, (text.upper(), *over), 0))
        self._put("-" * WIDTH)

    def words(self, text: str, level: int = 0, hangs: bool = False) -> None:
        indent, hang = STEP * level, STEP * hangs
        first, *rest = wrapped(text, WIDTH - indent, hang)
        self._put(" " * indent + first)
        for line in rest:
            self._put(" " * (indent + hang) + line)

    def gap(self) -> None:
        if not self._lines or self._lines[-1]:
            self._put("")

    def facts(self, pairs: Sequence[tuple[str, str]]) -> None:
        for pair in pairs:
            self._row(Line((_LABEL, Column()), pair, 0))

    def table(self, columns: Sequence[Column], rows: Sequence[TableRow | Note]) -> None:
        level = next((row.level for row in rows if isinstance(row, TableRow)), 0)
        over = heads(columns, level)
        if over is not None:
            self._row(over)
        for row in rows:
            if isinstance(row, Note):
                self.words(row.text, row.level, row.hangs)
            else:
                self._row(Line(columns, row.cells, row.level))

    def blanks(self, labels: Sequence[str]) -> None:
        self.facts([(label, "_" * (WIDTH - 16)) for label in labels])

    def sign(self, labels: Sequence[str]) -> None:
        columns = [Column("", WIDTH // len(labels) - 1)] * len(labels)
        self._put("")
        self._put("")
        self._row(Line(columns, ["_" * (WIDTH // len(labels) - 4)] * len(labels), 0))
        self._row(Line(columns, labels, 0))

    def large(self, lines: Sequence[str]) -> None:
        self._put("=" * WIDTH)
        self.gap()
        for text in lines:
            for line in wrapped(text, WIDTH // 2 - 1):
                wide = spaced(line)
                # A letter that grows in capitals ("\u00df") may leave no room to be set wide.
                wide = wide if cells(wide) <= WIDTH else line
                self._put(" " * ((WIDTH - cells(wide)) // 2) + wide)
            self.gap()
        self._put("=" * WIDTH)
        self.gap()

    def view(self, view: View) -> None:
        """In words, with lines to write on where the drawing is to be marked by hand."""
        if view.empty:
            self.words(BY_HAND)
            for _line in range(_BY_HAND_LINES):
                self._put("_" * WIDTH)
        self.table(_SIGNED, [TableRow(pair, 1) for pair in said_in_words(view)])
        self.gap()

    def drawing(self, drawing: Drawing) -> None:
        """Nothing: whatever is drawn stands in words as well."""

    def smaller(self, pages: int, floor_pt: float) -> None:
        """None: a text has no pages."""

    def finished(self) -> bytes:
        return str(self).encode()

    def _row(self, line: Line) -> None:
        """Columns, each wrapped in its own."""
        stacks = [
            wrapped(text, width if width > 0 else -width - 1)
            for text, width in zip(line.texts, line.widths, strict=True)
        ]
        for row in zip_longest(*stacks, fillvalue=""):
            parts = (
                padded(cell, abs(width), width > 0)
                for cell, width in zip(row, line.widths, strict=True)
            )
            self._put(" " * line.indent + "".join(parts))

    def _put(self, line: str) -> None:
        self._lines.append(line.rstrip(" "))


def spaced(text: str) -> str:
    """Text in capitals with a space between letters and three between words: "W E T"."""
    return "   ".join(" ".join(clusters(word)) for word in text.upper().split())
