"""How high what Run says stands on a screen, and how high it must be to be read from afar.

A 14-inch screen of 16:9 is 174 mm high (14 in x 25.4 mm x 9 / sqrt(16^2 + 9^2)), and the program
fills it. NUREG-0700 (Rev. 3, character size; read second-hand): 20 minutes of arc preferred,
16 the least. 20 minutes of arc are 17.5 mm at 3 m.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from cartclock.engine.now.faces import Face
from cartclock.tui.face.canvas import Canvas
from cartclock.tui.face.run_layout import layout

SCREEN_MM = 14 * 25.4 * 9 / math.hypot(16, 9)
DISTANCE_MM = 3000.0
ARCMIN = 20.0
HIGH_MM = 2 * DISTANCE_MM * math.tan(math.radians(ARCMIN / 60) / 2)
LEAST_MM = 2 * DISTANCE_MM * math.tan(math.radians(16 / 60) / 2)
BLOCKS = set("█▀▄")
# Columns and rows of the screens that are read from there.
AFAR = ((80, 24), (120, 40), (200, 50))


def inked_mm(lines: Sequence[str], rows: int) -> float:
    """Height of what is drawn in blocks, half rows counted as such.

    rows: of the whole screen.
    """
    inked = [(y, line) for y, line in enumerate(lines) if set(line) & BLOCKS]
    tops = [2 * y + (0 if "▀" in line or "█" in line else 1) for y, line in inked]
    ends = [2 * y + (2 if "▄" in line or "█" in line else 1) for y, line in inked]
    return (max(ends) - min(tops)) / 2 * SCREEN_MM / rows if inked else 0.0


class Heights(NamedTuple):
    """In mm; 0 for what is not drawn. `second` is the second figure."""

    name: float
    digits: float
    word: float
    second: float
    strip: float


def reaches(picture: Canvas, faces: Sequence[Face]) -> None:
    """Of what Run draws of its faces on a screen of one of the sizes without a list: the name, the
    digits, the word beside them and the strip are read from afar, or this raises AssertionError.
    """
    found = heights(picture, picture.height)
    assert min(found.name, found.digits) >= HIGH_MM
    hours = len(faces[0].clock) > 5
    # Of two words each has a line, 17.4 mm high at 40 rows.
    high = LEAST_MM if " " in faces[0].beside else HIGH_MM
    assert not faces[0].beside or hours or found.word >= high
    # Three rows of letters in a strip of four, 24 mm at 24 rows, 17.4 at 40.
    assert len(faces) == 1 or found.strip >= LEAST_MM


def heights(picture: Canvas, rows: int, listed: bool = False) -> Heights:
    """What of a picture of Run is drawn how high.

    Args:
        rows: of the whole screen.
        listed: True if a list has the rows below the picture.
    """
    place = layout(picture.width, picture.height, listed)
    lines = picture.lines
    top, end = place.digits_top, place.digits_top + -(-(place.digits + place.digits_off) // 2)
    side = picture.width - place.edge - place.side
    left = [line[: side - 1] for line in lines[top:end]]
    beside = [line[side:] for line in lines[top : top + -(-place.word // 2)]]
    second = [line[side:] for line in lines[end - place.figure // 2 : end]]
    strip = lines[place.space + 1 : place.space + 1 + place.strip] if place.space >= 0 else []
    return Heights(
        inked_mm(lines[place.name_top : top], rows),
        inked_mm(left, rows),
        inked_mm(beside, rows),
        inked_mm(second, rows),
        inked_mm([line[: picture.width // 2] for line in strip], rows),
    )
