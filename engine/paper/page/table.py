"""Tables of a paper: columns, rows, and groups of rows that say once what they share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

Rank = Literal[1, 2, 3]


class Column(Struct, frozen=True):
    """A column of a table.

    Fields:
        head: what stands over it; "" for nothing. If all are "", there is no row of heads.
        letters: how many its widest usual entry has; 0: whatever room the others leave.
        right: True if it is set from the right, like numbers.
        rank: of a table in groups: 3, then 2, and 1 only if it must, goes under its row where
            there is no room for all.
        remark: True if it speaks of its row alone. Under its row such a column, and one of rank
            1, is said wherever there is something in it, any other where it changes.
    """

    head: str = ""
    letters: int = 0
    right: bool = False
    rank: Rank = 1
    remark: bool = False


class TableRow(Struct, frozen=True):
    """A row with a text for each column; `level`: how far under the rows above, from 0.

    bold: in heavy letters, as a sum.
    """

    cells: tuple[str, ...]
    level: int = 0
    bold: bool = False


class Note(Struct, frozen=True):
    """Words among the rows of a table, over all columns; as `Medium.words`."""

    text: str
    level: int = 0
    hangs: bool = False


class Group(Struct, frozen=True):
    """Rows under one line, which says once what they share.

    Fields:
        name: of what they are; "" for rows without a line of their own.
        shared: what holds for all of them.
        rows: rows, and notes that hold for the rows from there on.
    """

    name: str = ""
    shared: str = ""
    rows: tuple[TableRow | Note, ...] = ()


class Laid(Struct, frozen=True):
    """How the columns of a table in groups share a line.

    Fields:
        kept: indices of the columns that stand in it, in order.
        gone: indices of those that go under their row.
        letters: room of each kept one, in letters.
    """

    kept: tuple[int, ...]
    gone: tuple[int, ...]
    letters: tuple[float, ...]


OPEN, BETWEEN = 12, 2
"""Letters of a column that takes what the others leave, at the least; air between two columns."""

# A column of words is made no narrower than this for the others' sake. Our own judgement.
_LEAST_WORDS = 14


def shared_line(columns: Sequence[Column], room: float) -> Laid:
    """The columns in a line of so many letters: they give way by rank, the last one first.

    What those of rank 1 need more than there is room is taken from the widest. Where that would
    leave it too narrow for words, they give way too, the last one first and the first one never.
    """
    kept = list(range(len(columns)))

    def needed() -> float:
        return sum(columns[at].letters or OPEN for at in kept) + BETWEEN * (len(kept) - 1)

    while needed() > room and any(columns[at].rank > 1 for at in kept):
        kept.remove(max(kept, key=lambda at: (columns[at].rank, at)))
    while len(kept) > 1 and max(columns[at].letters or OPEN for at in kept) - _LEAST_WORDS < (
        needed() - room
    ):
        kept.pop()
    sizes = [float(columns[at].letters or OPEN) for at in kept]
    spare = room - needed()
    if spare >= 0:
        wide = [place for place, at in enumerate(kept) if not columns[at].letters]
        if half := half_columns(columns):
            wide = list(range(half - 1, len(kept), half))
        # Words at the end of a line go on; before figures it is the first column that is wide.
        wide = wide or [0 if columns[kept[-1]].right else len(kept) - 1]
        for place in wide:
            sizes[place] += spare / len(wide)
    else:
        widest = max(range(len(sizes)), key=sizes.__getitem__)
        sizes[widest] = max(1.0, sizes[widest] + spare)
    gone = tuple(at for at in range(len(columns)) if at not in kept)
    return Laid(tuple(kept), gone, tuple(sizes))


def half_columns(columns: Sequence[Column]) -> int:
    """How many columns one half of a list has that stands in two halves beside each other: their
    heads come twice. 0 of any other table."""
    half = len(columns) // 2
    heads = [column.head for column in columns]
    return half if half > 1 and heads[0] and heads[:half] == heads[half:] else 0


def half_rows(group: Group, half: int) -> list[list[TableRow]]:
    """The rows of such a group, of each half its own; what is empty is left out."""
    rows = [row for row in group.rows if isinstance(row, TableRow)]
    return [
        [
            TableRow(cells, row.level, row.bold)
            for row in rows
            if any(cells := row.cells[at : at + half])
        ]
        for at in (0, half)
    ]


def unfolded(
    columns: Sequence[Column], groups: Sequence[Group]
) -> tuple[Sequence[Column], Sequence[Group]]:
    """A table with its halves under each other, for where two have no room beside each other;
    any other as it is. Notes come behind the rows."""
    half = half_columns(columns)
    if not half:
        return columns, groups
    found = []
    for group in groups:
        rows = [row for part in half_rows(group, half) for row in part]
        notes = [row for row in group.rows if isinstance(row, Note)]
        found.append(Group(group.name, group.shared, (*rows, *notes)))
    return columns[:half], found


class Under:
    """Says under the rows of one group what their line has no room for."""

    def __init__(self, columns: Sequence[Column], gone: Sequence[int]) -> None:
        self._columns, self._gone = columns, gone
        self._last: dict[int, str] = {}

    def words(self, row: TableRow) -> str:
        """What stands under this row; "" if nothing does. That something ended is a "-"."""
        said = []
        for at in self._gone:
            text, column = row.cells[at], self._columns[at]
            own = column.remark or column.rank == 1
            changed = bool(text) if own else text != self._last.get(at, "")
            self._last[at] = text
            if changed:
                said.append(f"{column.head}: {text or '-'}" if column.head else text or "-")
        return "; ".join(said)
