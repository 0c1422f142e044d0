"""Capitals in half blocks for the word of a clock, so that it is read from where the hands are.

A letter is five points high and mostly three wide; a point is one cell wide and half a cell high,
about a square. At scale 1 a letter is two and a half rows high, at scale 2 five, at scale 3 seven
and a half. The proportions are those of a digit: a stroke a fifth to a seventh of the height,
0.6 of the height wide (common practice for legible capitals, no source).
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

POINTS = 5
MOST_SCALE = 3

# Rows of a 14-inch screen (174 mm high) for which one scale more is needed: 2.5 rows of 31 are
# 14 mm, 16 minutes of arc at 3 m (NUREG-0700: at least 16; read second-hand).
ROWS_A_SCALE = 31

_GLYPHS = {
    "A": ".#. #.# ### #.# #.#",
    "B": "##. #.# ##. #.# ##.",
    "C": "### #.. #.. #.. ###",
    "D": "##. #.# #.# #.# ##.",
    "E": "### #.. ##. #.. ###",
    "F": "### #.. ##. #.. #..",
    "G": "#### #... #.## #..# ####",
    "H": "#.# #.# ### #.# #.#",
    "I": "# # # # #",
    "J": "..# ..# ..# #.# ###",
    "K": "#..# #.#. ##.. #.#. #..#",
    "L": "#.. #.. #.. #.. ###",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#..# ##.# #.## #..# #..#",
    "O": "### #.# #.# #.# ###",
    "P": "### #.# ### #.. #..",
    "Q": "###. #.#. #.#. #.#. ####",
    "R": "##. #.# ##. #.# #.#",
    "S": "### #.. ### ..# ###",
    "T": "### .#. .#. .#. .#.",
    "U": "#.# #.# #.# #.# ###",
    "V": "#.# #.# #.# #.# .#.",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#.# #.# .#. #.# #.#",
    "Y": "#.# #.# .#. .#. .#.",
    "Z": "### ..# .#. #.. ###",
    "0": "### #.# #.# #.# ###",
    "1": "##. .#. .#. .#. ###",
    "2": "### ..# ### #.. ###",
    "3": "### ..# ### ..# ###",
    "4": "#.# #.# ### ..# ..#",
    "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###",
    "7": "### ..# ..# ..# ..#",
    "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###",
    ":": ". # . # .",
    "-": ".. .. ## .. ..",
    ".": ". . . . #",
    "'": "# # . . .",
    "/": "..# ..# .#. #.. #..",
    "+": "... .#. ### .#. ...",
    "?": "### ..# .## ... .#.",
    ",": ". . . # #",
    " ": ".. .. .. .. ..",
}


def rows_of(scale: int) -> int:
    """Rows that letters of a scale (1 to 3) take; the last one may be filled by half."""
    return -(-POINTS * scale // 2)


def plain_capitals(text: str) -> str | None:
    """The text in the capitals there are, marks left off; None if one has no big form."""
    split = unicodedata.normalize("NFD", text.upper())
    bare = "".join(char for char in split if not unicodedata.combining(char))
    return bare if bare and all(char in _GLYPHS for char in bare) else None


@lru_cache(maxsize=256)
def lettered(text: str, scale: int) -> tuple[str, ...] | None:
    """The text in big letters: `rows_of(scale)` lines of equal length; None if it has no big form.

    scale: 1 to 3.
    """
    bare = plain_capitals(text)
    if bare is None:
        return None
    glyphs = [_GLYPHS[char].split() for char in bare]
    lines = [".".join(glyph[y] for glyph in glyphs) for y in range(POINTS)]
    points = ["".join(point * scale for point in line) for line in lines for _ in range(scale)]
    if len(points) % 2:
        points.append("." * len(points[0]))
    pairs = zip(points[::2], points[1::2], strict=True)
    return tuple(
        "".join(" ▀▄█"[(a == "#") + 2 * (b == "#")] for a, b in zip(*pair, strict=True))
        for pair in pairs
    )


@lru_cache(maxsize=256)
def fitting(text: str, width: int, height: int, least: int = 1) -> tuple[str, ...]:
    """The most of a text that fits `width` by `height` cells, whole words from its beginning, as
    large as it can be; empty if not even the first word fits.

    least: the scale under which fewer words are better than smaller ones.
    """
    words = text.split()
    for scales in (range(MOST_SCALE, least - 1, -1), range(least - 1, 0, -1)):
        for count in range(len(words), 0, -1):
            said = " ".join(words[:count])
            # What a colon would lead to is left out.
            said = said if count == len(words) else said.rstrip(":")
            for scale in scales:
                lines = lettered(said, scale) if rows_of(scale) <= height else None
                if lines is not None and len(lines[0]) <= width:
                    return lines
    return ()


@lru_cache(maxsize=64)
def sentence(text: str, width: int, height: int) -> tuple[str, ...]:
    """The whole of a text on as many lines of letters as it takes, as large as `width` by `height`
    cells allow; empty if it does not fit, or holds what has no big form.
    """
    for scale in range(MOST_SCALE, 0, -1):
        found = _on_lines(text.split(), width, scale)
        rows = [row for line in found for row in line]
        if found and len(rows) <= height:
            return tuple(row.center(width) for row in rows)
    return ()


def _on_lines(words: list[str], width: int, scale: int) -> list[tuple[str, ...]]:
    """Words on lines of letters of one scale; empty if one of them does not fit."""
    found: list[tuple[str, ...]] = []
    line: list[str] = []
    for word in words:
        longer = lettered(" ".join([*line, word]), scale)
        if line and (longer is None or len(longer[0]) > width):
            found.append(lettered(" ".join(line), scale) or ())
            line, longer = [], lettered(word, scale)
        if longer is None or len(longer[0]) > width:
            return []
        line.append(word)
    return [*found, lettered(" ".join(line), scale) or ()] if line else []
