"""A window drawn as a strip of tape.

What is behind us stands at full height, the wait to come is a low line, the open window stands
half as high, and every mark is a cut. Past the last mark the strip goes on behind its cut. The
same picture, small, stands for anything that runs out: a bar of work, the age of a reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

# From this many cells on a cut is two cells wide: 7.5 mm on a 14-inch screen of 80 columns,
# 9 minutes of arc at three metres (reckoned).
WIDE = 60
FULL, LEFT_HALF, LOW, HALF, CUT = "█", "▌", "▂", "▄", " "

# Past the last mark the scale grows by this share of its length at a time, so that it rarely jumps.
_GROWTH = 0.25
# A little room behind the last cut, or it could not be seen.
_RIM = 0.02

# Cells between two words under a strip, and how far a word may stand beside its place for them.
_APART = 2
_ASIDE = (0, 1, -1, 2, -2)

# Strips under each other are half as high, or they would grow together.
_SLIM = str.maketrans({FULL: "▄", HALF: "▂", LOW: "▁", LEFT_HALF: "▖"})


def scale_end(start: float, last: float, now: float) -> float:
    """Where the strip ends: a little behind its last mark, in steps further if that is past.

    Args:
        start, last, now: on any one scale of time; last > start.
    """
    length = last - start
    end = last + _RIM * length
    while now > end:
        end += _GROWTH * length
    return end


def _column(at: float, start: float, end: float, width: int) -> int:
    return max(0, min(width - 1, round((at - start) / (end - start) * (width - 1))))


@lru_cache(maxsize=256)
def tape(
    width: int,
    start: float,
    marks: tuple[float, ...],
    now: float,
    opens: float | None = None,
    rows: int = 1,
    shuts: float | None = None,
) -> tuple[str, ...]:
    """The strip.

    Args:
        width: cells, >= 1.
        start: where it begins, on any one scale of time.
        marks: where it is cut, in rising order, the last one later than `start`; not empty.
        now: up to where it is behind us.
        opens: from where it stands half as high; None: nowhere.
        rows: how high it is, >= 1.
        shuts: up to where it stands half as high; None: to its end.

    Returns:
        `rows` strings of `width` characters, from the top.
    """
    end = scale_end(start, marks[-1], now)
    cut_cells = 2 if width >= WIDE else 1
    cuts = {_column(mark, start, end, width) + i for mark in marks for i in range(cut_cells)}
    behind = (now - start) / (end - start) * width
    opening = width if opens is None else _column(opens, start, end, width)
    shutting = width if shuts is None else _column(shuts, start, end, width)
    last = _column(marks[-1], start, end, width)
    cells = []
    for x in range(width):
        if x in cuts:
            cells.append(CUT)
        elif x < int(behind):
            cells.append(FULL)
        elif x == int(behind) and behind - x >= 0.5:
            cells.append(LEFT_HALF)
        elif x > last:
            cells.append(CUT)
        else:
            cells.append(HALF if opening <= x < shutting else LOW)
    line = "".join(cells)
    if rows == 1:
        return (line,)
    above = line.translate({ord(LOW): " ", ord(HALF): " "})
    return (*[above] * (rows - 1), line.translate({ord(HALF): FULL}))


def labels(width: int, start: float, named: Sequence[tuple[float, str]], now: float) -> str:
    """Words under the marks of a strip of the same width and start.

    The next mark has its word first, then the last one, then the others from the end, each a
    little beside its mark where another stands in its way; a word that has no room is left out.

    Args:
        named: the marks in rising order, each with its word; not empty.
    """
    coming = next((place for place, (at, _word) in enumerate(named) if at > now), None)
    return _labels(width, start, scale_end(start, named[-1][0], now), tuple(named), coming)


@lru_cache(maxsize=64)
def _labels(
    width: int, start: float, end: float, named: tuple[tuple[float, str], ...], coming: int | None
) -> str:
    """The words, which stand still while no mark is passed; `coming`: place of the next mark."""
    row = [" "] * width
    first = () if coming is None else (named[coming],)
    for at, word in (*first, *(one for one in reversed(named) if one not in first)):
        if len(word) > width:
            continue
        x = _column(at, start, end, width)
        # Near the right end a word stands before its mark.
        left = x if x < 0.85 * width else x - len(word) + 1
        for aside in _ASIDE:
            start_at = max(0, min(width - len(word), left + aside))
            around = row[max(0, start_at - _APART) : start_at + len(word) + _APART]
            if all(cell == " " for cell in around):
                row[start_at : start_at + len(word)] = word
                break
    return "".join(row)


def slim(line: str) -> str:
    """A strip half as high, for strips that stand under each other."""
    return line.translate(_SLIM)


def bar(width: int, share: float, cut: float | None = None) -> str:
    """A share of something as the same strip: what is gone is full, what is to come is low.

    Args:
        width: cells, >= 1.
        share: of the whole that is gone, 0 to 1; beyond is drawn as the nearer end.
        cut: share at which a mark stands; None: none.
    """
    gone = share * width
    cells = [
        FULL if x < int(gone) else LEFT_HALF if x == int(gone) and gone - x >= 0.5 else LOW
        for x in range(width)
    ]
    if cut is not None:
        at = max(0, min(width - 1, round(cut * width)))
        cells[at : at + (2 if width >= WIDE else 1)] = CUT * min(
            2 if width >= WIDE else 1, width - at
        )
    return "".join(cells)
