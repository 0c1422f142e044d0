"""Columns in shares of a line: the same for a line of text, a table of HTML and a page in print."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from cartclock.engine.paper.page.table import OPEN, Column

WIDTH = 80
"""Cells of a line of text, if nobody asks for fewer; elsewhere a cell is that share of the line."""

LEAST_WIDTH = 40
"""Cells of a line of text at the least: a telephone, or a small part of a screen."""


def width_in(room: int) -> int:
    """Cells of a line of text where there is room for so many."""
    return max(LEAST_WIDTH, min(WIDTH, room))


STEP = 2
"""Cells by which every level stands in."""

# Air between a column set from the right and one set from the left.
_AIR = 3


class Line:
    """A row of a table as it is laid.

    Attributes:
        texts: one a column, and "" where there is only air.
        widths: cells of each; negative if it is set from the left, and then one cell at its
            end stays free. With the indent they are not over the width of the line.
        indent: cells before the first.
    """

    def __init__(
        self, columns: Sequence[Column], cells: Sequence[str], level: int, width: int = WIDTH
    ) -> None:
        self.indent = STEP * level
        if len(cells) != len(columns):
            raise ValueError(f"{len(cells)} cells for {len(columns)} columns")
        places = _places(tuple(columns), level, width)
        texts = iter(cells)
        self.texts = [next(texts) if is_cell else "" for is_cell, _width in places]
        self.widths = [width for _is_cell, width in places]


@lru_cache(maxsize=64)
def _places(columns: tuple[Column, ...], level: int, width: int) -> tuple[tuple[bool, int], ...]:
    """Whether there is a text in each place of a line, and its width; many rows have the same."""
    found: list[tuple[bool, int]] = []
    indent = STEP * level
    sizes = [column.letters + (not column.right) for column in columns]
    # A row further in has its first column narrower, so that the others stand in line.
    sizes[0] -= indent
    airy = [not column.right and before.right for before, column in pairwise(columns)]
    known = sum(size for size, column in zip(sizes, columns, strict=True) if column.letters)
    left = width - indent - known
    open_ended = any(not column.letters for column in columns)
    air = _AIR if open_ended else min(_AIR, left)
    rest = left - air * sum(airy)
    for index, column in enumerate(columns):
        if index and airy[index - 1]:
            found.append((False, air))
        size = sizes[index] if column.letters else rest
        found.append((True, size if column.right else -size))
    return tuple(found)


def in_rows(labels: Sequence[str], across: int) -> list[Sequence[str]]:
    """Labels in rows of so many; the last row may be shorter."""
    return [labels[at : at + across] for at in range(0, len(labels), across)]


def stand_beside(columns: Sequence[Column], level: int, width: int) -> bool:
    """True if these columns have room beside each other in a line of so many cells."""
    sizes = [(column.letters or OPEN) + (not column.right) for column in columns]
    return STEP * level + sum(sizes) <= width


def heads(columns: Sequence[Column], level: int, width: int = WIDTH) -> Line | None:
    """The row of heads over rows of that level; None if there are no heads.

    Where the first column has a head, it names the whole table and stands at the edge.
    """
    if not any(column.head for column in columns):
        return None
    texts = [column.head for column in columns]
    return Line(columns, texts, 0 if columns[0].head else level, width)
