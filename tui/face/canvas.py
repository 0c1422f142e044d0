"""A picture of cells: characters, and the look of each. Nothing of it knows a terminal.

A text is made inert before it is written, and takes the ground that is there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import groupby
from typing import Literal, NamedTuple

from cartclock.engine.letters import cells, clusters, cropped, inert

Ground = Literal[
    "page",
    "band",
    "plain",
    "wait",
    "ready",
    "late",
    "soon",
    "rest",
    "break",
    "back",
    "off",
    "ask",
    "cursor",
]
"""What a cell stands on: the page, a band across it, or the state that it belongs to."""


class Look(NamedTuple):
    """How a cell looks.

    Fields:
        ground: what it stands on.
        dim: fainter ink.
        bold: heavier ink.
    """

    ground: Ground
    dim: bool = False
    bold: bool = False


@lru_cache(maxsize=64)
def _look(ground: Ground, dim: bool, bold: bool) -> Look:
    """One and the same object for each look, so that rows compare fast."""
    return Look(ground, dim, bold)


class Canvas:
    """Characters and looks of so many columns and rows.

    A letter is written with its marks; one of two cells is followed by an empty string.

    Fields:
        chars, looks: of each row, cell by cell.
        uneven: rows in which a letter stood that has marks or takes not one cell.
    """

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.chars = [[" "] * width for _ in range(height)]
        self.looks = [[_look("page", False, False)] * width for _ in range(height)]
        self.uneven: set[int] = set()

    def fill(self, top: int, bottom: int, ground: Ground, left: int = 0, right: int = 0) -> None:
        """Gives the rows from `top` up to before `bottom` a ground, and wipes them.

        Args:
            left, right: from which column up to before which one; 0 at the right: the edge.
        """
        left, right = max(0, left), min(right or self.width, self.width)
        for y in range(max(0, top), min(bottom, self.height)):
            self.chars[y][left:right] = [" "] * (right - left)
            self.looks[y][left:right] = [_look(ground, False, False)] * (right - left)

    def put(
        self,
        x: int,
        y: int,
        text: str,
        *,
        dim: bool = False,
        bold: bool = False,
        end: int = 0,
        ground: Ground | None = None,
    ) -> int:
        """Writes a text on the ground that is there; what has no room is cropped.

        Args:
            x, y: column and row, from 0; outside nothing is written.
            end: the column before which the text ends; 0: the edge.
            ground: another ground for its cells; None: the one that is there.

        Returns:
            The column behind the text.
        """
        end = end or self.width
        if not 0 <= y < self.height or not 0 <= x < end:
            return x
        letters, uneven = _set(text, end - x)
        if uneven:
            self.uneven.add(y)
        to = x + len(letters)
        self.chars[y][x:to] = letters
        before = self.looks[y][x:to]
        # Most texts stand on one ground.
        alike = before.count(before[0]) == len(before) if before else False
        each = before[:1] if alike else before
        looks = [_look(ground or one.ground, dim, bold) for one in each]
        self.looks[y][x:to] = looks * len(before) if alike else looks
        return to

    def right(
        self, y: int, text: str, *, dim: bool = False, bold: bool = False, end: int = 0
    ) -> int:
        """Writes a text that ends before column `end` (0: a cell before the edge).

        Returns:
            The column where it begins.
        """
        end = end or self.width - 1
        x = max(0, end - cells(inert(text)))
        self.put(x, y, text, dim=dim, bold=bold, end=end)
        return x

    def block(self, x: int, y: int, lines: Sequence[str]) -> None:
        """Writes lines of blocks under each other; blanks in them are written, too."""
        for at, line in enumerate(lines, y):
            if 0 <= at < self.height:
                room = max(0, self.width - x)
                letters = _letters(line)
                self.chars[at][x : x + min(len(line), room)] = letters[:room]

    def runs(self, y: int, first: int = 0, end: int | None = None) -> Iterator[tuple[str, Look]]:
        """The stretches of a row that look alike, from column `first` up to before `end` (None: the
        edge).
        """
        row, x = self.chars[y], first
        for look, found in groupby(self.looks[y][first:end]):
            to = x + len(list(found))
            yield "".join(row[x:to]), look
            x = to

    @property
    def lines(self) -> list[str]:
        """The characters of each row."""
        return ["".join(row) for row in self.chars]

    @property
    def text(self) -> str:
        """All of it, trailing blanks cut off."""
        return "\n".join(line.rstrip() for line in self.lines)


@lru_cache(maxsize=512)
def _set(text: str, room: int) -> tuple[tuple[str, ...], bool]:
    """The cells of a text that is made inert and cropped, and whether they are uneven: most texts
    stand there for long.
    """
    line = cropped(inert(text).replace("\n", " "), room)
    if line.isascii():
        # A cell each, and so it is with most of a picture.
        return tuple(line), False
    found = clusters(line)
    uneven = any(len(letter) != 1 or cells(letter) != 1 for letter in found)
    return tuple(cell for letter in found for cell in _cells_of(letter)), uneven


@lru_cache(maxsize=512)
def _letters(line: str) -> tuple[str, ...]:
    """The letters of a line of blocks; the same objects for the same line, which compare fast."""
    return tuple(line)


def _cells_of(letter: str) -> list[str]:
    """A letter in the first of its cells, and nothing in the others."""
    return [letter, *[""] * (cells(letter) - 1)]
