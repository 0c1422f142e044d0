"""A paper read on the screen: a `Medium` of the rows of a page, so that it fits every width."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.page.columns import STEP
from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.medium import SheetHead
from cartclock.engine.paper.page.pageless import Pageless
from cartclock.engine.paper.page.strip import Means, Strip, StripScale, strip_words
from cartclock.engine.paper.page.table import Column as PaperColumn
from cartclock.engine.paper.page.table import Group, Note, TableRow, unfolded
from cartclock.engine.paper.page.view import VehicleView, said_in_words
from cartclock.tui.face.page import Air, Cells, Column, Heading, Page, PageRow, Table, Words

# Cells that a column of words needs to be read: beside a label, and in a table, whose texts
# otherwise stand behind each other. Our own judgement.
_LEAST, _LEAST_IN_TABLE = 16, 24
_FACTS = (Column(dim=True), Column(least=_LEAST, folds=True))


class Reading(Pageless):
    """A `Medium` of the rows of a page, from the top down."""

    def __init__(self) -> None:
        self._rows: list[PageRow] = []
        self._tables: list[Table] = []
        self._title = self._number = ""
        # Tables under the newest heading, so that columns of one shape stand in line.
        self._alike: dict[tuple[tuple[int, bool], ...], int] = {}

    @property
    def page(self) -> Page:
        """What was put on it, as a page that is read."""
        rows = self._rows[:-1] if self._rows and isinstance(self._rows[-1], Air) else self._rows
        return Page(self._title, tuple(rows), self._number, tuple(self._tables), reading=True)

    def begin(
        self, title: str, lying: bool = False, body_pt: float = 9.0, least_pt: float = 7.0
    ) -> None:
        self._title = title

    def head(self, head: SheetHead) -> None:
        self._number = head.number

    def lead(self, name: str, plate: str = "", lines: Sequence[str] = (), price: str = "") -> None:
        self._rows.append(Words(f"{name}, {plate}" if plate else name, bold=True))
        self._rows += [Words(line) for line in lines]
        if price:
            self._rows.append(Words(price, bold=True))

    def alert(self, text: str) -> None:
        self._rows.append(Words(text, bold=True))

    def heading(self, text: str, remark: str = "") -> None:
        self.gap()
        self._alike = {}
        self._rows.append(Heading(text, remark))

    def words(self, text: str, level: int = 0, hangs: bool = False, small: bool = False) -> None:
        self._rows.append(Words(text, indent=STEP * level, hang=STEP * hangs))

    def gap(self) -> None:
        if self._rows and not isinstance(self._rows[-1], Air):
            self._rows.append(Air())

    def facts(self, pairs: Sequence[tuple[str, str]]) -> None:
        self._tables.append(Table(_FACTS))
        self._rows += [Cells(len(self._tables) - 1, pair) for pair in pairs]

    def table(self, columns: Sequence[PaperColumn], rows: Sequence[TableRow | Note]) -> None:
        at = self._alike.get(_shape(columns))
        if at is None or any(column.head for column in columns):
            at = self._table(columns)
            if any(column.head for column in columns):
                heads = tuple(column.head for column in columns)
                self._rows.append(Cells(at, heads, dim=True))
        for row in rows:
            if isinstance(row, Note):
                self.words(row.text, row.level, row.hangs)
            else:
                first, *others = row.cells
                self._rows.append(Cells(at, (" " * STEP * row.level + first, *others)))

    def groups(self, columns: Sequence[PaperColumn], groups: Sequence[Group]) -> None:
        columns, groups = unfolded(columns, groups)
        at = self._table(columns)
        if any(column.head for column in columns):
            self._rows.append(Cells(at, tuple(column.head for column in columns), dim=True))
        for group in groups:
            if group.name or group.shared:
                parts = [part for part in (group.name, group.shared) if part]
                self._rows.append(Words(": ".join(parts), hang=STEP, bold=True))
            for row in group.rows:
                if isinstance(row, Note):
                    self.words(row.text, row.level + 1, True)
                else:
                    first, *others = row.cells
                    self._rows.append(Cells(at, (" " * STEP * row.level + first, *others)))

    def dates(self, dates: Sequence[Date]) -> None:
        self._tables.append(Table(_FACTS))
        for date in dates:
            said = f"{date.when}\n{date.note}" if date.note else date.when
            self._rows.append(Cells(len(self._tables) - 1, (date.labelled, said)))

    def strips(self, scale: StripScale, strips: Sequence[Strip]) -> None:
        """Their words: tape is for print."""
        said = [(strip.label, strip_words(strip)) for strip in strips]
        self.facts([pair for pair in said if pair[1]])

    def legend(self, means: Means, of: str = "Tape") -> None:
        """Nothing: no tape is shown."""

    def blanks(self, labels: Sequence[str], across: int = 1) -> None:
        for label in labels:
            self._rows.append(Words(f"{label}: to be written on the paper", dim=True))

    def sign(self, labels: Sequence[str]) -> None:
        self._rows.append(Words(f"To be signed on the paper: {', '.join(labels)}.", dim=True))

    def large(self, over: str, lines: Sequence[str], under: Sequence[str], foot: str) -> None:
        self._rows += [Words(line, bold=True) for line in (over, *lines, *under)]
        if foot:
            self._rows.append(Words(foot))

    def view(self, view: VehicleView) -> None:
        if view.empty:
            self.words("A drawing to be marked by hand is on the paper.")
        self.facts(said_in_words(view))

    def empty(self) -> Reading:
        return Reading()

    def finished(self) -> bytes:
        """Nothing: `page` has all of it."""
        return b""

    def _table(self, columns: Sequence[PaperColumn]) -> int:
        self._tables.append(
            Table(
                tuple(
                    Column(
                        head=column.head,
                        least=column.letters or _LEAST_IN_TABLE,
                        right=column.right,
                        folds=True,
                    )
                    for column in columns
                ),
                stacks=True,
            )
        )
        at = self._alike[_shape(columns)] = len(self._tables) - 1
        return at


def _shape(columns: Sequence[PaperColumn]) -> tuple[tuple[int, bool], ...]:
    return tuple((column.letters, column.right) for column in columns)
