"""What a chart shows, as data: points, columns and their scales, before anybody knows its size."""

from __future__ import annotations

from datetime import date
from typing import Literal

from msgspec import Struct

Kind = Literal["number", "count", "clock", "stopwatch", "length"]
"""What a scale counts: numbers; whole things; minutes since a midnight, said as a time of day;
seconds, said as minutes and seconds; minutes, said as hours and minutes."""


class Axis(Struct, frozen=True):
    """A scale.

    Fields:
        kind: what it counts.
        start, end: the least and the greatest of what it has to hold; start <= end. Quantities
            start at 0, or a difference would look larger than it is.
        unit: said behind its last word.
        day: of a time of day, the one whose midnight it counts from; another one is said by its
            weekday.
    """

    kind: Kind
    start: float
    end: float
    unit: str = ""
    day: date | None = None


class Series(Struct, frozen=True):
    """Points that are one matter.

    Fields:
        name: what they are, beside their mark over the chart.
        mark: the one character that stands for each.
        points: across and up, in any order; where `joined` from left to right.
        joined: True if the way from each to the next is drawn with the same mark.
        dim: True for what only goes with the others.
    """

    name: str
    mark: str
    points: tuple[tuple[float, float], ...]
    joined: bool = False
    dim: bool = False


class Band(Struct, frozen=True):
    """What lies between two ways, filled.

    Fields:
        name, mark: as of a series; it is faint.
        low, high: two points each or more, from left to right, across the same places.
    """

    name: str
    mark: str
    low: tuple[tuple[float, float], ...]
    high: tuple[tuple[float, float], ...]


class Plane(Struct, frozen=True):
    """Points over two scales.

    Fields:
        series: of those that meet in a cell the last one is seen.
        band: behind them; None: none.
        level: a height that a line shows, with its word; None: none.
        scales: what stands upwards and across, in words behind its marks; "": nothing.
    """

    across: Axis
    up: Axis
    series: tuple[Series, ...]
    level: tuple[float, str] | None = None
    band: Band | None = None
    scales: str = ""


class Stack(Struct, frozen=True):
    """One column: its word, and the lengths of its parts from below, each >= 0."""

    word: str
    parts: tuple[float, ...]


class Columns(Struct, frozen=True):
    """Columns beside each other, the oldest first.

    Fields:
        parts: of every column from below: name and the one character it is made of.
        stacks: one or more.
        called: what a column is, for many of them: "weeks".
    """

    up: Axis
    parts: tuple[tuple[str, str], ...]
    stacks: tuple[Stack, ...]
    called: str


Chart = Plane | Columns
