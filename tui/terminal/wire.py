"""What goes down the line to the terminal: only the cells that are not there already.

The screen library writes a changed part of a line from the left edge of its widget, with its
colours anew on each row; big digits that count would send some kilobytes a second. Here every
frame is compared with what the terminal shows, and only the difference goes out. A frame that
fills the screen goes out as it is: it also heals what something else wrote over it.

Sequences are those of ECMA-48: CUP, CHA, CUF, CUD and BS (where the cursor goes, 1-based) and SGR
(colours).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import compress, count, repeat
from operator import ne
from typing import Protocol, runtime_checkable

from rich.cells import cell_len

# What the library makes a frame of; anything else is no frame.
_TOKEN = re.compile(r"\x1b\[(\d+);(\d+)H|\x1b\[([\d;]*)m|\r?\n|([^\x00-\x1f\x7f-\x9f]+)")
# Modes set, reset and asked for, the bell, the pile of window titles, and strings to the terminal:
# they move no cell.
_ASIDE = re.compile(
    r"(?:\x1b\[\?(?!1049[hl])\d+(?:\$p|[hl])|\x07|\x1b\[2[23];2t|\x1b\][^\x07\x1b]*\x07)*"
)
# Most of what is written: plain letters and the blocks of the digits, a cell each.
_SINGLE = re.compile("[ -~\u2580-\u259f]*")
# Beyond so many cells it always takes less to tell the cursor to go past them.
_PAST_CELLS = 5
# A colour of SGR with what it is made of, or one attribute.
_PARAMETER = re.compile(r"[34]8;5;\d+|[34]8;2;\d+;\d+;\d+|\d+")

# A cell: its character and the parameters of its colours. Nothing is known of None.
Cell = tuple[str, str] | None
Run = tuple[int, int, str, str]
"""Row and column (from 0), parameters of its colours (SGR) and text of a stretch of cells."""


@runtime_checkable
class Cells(Protocol):
    """A way to the terminal that takes cells besides the frames of the library."""

    def put(self, runs: Sequence[Run]) -> None:
        """Writes cells of a picture that the library knows and need not draw."""


class Wire:
    """What the terminal shows, as far as it is known."""

    def __init__(self) -> None:
        self._size = (0, 0)
        self._rows: list[list[Cell]] = []
        # What places the cursor where the library's newest frame left it.
        self._place = ""
        # The colours in force: those of the cells that were put last.
        self._colours = ""

    def lean(self, text: str, size: tuple[int, int]) -> str:
        """What must be written so that the terminal shows the same as after `text`.

        Args:
            text: one write of the screen library, whole.
            size: columns and rows of the terminal.
        """
        self._fit(size)
        frame = _frame(text)
        if frame is None:
            if _ASIDE.fullmatch(text):
                return text
            self._forget()
            return self._plain() + text
        runs, self._place = frame
        columns, rows = size
        if sum(cell_len(run[3]) for run in runs) >= columns * rows:
            plain = self._plain()
            self._changed(runs)
            self._plain()
            return plain + text
        return self._changed(runs) + self._plain() + _shortened(self._place)

    def put(self, runs: Sequence[Run], size: tuple[int, int]) -> str:
        """What must be written so that these cells stand there, and the cursor where it was.

        The colours of the last one stay in force, because the clocks of the next second are in the
        same ones; before anything else that is drawn they are taken back.

        Args:
            size: columns and rows of the terminal.

        Returns:
            "" if they stand there already.
        """
        self._fit(size)
        changed = self._changed(runs)
        return changed and changed + _shortened(self._place)

    def _fit(self, size: tuple[int, int]) -> None:
        if size != self._size:
            self._size = size
            self._forget()

    def _forget(self) -> None:
        columns, rows = self._size
        self._rows = [[None] * columns for _ in range(rows)]
        self._place = ""

    def _plain(self) -> str:
        """What takes the colours in force back; "" if none are."""
        before, self._colours = self._colours, ""
        return _turn(before, "")

    def _changed(self, runs: Sequence[Run]) -> str:
        """Takes runs in; answers what must be written of them."""
        rows = {run[0] for run in runs if 0 <= run[0] < len(self._rows)}
        before = {y: self._rows[y].copy() for y in rows}
        raw = "".join(self._keep(run, before) for run in runs)
        return (self._plain() + raw if raw else "") + self._difference(before)

    def _keep(self, run: Run, before: dict[int, list[Cell]]) -> str:
        """Takes a run in; answers what must be written of it whatever is known, mostly nothing."""
        y, x, style, text = run
        row = self._rows[y] if 0 <= y < len(self._rows) else []
        if not _joins(text) and 0 <= x <= len(row) - len(text):
            row[x : x + len(text)] = zip(text, repeat(style))
            return ""
        # Cells and characters do not go by twos: nothing is known from here on, nor of the cell
        # before, which a mark may join. What stands there goes out once more.
        left = max(0, x - 1)
        beside = row[left] if left < min(x, len(row)) else None
        for unknown in (row, before[y]) if row else ():
            unknown[left:] = [None] * (len(row) - left)
        again = "" if beside is None else f"\x1b[{beside[1]}m{beside[0]}\x1b[m"
        at = (y, left if again else x)
        return f"{_move((-1, -1), at, 0)}{again}\x1b[{style}m{text}\x1b[m"

    def _difference(self, before: dict[int, list[Cell]]) -> str:
        """What is to be written where the cells are others than before, colour by colour.

        before: the rows that something was written to, as they were.
        """
        parts: dict[str, list[tuple[int, int, str]]] = {}
        for y in sorted(before):
            for x, style, text in _changes(before[y], self._rows[y]):
                parts.setdefault(style, []).append((y, x, text))
        out: list[str] = []
        at = (-1, -1)
        while parts:
            style = min(parts, key=lambda other: len(_turn(self._colours, other)))
            out.append(_turn(self._colours, style))
            self._colours = style
            for y, x, text in parts.pop(style):
                out.append(_move(at, (y, x), self._size[0]) + text)
                at = (y, x + len(text))
        return "".join(out)


def _changes(old: list[Cell], new: list[Cell]) -> Iterator[tuple[int, str, str]]:
    """Column, colours and text of each changed stretch of a row.

    Cells between two of them that cost no more than to go past them are written again.
    """
    first, last, style, text = 0, 0, "", ""
    for x in compress(count(), map(ne, old, new)):
        cell = new[x]
        if cell is None:
            continue
        past = None
        if text and cell[1] == style:
            past = "" if x == last + 1 else _past(new[last + 1 : x], style)
        if past is not None:
            text += past + cell[0]
        else:
            if text:
                yield first, style, text
            first, style, text = x, cell[1], cell[0]
        last = x
    if text:
        yield first, style, text


def _past(cells: list[Cell], style: str) -> str | None:
    """What stands in these cells, if to write it again is no dearer than to go past them."""
    if len(cells) > _PAST_CELLS:
        return None
    text = "".join(cell[0] for cell in cells if cell is not None and cell[1] == style)
    cheap = len(text.encode()) <= len(_ahead(len(cells)))
    return text if len(text) == len(cells) and cheap else None


def _ahead(cells: int) -> str:
    return f"\x1b[{cells}C" if cells > 1 else "\x1b[C"


def _move(at: tuple[int, int], to: tuple[int, int], columns: int) -> str:
    """The shortest way of the cursor.

    Args:
        at: row and column where it stands; -1 for what is not known.
        columns: of the terminal. Behind the last one terminals differ in where the cursor is, and
            from there no way goes by what it is.
    """
    (y, x), (row, column) = at, to
    if at == to and x < columns:
        return ""
    known = 0 <= x < columns
    if row == y and known and column > x:
        return _ahead(column - x)
    ways = [_shortened(f"\x1b[{row + 1};{column + 1}H")]
    if row == y + 1 > 0:
        # A terminal may begin the line anew at a line feed, or not.
        ways.append(f"\n\x1b[{column + 1}G")
        if known and column <= x:
            ways.append("\x1b[B" + "\b" * (x - column))
    return min(ways, key=len)


def _shortened(place: str) -> str:
    """A cursor position without the ones, which stand for themselves (ECMA-48, CUP)."""
    return "\x1b[H" if place == "\x1b[1;1H" else place


@lru_cache(maxsize=256)
def _turn(before: str, after: str) -> str:
    """What turns the colours of cells into those of the next ones, in the fewest bytes.

    Args:
        before: parameters in force; "" for none, as after a reset. after: those to be.
    """
    if before == after:
        return ""
    if not before or not after:
        return f"\x1b[{after}m"
    has, wants = _PARAMETER.findall(before), _PARAMETER.findall(after)
    slots = {_slot(one) for one in wants}
    if all(one in wants or _slot(one) in slots for one in has):
        # What the next cells do not name must not stay from those before.
        return f"\x1b[{';'.join(one for one in wants if one not in has)}m"
    return f"\x1b[0;{after}m"


def _slot(parameter: str) -> str:
    """What a parameter of SGR sets: the ink, the ground, or an attribute of its own."""
    number = int(parameter.partition(";")[0])
    if 30 <= number <= 38 or 90 <= number <= 97:
        return "ink"
    return "ground" if 40 <= number <= 48 or 100 <= number <= 107 else parameter


def _joins(text: str) -> bool:
    """Whether characters share a cell or take two, as marks, joiners and wide letters do."""
    return not _SINGLE.fullmatch(text) and any(cell_len(char) != 1 for char in text)


def _frame(text: str) -> tuple[list[Run], str] | None:
    """The runs of a frame of the library, and the sequence that places the cursor behind them.

    Returns:
        Row and column (from 0), colours and text of each run; None if this is no frame.
    """
    runs: list[Run] = []
    end, y, x, style, place = 0, -1, -1, "", ""
    for token in _TOKEN.finditer(text):
        if token.start() != end:
            return None
        end = token.end()
        row, column, colours, written = token.groups()
        if row is not None:
            y, x, place = int(row) - 1, int(column) - 1, token.group()
        elif colours is not None:
            style = "" if colours == "0" else colours
        elif written is None:
            # A line feed; the library says the place of whatever follows.
            y = -1
        elif y < 0:
            return None
        else:
            runs.append((y, x, style, written))
            x += cell_len(written)
            place = ""
    if not runs or end != len(text) or style:
        return None
    return runs, place
