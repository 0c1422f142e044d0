"""Drawings of a paper: what is to be seen in each, for whatever medium can draw it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec import Struct

from cartclock.engine.body.course import Course
from cartclock.engine.hours.account import Account
from cartclock.engine.hours.partition import Piece
from cartclock.engine.record.applied import Asked
from cartclock.engine.record.exposure import ExposureRecord
from cartclock.engine.times import Length
from cartclock.engine.vehicle.picture import Picture


class ShiftCourse(Struct, frozen=True):
    """Shifts over the clock.

    Fields:
        accounts: the shifts, in order.
        zone: in which times are told.
        name: what the row of a piece of a job is called.
    """

    accounts: tuple[Account, ...]
    zone: str
    name: Callable[[Piece], str]


class HeatCourse(Struct, frozen=True):
    """Temperatures over the clock and the WBGT against its limit, shift by shift."""

    shifts: tuple[tuple[Course, ExposureRecord], ...]
    zone: str


class WindowCourse(Struct, frozen=True):
    """Windows asked and when they were taken.

    Fields:
        title: of the drawing.
        groups: windows, each group with what stands before its stages ("Job 7, " or "").
    """

    title: str
    groups: tuple[tuple[str, tuple[Asked, ...]], ...]


class StageShares(Struct, frozen=True):
    """How the hands' time was shared: stage and microseconds, in the plan's order."""

    lengths_us: Mapping[str, Length]


class Pictures(Struct, frozen=True):
    """What was attached; `load` reads the files, only where they are shown."""

    load: Callable[[], tuple[Picture, ...]]
    zone: str


Drawing = ShiftCourse | HeatCourse | WindowCourse | StageShares | Pictures
