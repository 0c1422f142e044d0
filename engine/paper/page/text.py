"""A paper as plain text, 80 cells wide: for a terminal, a mail or a line printer.

Lines leave inert and never wider than the page.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import zip_longest

from cartclock.engine.letters import cells, clusters, inert, padded, wrapped
from cartclock.engine.paper.page.columns import STEP, WIDTH, Line, heads, in_rows
from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.date_text import date_lines, large_lines
from cartclock.engine.paper.page.drawing import Drawing
from cartclock.engine.paper.page.medium import Medium, SheetHead, put_under
from cartclock.engine.paper.page.strip import Means, Strip, StripScale, legend_text
from cartclock.engine.paper.page.strip_text import SET_IN, strip_lines
from cartclock.engine.paper.page.table import (
    BETWEEN,
    Column,
    Group,
    Note,
    TableRow,
    Under,
    shared_line,
)
from cartclock.engine.paper.page.view import VehicleView, said_in_words

_LABEL = Column("", 13)
# A sign and what it means; lines to write on where a drawing would be marked.
_SIGNED = (Column("", 5), Column())
_BY_HAND_LINES = 3
# What a line to write on has of cells at least where several stand in a row.
_LEAST_BLANK = 8
# Height of the letters of a card in points, two of which are a line.
_CARD = 14
_REMARKED = (Column("", 39), Column("", 40, right=True))


class Text:
    """A `Medium` of lines, written from the top down."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._title = ""

    def __str__(self) -> str:
        return "\n".join(self._lines).rstrip("\n") + "\n"

    def begin(
        self, title: str, lying: bool = False, body_pt: float = 9.0, least_pt: float = 7.0
    ) -> None:
        self._title = title

    def head(self, head: SheetHead) -> None:
        columns = (Column("", WIDTH - 21), Column("", 20, right=True))
        self._row(Line(columns, (self._title.upper(), head.number), 0))
        self._put("=" * WIDTH)
        reach = [part for part in (head.shop.name, *head.shop.lines, head.shop.phone) if part]
        if reach:
            self.words(", ".join(reach))
        self.gap()

    def lead(self, name: str, plate: str = "", lines: Sequence[str] = (), price: str = "") -> None:
        sign = f"[ {inert(plate)} ]"
        room = WIDTH - 1 - cells(sign)
        if plate and room >= WIDTH // 2:
            columns = (Column("", room), Column("", cells(sign), right=True))
            self._row(Line(columns, (name, sign), 0))
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

    def heading(self, text: str, remark: str = "", columns: Sequence[Column] = ()) -> None:
        self.gap()
        over = [column.head for column in columns[1:]] or [remark]
        self._row(Line(columns or _REMARKED, (text.upper(), *over), 0))
        self._put("-" * WIDTH)

    def words(self, text: str, level: int = 0, hangs: bool = False, small: bool = False) -> None:
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

    def groups(self, columns: Sequence[Column], groups: Sequence[Group]) -> None:
        found = shared_line(columns, WIDTH - STEP)
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
        for line in date_lines(dates, WIDTH):
            self._put(line)
        self.gap()

    def strips(self, scale: StripScale, strips: Sequence[Strip]) -> None:
        for line in strip_lines(scale, strips, WIDTH):
            self._put(line)
        for strip in strips:
            if strip.words and not any(strip.words in span.says for span in strip.spans):
                self.words(f"{strip.label}: {strip.words}", hangs=True)
        self.gap()

    def legend(self, means: Means, of: str = "Tape") -> None:
        self.words(legend_text(means, SET_IN, of))

    def beside(
        self, left: Callable[[Medium], None], right: Callable[[Medium], None], share: float = 0.5
    ) -> None:
        put_under(self, left, right)

    def turn(self) -> None:
        self.gap()

    def blanks(self, labels: Sequence[str], across: int = 1) -> None:
        if across == 1 and all(cells(label) < _LABEL.letters for label in labels):
            self.facts([(label, "_" * (WIDTH - 16)) for label in labels])
            return
        widest = max((cells(inert(label)) for label in labels), default=0)
        if widest + 1 + _LEAST_BLANK > WIDTH // across - 2:
            across = 1
        room = WIDTH // across - 2
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
        columns = [Column("", WIDTH // len(labels) - 1)] * len(labels)
        self._put("")
        self._put("")
        self._row(Line(columns, ["_" * (WIDTH // len(labels) - 4)] * len(labels), 0))
        self._row(Line(columns, labels, 0))

    def large(self, over: str, lines: Sequence[str], under: Sequence[str], foot: str) -> None:
        self._put("=" * WIDTH)
        self._middle([over.upper()])
        self._put("=" * WIDTH)
        self.gap()
        for text in lines:
            large = large_lines(text, WIDTH, _CARD)
            for row in large:
                self._put(" " * ((WIDTH - len(row)) // 2) + row)
            for line in wrapped(text, WIDTH // 2 - 1) if not large else ():
                wide = spaced(line)
                # A letter that grows in capitals ("\u00df") may leave no room to be set wide.
                self._middle([wide if cells(wide) <= WIDTH else line])
            self.gap()
        if any(large_lines(text, WIDTH, _CARD) for text in lines):
            # What is drawn is not to be read by a program: it stands in words as well.
            self._middle([" ".join(lines)])
        self._put("=" * WIDTH)
        self._middle(under)
        if foot:
            self.gap()
            self.words(foot)

    def _middle(self, texts: Sequence[str]) -> None:
        for text in texts:
            for line in wrapped(text, WIDTH):
                self._put(" " * ((WIDTH - cells(line)) // 2) + line)

    def view(self, view: VehicleView) -> None:
        """In words, with lines to write on where the drawing is to be marked by hand."""
        if view.empty:
            for _line in range(_BY_HAND_LINES):
                self._put("_" * WIDTH)
        self.table(_SIGNED, [TableRow(pair, 1) for pair in said_in_words(view)])
        self.gap()

    def drawing(self, drawing: Drawing) -> None:
        """Nothing: whatever is drawn stands in words as well."""

    def fits(self, pages: int) -> bool:
        """True: a text has no pages."""
        return True

    def smaller(self, floor_pt: float) -> None:
        """None: a text has no sizes."""

    def empty(self) -> Text:
        return Text()

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
