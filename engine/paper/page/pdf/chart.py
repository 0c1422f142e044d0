"""What lies under a drawing: scales, the marks on them, and rows that hang on a common axis.

A mark is told from another by its place, its shape or its pattern, never by colour, so that
a grey print says as much. Scales of lengths begin at 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.dates import local, spoken_day
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.paper.page.pdf.ink import SMALL, Draw, Ink
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.paper.said import exact_text, hour, lasted
from cartclock.engine.times import Instant

LABEL_CELLS = 24
"""Width of the names at the left of a drawing, in cells of the page."""

ROW = 11.0
AXIS = 14.0
_BAR = 6.5
_GRID = 0.75
_BETWEEN_LABELS = 8.0

_CLOCK_STEPS_MIN = (1, 2, 5, 10, 15, 30, 60, 120, 180, 240, 360, 720, 1440)
_LENGTH_STEPS_S = (
    *(1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800),
    *(3600, 7200, 14400, 21600, 43200, 86400),
)

Pattern = Literal["full", "striped", "light", "open"]


class Mark(Struct, frozen=True):
    """A place on a scale and what is written there."""

    at: float
    label: str


class Scale(Struct, frozen=True):
    """Values from `low` to `high` on a line from `left` to `right`, in points from the frame.

    `low` must be less than `high`. What lies outside is drawn at the nearer end.
    """

    low: float
    high: float
    left: float
    right: float
    marks: tuple[Mark, ...]

    def x(self, value: float) -> float:
        """Where a value stands."""
        inside = min(max(value, self.low), self.high)
        return self.left + (inside - self.low) / (self.high - self.low) * (self.right - self.left)


def clock_scale(
    page: Print, from_us: Instant, to_us: int, zone: str, right_cells: int = 0
) -> Scale:
    """The clock from one instant to a later one, marked at whole steps of local time."""
    left, right = LABEL_CELLS * page.cell, page.width - right_cells * page.cell
    long = to_us - from_us > 24 * HOUR_US

    def label(at_us: Instant) -> str:
        said = hour(at_us, zone)
        return f"{spoken_day(local(at_us, zone).date())[:3]} {said}" if long else said

    here = local(from_us, zone)
    into_us = (here.hour * 60 + here.minute) * MINUTE_US + here.second * 1_000_000
    into_us += here.microsecond
    marks: list[Mark] = []
    days = 1
    steps = [step * MINUTE_US for step in _CLOCK_STEPS_MIN]
    while not marks:
        step_us = steps.pop(0) if steps else 24 * HOUR_US * (days := days * 2)
        first = from_us + -into_us % step_us
        count = (to_us - first) // step_us + 1
        wide = page.letters.width(label(from_us), "regular", SMALL) + _BETWEEN_LABELS
        if count * wide > right - left + wide and count > 2:
            continue
        marks = [Mark(at_us, label(Instant(at_us))) for at_us in range(first, to_us + 1, step_us)]
        marks = marks or [Mark(from_us, label(from_us))]
    return Scale(from_us, max(to_us, from_us + 1), left, right, tuple(marks))


def length_text(length_us: int, long: bool) -> str:
    """A length as minutes:seconds, or as hours:minutes where it is `long`; cut, never raised."""
    return exact_text(max(0, length_us) // 1_000_000)[:-3] if long else lasted(length_us)


def length_scale(page: Print, most_us: int, long: bool, right_cells: int) -> Scale:
    """Lengths from 0 to at least `most_us`; long ones are written as hours:minutes."""
    left, right = LABEL_CELLS * page.cell, page.width - right_cells * page.cell
    wide = page.letters.width("00:00", "regular", SMALL) + _BETWEEN_LABELS
    room = max(2, int((right - left) / wide))
    days = 1
    steps = [step for step in _LENGTH_STEPS_S if step >= 60 or not long]
    step_us = 0
    while not step_us or most_us / step_us > room - 1:
        step_us = (steps.pop(0) if steps else 86400 * (days := days * 2)) * 1_000_000
    high_us = max(1, -(-most_us // step_us)) * step_us
    marks = tuple(Mark(at, length_text(at, long)) for at in range(0, high_us + 1, step_us))
    return Scale(0, high_us, left, right, marks)


def put_axis(page: Print, scale: Scale, title: str) -> None:
    """The marks of a scale with its title at the left; repeated on every page of its rows."""
    # The first mark reaches a little to the left of the scale.
    lines = page.letters.lines(title, (LABEL_CELLS - 3) * page.cell, "bold", SMALL)
    height = max(AXIS, len(lines) * 9.0 + 4)

    def draw(ink: Ink, x: float, y: float) -> None:
        for index, line in enumerate(lines):
            ink.text(x, y - height + 4 + (len(lines) - 1 - index) * 9, line, "bold", SMALL)
        put_marks(ink, scale, x, y - height + 4)
        ink.line(x + scale.left, y - height, x + scale.right, y - height, 0.6)

    page.drawing(height, draw, head=True)


def put_marks(ink: Ink, scale: Scale, x: float, y: float) -> None:
    """What is written at the marks, on a base line; what would run into another is left out."""
    end = float("-inf")
    for mark in scale.marks:
        half = ink.letters.width(mark.label, "regular", SMALL) / 2
        at = x + scale.x(mark.at)
        if at - half >= end + 2:
            ink.text(at, y, mark.label, "regular", SMALL, "middle")
            end = at + half


def put_grid(ink: Ink, scale: Scale, x: float, top: float, bottom: float) -> None:
    """Thin lines at the marks."""
    for mark in scale.marks:
        at = x + scale.x(mark.at)
        ink.line(at, top, at, bottom, 0.3, grey=_GRID)


def put_bar(
    ink: Ink, x1: float, x2: float, middle: float, pattern: Pattern, height: float = _BAR
) -> None:
    """A bar along a row; however short, it is to be seen."""
    canvas = ink.canvas
    width = max(x2 - x1, 0.7)
    low = middle - height / 2
    canvas.saveState()
    canvas.setLineWidth(0.5)
    canvas.setStrokeGray(0.0)
    # Too narrow for an outline with something in it: a plain stroke.
    narrow = width < 1.5
    grey = {"full": 0.15, "striped": 1.0, "light": 0.82, "open": 1.0}[pattern]
    canvas.setFillGray(0.15 if narrow else grey)
    canvas.rect(x1, low, width, height, stroke=0 if narrow else 1, fill=1)
    if pattern == "striped" and not narrow:
        path = canvas.beginPath()
        path.rect(x1, low, width, height)
        canvas.clipPath(path, stroke=0, fill=0)
        canvas.setLineWidth(0.6)
        at = x1 - height
        while at < x1 + width:
            canvas.line(at, low, at + height, low + height)
            at += 2.6
    canvas.restoreState()


def row_drawing(
    page: Print, scale: Scale, label: str, inside: Draw, right: str = "", right_cells: int = 0
) -> None:
    """A row under an axis: its name, the grid, what `inside` draws about the row's middle."""
    letters = page.letters
    lines = letters.lines(label, (LABEL_CELLS - 1) * page.cell, "regular", SMALL)
    ends = letters.lines(right, (right_cells - 1) * page.cell, "regular", SMALL) if right else []
    height = max(ROW, max(len(lines), len(ends)) * 9.0 + 2)

    def draw(ink: Ink, x: float, y: float) -> None:
        put_grid(ink, scale, x, y, y - height)
        middle = y - ROW / 2
        for index, line in enumerate(lines):
            ink.text(x, middle - 2.7 - index * 9, line, "regular", SMALL)
        for index, line in enumerate(ends):
            at = x + page.width - (right_cells - 1) * page.cell
            ink.text(at, middle - 2.7 - index * 9, line, "regular", SMALL)
        inside(ink, x, middle)

    page.drawing(height, draw)


def put_key(page: Print, entries: Sequence[tuple[Draw, str]], above: bool = False) -> None:
    """What the marks of a drawing mean; each is drawn 16 points wide.

    above: True if the drawing stands under it and not over it.
    """
    letters = page.letters
    rows: list[list[tuple[float, Draw, str]]] = [[]]
    at = 0.0
    for sample, text in entries:
        plain = letters.plain(text)
        width = 20 + letters.width(plain, "regular", SMALL) + 14
        if rows[-1] and at + width > page.width:
            rows.append([])
            at = 0.0
        rows[-1].append((at, sample, plain))
        at += width

    def drawn(row: Sequence[tuple[float, Draw, str]]) -> Draw:
        def draw(ink: Ink, x: float, y: float) -> None:
            for left, sample, text in row:
                sample(ink, x + left, y - 6.5)
                ink.text(x + left + 20, y - 9, text, "regular", SMALL)

        return draw

    for row in rows:
        page.drawing(ROW + 1, drawn(row), keep=above)
