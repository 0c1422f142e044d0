"""A paper as plain text: for a terminal, a mail, a line printer or a telephone.

Lines leave inert and never wider than the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from cartclock.engine.letters import cells, clusters, inert, padded, wrapped
from cartclock.engine.paper.page.columns import STEP, WIDTH, Line, heads, in_rows, stand_beside
from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.medium import SheetHead
from cartclock.engine.paper.page.pageless import Pageless
from cartclock.engine.paper.page.strip import Means, Strip, StripScale, legend_text, strip_words
from cartclock.engine.paper.page.table import (
    BETWEEN,
    Column,
    Group,
    Note,
    TableRow,
    Under,
    shared_line,
    unfolded,
)
from cartclock.engine.paper.page.text.date_text import date_lines, large_lines
from cartclock.engine.paper.page.text.strip_text import SET_IN, strip_lines, unwritten
from cartclock.engine.paper.page.view import VehicleView, said_in_words

_LABEL = Column("", 13)
# A sign and what it means; lines to write on where a drawing would be marked.
_SIGNED = (Column("", 5), Column())
_BY_HAND_LINES = 3
# What a line to write on has of cells at least where several stand in a row.
_LEAST_BLANK = 8
# Height of the letters of a card in points, two of which are a line.
_CARD = 14


class Text(Pageless):
    """A `Medium` of lines, written from the top down.

    Args:
        width: of a line in cells, from `LEAST_WIDTH` to `WIDTH`; 0 for `WIDTH`. What has no
            room beside each other there stands under each other.
    """

    def __init__(self, width: int = 0) -> None:
        self._width = width or WIDTH
        self._lines: list[str] = []
        self._title = ""

    def __str__(self) -> str:
        return "\n".join(self._lines).rstrip("\n") + "\n"

    def begin(
        self, title: str, lying: bool = False, body_pt: float = 9.0, least_pt: float = 7.0
    ) -> None:
        self._title = title

    def head(self, head: SheetHead) -> None:
        self._pair(self._title.upper(), head.number, 20)
        self._put("=" * self._width)
        reach = [part for part in (head.shop.name, *head.shop.lines, head.shop.phone) if part]
        if reach:
            self.words(", ".join(reach))
        self.gap()

    def lead(self, name: str, plate: str = "", lines: Sequence[str] = (), price: str = "") -> None:
        sign = f"[ {inert(plate)} ]"
        room = self._width - 1 - cells(sign)
        if plate and room >= self._width // 2:
            columns = (Column("", room), Column("", cells(sign), right=True))
            self._row(self._line(columns, (name, sign)))
        else:
            self.words(name)
            if plate:
                self.words(sign)
        for line in lines:
            self.words(line)
        if price:
            self.words(price)
        self.gap()

    def alert(self, text: str) -> None:
        self.words(text)
        self.gap()

    def heading(self, text: str, remark: str = "") -> None:
        self.gap()
        self._pair(text.upper(), remark, 40)
        self._put("-" * self._width)

    def words(self, text: str, level: int = 0, hangs: bool = False, small: bool = False) -> None:
        indent, hang = STEP * level, STEP * hangs
        first, *rest = wrapped(text, self._width - indent, hang)
        self._put(" " * indent + first)
        for line in rest:
            self._put(" " * (indent + hang) + line)

    def gap(self) -> None:
        if not self._lines or self._lines[-1]:
            self._put("")

    def facts(self, pairs: Sequence[tuple[str, str]]) -> None:
        for pair in pairs:
            self._row(self._line((_LABEL, Column()), pair))

    def table(self, columns: Sequence[Column], rows: Sequence[TableRow | Note]) -> None:
        level = next((row.level for row in rows if isinstance(row, TableRow)), 0)
        if not stand_beside(columns, level, self._width):
            self.groups(columns, [Group(rows=tuple(rows))])
            return
        over = heads(columns, level, self._width)
        if over is not None:
            self._row(over)
        for row in rows:
            if isinstance(row, Note):
                self.words(row.text, row.level, row.hangs)
            else:
                self._row(self._line(columns, row.cells, row.level))

    def groups(self, columns: Sequence[Column], groups: Sequence[Group]) -> None:
        if not stand_beside(columns, 1, self._width):
            columns, groups = unfolded(columns, groups)
        found = shared_line(columns, self._width - STEP)
        kept = [
            Column("", int(room), columns[at].right)
            for at, room in zip(found.kept, found.letters, strict=True)
        ]

        def put(texts: Sequence[str]) -> None:
            stacks = [wrapped(texts[at], c.letters) for at, c in zip(found.kept, kept, strict=True)]
            for row in zip_longest(*stacks, fillvalue=""):
                parts = (padded(one, c.letters, c.right) for one, c in zip(row, kept, strict=True))
                self._put(" " * STEP + (" " * BETWEEN).join(parts))

        if any(column.head for column in columns):
            put([column.head for column in columns])
        for group in groups:
            if group.name or group.shared:
                parts = [part for part in (group.name, group.shared) if part]
                self.words(": ".join(parts), hangs=True)
            under = Under(columns, found.gone)
            for row in group.rows:
                if isinstance(row, Note):
                    self.words(f"- {row.text}", row.level, True)
                    continue
                first, *others = row.cells
                put((" " * STEP * row.level + first, *others))
                more = under.words(row)
                if more:
                    self.words(more, row.level + 3, True)
        self.gap()

    def dates(self, dates: Sequence[Date]) -> None:
        for line in date_lines(dates, self._width):
            self._put(line)
        self.gap()

    def strips(self, scale: StripScale, strips: Sequence[Strip]) -> None:
        lines = tuple(strip_lines(scale, strips, self._width))
        for line in lines:
            self._put(line)
        for strip in strips:
            told = strip.words and not any(strip.words in span.says for span in strip.spans)
            said = strip_words(strip)
            # What a short line has no room to write on its tape is said under it.
            if told or (said and self._width < WIDTH and unwritten(strip, lines)):
                self.words(f"{strip.label}: {said}", hangs=True)
        self.gap()

    def legend(self, means: Means, of: str = "Tape") -> None:
        self.words(legend_text(means, SET_IN, of))

    def blanks(self, labels: Sequence[str], across: int = 1) -> None:
        if across == 1 and all(cells(label) < _LABEL.letters for label in labels):
            self.facts([(label, "_" * (self._width - 16)) for label in labels])
            return
        widest = max((cells(inert(label)) for label in labels), default=0)
        if widest + 1 + _LEAST_BLANK > self._width // across - 2:
            across = 1
        room = self._width // across - 2
        for row in in_rows(labels, across):
            said = [wrapped(label, room - _LEAST_BLANK - 1) for label in row]
            # The line to write on stands beside the last line of a long label.
            high = max(map(len, said))
            for at in range(high):
                parts = []
                for lines in said:
                    down = at - (high - len(lines))
                    line = lines[down] if down >= 0 else ""
                    rest = room - cells(line) - 1
                    parts.append(padded(f"{line} {'_' * rest}" if at == high - 1 else line, room))
                self._put("  ".join(parts))

    def sign(self, labels: Sequence[str]) -> None:
        for row in in_rows(labels, len(labels) if self._width == WIDTH else 1):
            columns = [Column("", self._width // len(row) - 1)] * len(row)
            self._put("")
            self._put("")
            self._row(self._line(columns, ["_" * (self._width // len(row) - 4)] * len(row)))
            self._row(self._line(columns, row))

    def large(self, over: str, lines: Sequence[str], under: Sequence[str], foot: str) -> None:
        self._put("=" * self._width)
        self._middle([over.upper()])
        self._put("=" * self._width)
        self.gap()
        for text in lines:
            large = large_lines(text, self._width, _CARD)
            for row in large:
                self._put(" " * ((self._width - len(row)) // 2) + row)
            for line in wrapped(text, self._width // 2 - 1) if not large else ():
                wide = spaced(line)
                # A letter that grows in capitals ("\u00df") may leave no room to be set wide.
                self._middle([wide if cells(wide) <= self._width else line])
            self.gap()
        if any(large_lines(text, self._width, _CARD) for text in lines):
            # What is drawn is not to be read by a program: it stands in words as well.
            self._middle([" ".join(lines)])
        self._put("=" * self._width)
        self._middle(under)
        if foot:
            self.gap()
            self.words(foot)

    def _middle(self, texts: Sequence[str]) -> None:
        for text in texts:
            for line in wrapped(text, self._width):
                self._put(" " * ((self._width - cells(line)) // 2) + line)

    def view(self, view: VehicleView) -> None:
        """In words, with lines to write on where the drawing is to be marked by hand."""
        if view.empty:
            for _line in range(_BY_HAND_LINES):
                self._put("_" * self._width)
        self.table(_SIGNED, [TableRow(pair, 1) for pair in said_in_words(view)])
        self.gap()

    def empty(self) -> Text:
        return Text(self._width)

    def finished(self) -> bytes:
        return str(self).encode()

    def _pair(self, text: str, beside: str, room: int) -> None:
        """A text and a short one at the right edge, in `room` cells of a line of `WIDTH`."""
        if self._width == WIDTH:
            columns = (Column("", WIDTH - 1 - room), Column("", room, right=True))
            self._row(Line(columns, (text, beside), 0))
            return
        left = self._width - cells(inert(text))
        if cells(inert(beside)) < left:
            self._put(inert(text) + padded(inert(beside), left, right=True))
        else:
            self.words(text)
            self.words(beside)

    def _line(self, columns: Sequence[Column], texts: Sequence[str], level: int = 0) -> Line:
        return Line(columns, texts, level, self._width)

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
