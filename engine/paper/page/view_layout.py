"""Where what is written into a view stands: the same for every medium that can draw one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.paper.page.view import VehicleView, written_name
from cartclock.engine.vehicle.plan_view import (
    HALF_HEIGHT,
    LEFT_EDGE,
    Outline,
    PlanView,
    Point,
    plan_view,
)

Width = Callable[[str, bool], float]
"""How wide a text is in letters of size 1, bold or not."""
Room = tuple[Point, Point]

# A letter fills this share of its size above its base line; a tag is so many sizes high.
CAPITAL = 0.73
_TAG, _TAG_CUT = 1.35, 0.3
# From line to line, in sizes; and what stays free between letters and outline, in sizes.
_LINE, _AIR = 1.2, 0.1
_ARROW = 0.45


class Writing(Struct, frozen=True):
    """One line as it is written, in the units of the drawing, y down.

    Fields:
        text: one line.
        x, y: of its middle; with `anchor` "left" the x of its left end.
        size: of its letters.
        bold: as signs are.
        turned: True if it is read upward.
        tag: corners of the box around it; () without one.
        dim: True for what may be weaker than the rest, the names of panels.
    """

    text: str
    x: float
    y: float
    size: float
    bold: bool = True
    turned: bool = False
    tag: tuple[Point, ...] = ()
    dim: bool = False
    anchor: Literal["left", "middle"] = "middle"


class Layout(Struct, frozen=True):
    """All that is drawn of a view.

    Fields:
        plan: the outlines.
        writings: every line, to be drawn over them.
        arrow: corners of the arrow to the front.
        strokes: short lines on glass that bears no words.
        untold: (place, sign) of the signs that had no room, to be said under the drawing.
        half_height: from the middle of the drawing to its edges, the names of the sides included.
    """

    plan: PlanView
    writings: tuple[Writing, ...]
    arrow: tuple[Point, ...]
    strokes: tuple[tuple[Point, Point], ...]
    untold: tuple[tuple[str, str], ...]
    half_height: float


def laid_out(view: VehicleView, sign: float, name: float, around: float, width: Width) -> Layout:
    """A view with its writing in place.

    Args:
        view: what is shown.
        sign, name, around: sizes of the letters in units of the drawing: of signs and numbers, of
            the names of panels, and of what stands around the vehicle.
        width: measures a text.
    """
    plan = plan_view(view.shape, view.driver)
    writer = _Writer(view, sign, name, width)
    for place in plan.places:
        writer.fill(place)
    edge = HALF_HEIGHT + 0.75 * around
    y, half = -(HALF_HEIGHT / 2 - 1.2), _ARROW * around
    left = LEFT_EDGE + 0.4
    found = [
        *writer.found,
        Writing(plan.upper, plan.middle, -edge, around, False),
        Writing(plan.lower, plan.middle, edge, around, False),
        Writing("front", left + 2.6 * half, y, around, False, anchor="left"),
    ]
    arrow = ((left, y), (left + 2 * half, y - half), (left + 2 * half, y + half))
    return Layout(
        plan=plan,
        writings=tuple(found),
        arrow=arrow,
        strokes=tuple(writer.strokes),
        untold=tuple(writer.untold),
        half_height=HALF_HEIGHT + 1.4 * around,
    )


def _shine(room: Room) -> tuple[tuple[Point, Point], ...]:
    """Two short strokes in a corner of a room: what is glass."""
    (x0, y0), (x1, y1) = room
    long = max(0.8, min((y1 - y0) / 2, 3.5, (x1 - x0) / 2 - 2.4))
    x, y = x0 + 0.7, y1 - 0.14 * (y1 - y0)
    return tuple(((x + at, y), (x + at + long, y - long)) for at in (0.0, 1.1))


class _Writer:
    """Writes into places, one after the other."""

    def __init__(self, view: VehicleView, sign: float, name: float, width: Width) -> None:
        self._view, self._sign, self._name, self._width = view, sign, name, width
        self.found: list[Writing] = []
        self.untold: list[tuple[str, str]] = []
        self.strokes: list[tuple[Point, Point]] = []

    def fill(self, place: Outline) -> None:
        view, before = self._view, len(self.found)
        room = place.room
        tags = view.tags(place.name)
        mark = view.marks.get(place.name, "")
        named = view.names and place.kind != "wheel"
        free: Room | None = self._tagged(room, tags, bool(mark or named)) if tags else room
        if mark and (free is None or not self._written([mark], free, self._sign)):
            self.untold.append((place.name, mark))
        if named and not mark and free is not None:
            self._named(written_name(place), free)
        if place.kind == "glass" and len(self.found) == before:
            self.strokes += _shine(room)

    def _named(self, name: str, room: Room) -> None:
        """A name in one line or in several, or turned; where none of it fits, none: what the
        place is called is said wherever something is noted of it."""
        (x0, _y0), (x1, _y1) = room
        lines = _broken(name, x1 - x0, lambda text: self._width(text, False) * self._name)
        for one in ([name], lines):
            if self._written(one, room, self._name, dim=True):
                return

    def _written(self, lines: Sequence[str], room: Room, size: float, dim: bool = False) -> bool:
        (x0, y0), (x1, y1) = room
        wide = max(self._width(line, not dim) for line in lines) * size + 2 * _AIR * size
        high = (len(lines) - 1) * _LINE * size + CAPITAL * size + 2 * _AIR * size
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        turned = not (wide <= x1 - x0 and high <= y1 - y0)
        if turned and (len(lines) > 1 or wide > y1 - y0 or high > x1 - x0):
            return False
        for index, line in enumerate(lines):
            at = y + (index - (len(lines) - 1) / 2) * _LINE * size
            self.found.append(Writing(line, x, at, size, not dim, turned, dim=dim))
        return True

    def _tagged(self, room: Room, tags: Sequence[str], shared: bool) -> Room | None:
        """Puts the tags into a room; what is left of it for a sign or a name, None if nothing."""
        (x0, y0), (x1, y1) = room
        size = self._sign
        whole = " ".join(tags)
        rows = _broken(whole, x1 - x0 - size, self._wide)
        if len(rows) * _LINE * size > y1 - y0:
            rows = [whole]
        wide = max(map(self._wide, rows)) + 0.8 * size
        high = (_TAG + (len(rows) - 1) * _LINE) * size
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        free: Room | None = None
        if shared and y1 - y0 > high + size:
            y = y0 + high / 2 + 0.2 * size
            free = (x0, y0 + high + 0.2 * size), (x1, y1)
        elif shared and x1 - x0 > wide + 2 * size:
            x = x0 + wide / 2 + 0.2 * size
            free = (x0 + wide + 0.4 * size, y0), (x1, y1)
        box = _tag(x, y, wide, high, _TAG_CUT * size)
        for index, row in enumerate(rows):
            at = y + (index - (len(rows) - 1) / 2) * _LINE * size
            self.found.append(Writing(row, x, at, size, tag=() if index else box))
        return free

    def _wide(self, text: str) -> float:
        return self._width(text, True) * self._sign


def _tag(x: float, y: float, wide: float, high: float, cut: float) -> tuple[Point, ...]:
    x0, x1, y0, y1 = x - wide / 2, x + wide / 2, y - high / 2, y + high / 2
    return ((x0 + cut, y0), (x1, y0), (x1, y1 - cut), (x1 - cut, y1), (x0, y1), (x0, y0 + cut))


def _broken(text: str, room: float, width: Callable[[str], float]) -> list[str]:
    """Words in lines of that room; a word that is wider has a line of its own."""
    lines: list[str] = []
    for word in text.split():
        if lines and width(f"{lines[-1]} {word}") <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
