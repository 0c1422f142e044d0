"""Plan views: a vehicle from above with its sides laid flat, front at the left, as outlines.

Everything is in hundredths of the vehicle's length. x runs from the front (0) to the rear (100),
y from the right of the vehicle as it drives (below 0) to its left. Corners are cut at 45 degrees.
How long the panels of a shape are, is drawn from memory and of no vehicle: a place is to be
recognised, not measured.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from math import cos, pi, sin
from typing import Literal

from msgspec import Struct

Point = tuple[float, float]
Driver = Literal["left", "right", ""]
PlaceKind = Literal["panel", "glass", "wheel", "bed"]

LEFT_EDGE, RIGHT_EDGE, HALF_HEIGHT = -5.0, 101.0, 36.4
"""What a view takes with the word at its front; the names of the sides stand outside of it."""

# Half the width of the middle and of the bumpers; then, on either side, the glass and the panels.
_MIDDLE, _BUMPER = 13.5, 14.6
_GLASS_IN, _GLASS_OUT = 14.3, 19.1
_SIDE_IN, _SIDE_OUT = 19.6, 32.4
_SILL_IN = 33.0
_SIDE_FRONT = 6.0
# What stays free between two panels, on the side of each.
_JOINT = 0.35
_WHEEL, _WHEEL_CENTRE, _RIM = 4.4, 32.0, 0.62
# An arch over a wheel: half its width, its height, its cut corners.
_ARCH, _ARCH_HEIGHT, _ARCH_CUT = 5.4, 5.2, 2.4
_MIRROR = 6.8


class Outline(Struct, frozen=True):
    """A place of a vehicle as it is drawn.

    Fields:
        name: as plans write it: "driver front door", "windscreen", "passenger rear wheel".
        kind: "panel" for what the plan's body has; glass, wheels and a bed are no panels of it.
        corners: its outline, at least three corners, not crossing itself.
        room: (x, y) and (x, y) of two opposite corners, the lower numbers first, between which
            something can be written.
    """

    name: str
    kind: PlaceKind
    corners: tuple[Point, ...]
    room: tuple[Point, Point]

    @property
    def centre(self) -> Point:
        """The middle of its room."""
        (x0, y0), (x1, y1) = self.room
        return (x0 + x1) / 2, (y0 + y1) / 2


class PlanView(Struct, frozen=True):
    """A vehicle as it is drawn.

    Fields:
        places: every place, no two of them over one another.
        rims: outlines inside of the wheels, to be drawn but never named.
        upper, lower: what the side at the upper and at the lower edge is called.
        middle: x between the axles.
    """

    places: tuple[Outline, ...]
    rims: tuple[tuple[Point, ...], ...]
    upper: str
    lower: str
    middle: float

    def place(self, name: str) -> Outline | None:
        """The place of that name; None if it is not drawn."""
        return next((one for one in self.places if one.name == name), None)

    @property
    def panels(self) -> tuple[str, ...]:
        """Names of the panels in the order drawn."""
        return tuple(one.name for one in self.places if one.kind == "panel")


# What lies one behind the other: each with the x where it ends.
_Row = tuple[tuple[str, float], ...]


class _Lengths(Struct, frozen=True):
    """Where the parts of a shape end along it.

    Fields:
        middle: from the front bumper on.
        passenger, driver: panels of each side from the front on.
        axles: x of both.
        glass: x of the side glass, from and to; None without glass, mirrors and sills.
    """

    middle: _Row
    passenger: _Row
    driver: _Row
    axles: tuple[float, float]
    glass: tuple[float, float] | None


def _middle(*ends: float, rear: tuple[str, ...]) -> _Row:
    names = ("front bumper", "bonnet", "windscreen", "roof", *rear, "rear bumper")
    return tuple(zip(names, (5.0, *ends, 95.0, 100.0), strict=True))


def _four_doors(wing: float, front: float, rear: float) -> _Row:
    return (("front wing", wing), ("front door", front), ("rear door", rear), ("rear quarter", 94))


def _alike(middle: _Row, side: _Row, axles: Point, glass: Point) -> _Lengths:
    return _Lengths(middle, side, side, axles, glass)


_GATE, _BOOT = ("rear glass", "tailgate"), ("rear glass", "boot lid")
_VAN_MIDDLE: _Row = (
    ("front bumper", 5),
    ("bonnet", 16),
    ("windscreen", 24),
    ("roof", 86),
    ("barn doors", 95),
    ("rear bumper", 100),
)
_PICKUP_SIDE: _Row = (("front wing", 27), ("front door", 43), ("rear door", 59), ("bed side", 94))
_COUPE_SIDE: _Row = (("front wing", 31), ("door", 62), ("rear quarter", 94))

_SHAPES: dict[str, _Lengths] = {
    "hatchback": _alike(
        _middle(27, 36, 77, 85, rear=_GATE), _four_doors(28, 50, 69), (17, 83), (31, 80)
    ),
    "saloon": _alike(
        _middle(28, 37, 65, 74, rear=_BOOT), _four_doors(29, 48, 66), (17, 82), (32, 72)
    ),
    "estate": _alike(
        _middle(27, 35, 80, 86, rear=_GATE), _four_doors(28, 48, 66), (17, 81), (31, 89)
    ),
    "coupe": _alike(_middle(31, 41, 63, 76, rear=_BOOT), _COUPE_SIDE, (17, 81), (36, 73)),
    "SUV": _alike(_middle(26, 33, 81, 87, rear=_GATE), _four_doors(27, 48, 68), (17, 82), (30, 88)),
    "pickup": _alike(
        _middle(27, 34, 56, 60, 88, rear=("rear glass", "bed", "tailgate")),
        _PICKUP_SIDE,
        (17, 79),
        (30, 57),
    ),
    "van": _Lengths(
        _VAN_MIDDLE,
        (("front wing", 20), ("front door", 35), ("sliding door", 57), ("rear side panel", 94)),
        (("front wing", 20), ("front door", 35), ("front side panel", 57), ("rear side panel", 94)),
        (13, 80),
        (22, 34),
    ),
    # Of a vehicle whose shape nobody told: what every one has, to be marked by hand.
    "": _Lengths(
        (("front", 8), ("top", 91), ("rear", 100)), (("side", 94),), (("side", 94),), (17, 82), None
    ),
}


@lru_cache(maxsize=32)
def plan_view(shape: str, driver: Driver = "") -> PlanView:
    """A vehicle as it is drawn.

    Args:
        shape: one of `engine.plan.shapes.SHAPES`; "" for an outline that tells no shape: front,
            top, rear, two sides and four wheels.
        driver: on which side the driver sits; "" if it is not told, drawn as "left". The sides
            bear their names, so that none is taken for the other.

    Raises ValueError if there is no such shape.
    """
    found = _SHAPES.get(shape)
    if found is None:
        raise ValueError(f"no plan view of the shape {shape!r}")
    # The vehicle drives to the left of the page, so its right side is the upper one.
    upper, lower = ("driver", "passenger") if driver == "right" else ("passenger", "driver")
    places = list(_along(found.middle, upper, lower))
    rims: list[tuple[Point, ...]] = []
    for who, up in ((upper, -1), (lower, 1)):
        places += _side(who, found, up)
        for end, x in zip(("front", "rear"), found.axles, strict=True):
            y = up * _WHEEL_CENTRE
            half = _WHEEL * _RIM
            room = (x - half, y - half), (x + half, y + half)
            places.append(Outline(f"{who} {end} wheel", "wheel", _round(x, y, _WHEEL), room))
            rims.append(_round(x, y, half))
    return PlanView(
        places=tuple(places),
        rims=tuple(rims),
        upper=f"{upper} side",
        lower=f"{lower} side",
        middle=sum(found.axles) / 2,
    )


def _along(row: _Row, upper: str, lower: str) -> Iterable[Outline]:
    begin = 0.0
    for name, end in row:
        x0, x1 = begin + _JOINT, end - _JOINT
        begin = end
        y = _MIDDLE
        if name == "barn doors":
            for who, y0, y1, cut in ((upper, -y, -_JOINT, "B"), (lower, _JOINT, y, "C")):
                corners = _box(x0, y0, x1, y1, 2, cut)
                yield Outline(f"{who} barn door", "panel", corners, ((x0, y0), (x1, y1)))
            continue
        if "bumper" in name:
            y = _BUMPER
            corners = _box(x0, -y, x1, y, 3, "AD" if name.startswith("front") else "BC")
        elif name == "windscreen":
            corners = ((x0, -y), (x1, 2.5 - y), (x1, y - 2.5), (x0, y))
        elif name == "rear glass":
            corners = ((x0, 2.5 - y), (x1, -y), (x1, y), (x0, y - 2.5))
        else:
            which = {"bonnet": "AD", "bed": ""}.get(name, "ABCD")
            corners = _box(x0, -y, x1, y, 2.5 if name == "bonnet" else 1.5, which)
        kind: PlaceKind = "bed" if name == "bed" else "panel"
        if name in ("windscreen", "rear glass"):
            kind = "glass"
        yield Outline(name, kind, corners, ((x0, -y), (x1, y)))


def _side(who: str, found: _Lengths, up: int) -> Iterable[Outline]:
    """The panels of one side, reckoned as if it were the lower one and then turned up."""
    row = found.passenger if who == "passenger" else found.driver
    begin = _SIDE_FRONT
    for index, (name, end) in enumerate(row):
        x0, x1 = begin + _JOINT, end - _JOINT
        begin = end
        cut = ("A" if index == 0 else "") + ("B" if index == len(row) - 1 else "")
        arches = [x for x in found.axles if x0 < x < x1]
        corners = _box(x0, _SIDE_IN, x1, _SIDE_OUT, 2.5, cut)
        low = _SIDE_OUT - (_ARCH_HEIGHT if arches else 0)
        yield _laid(f"{who} {name}", "panel", _arched(corners, arches), (x0, _SIDE_IN, x1, low), up)
    if found.glass is None:
        return
    x0, x1 = found.axles[0] + _ARCH + 0.6, found.axles[1] - _ARCH - 0.6
    corners = _box(x0, _SILL_IN, x1, HALF_HEIGHT, 1.2, "CD")
    yield _laid(f"{who} sill", "panel", corners, (x0, _SILL_IN, x1, HALF_HEIGHT), up)
    x0, x1 = found.glass
    corners = ((x0, _GLASS_OUT), (x0 + 4, _GLASS_IN), (x1 - 3, _GLASS_IN), (x1, _GLASS_OUT))
    yield _laid(f"{who} side glass", "glass", corners, (x0 + 4, _GLASS_IN, x1 - 3, _GLASS_OUT), up)
    x0, x1 = x0 - 0.8 - _MIRROR, x0 - 0.8
    corners = _box(x0, _GLASS_IN, x1, _GLASS_OUT, 1.2, "A")
    yield _laid(f"{who} mirror", "panel", corners, (x0, _GLASS_IN, x1, _GLASS_OUT), up)


def _laid(
    name: str,
    kind: PlaceKind,
    corners: Iterable[Point],
    room: tuple[float, float, float, float],
    up: int,
) -> Outline:
    x0, y0, x1, y1 = room
    y0, y1 = sorted((y0 * up, y1 * up))
    return Outline(name, kind, tuple((x, y * up) for x, y in corners), ((x0, y0), (x1, y1)))


def _box(x0: float, y0: float, x1: float, y1: float, cut: float, corners: str) -> tuple[Point, ...]:
    """A rectangle whose named corners are cut: A at (x0, y0), then round by way of (x1, y0)."""
    found: list[Point] = []
    found += [(x0, y0 + cut), (x0 + cut, y0)] if "A" in corners else [(x0, y0)]
    found += [(x1 - cut, y0), (x1, y0 + cut)] if "B" in corners else [(x1, y0)]
    found += [(x1, y1 - cut), (x1 - cut, y1)] if "C" in corners else [(x1, y1)]
    found += [(x0 + cut, y1), (x0, y1 - cut)] if "D" in corners else [(x0, y1)]
    return tuple(found)


def _arched(corners: tuple[Point, ...], wheels: Iterable[float]) -> tuple[Point, ...]:
    """A side panel with an arch for each wheel; its last side but one is the outer edge."""
    *others, last = corners
    arches: list[Point] = []
    top, half = _SIDE_OUT - _ARCH_HEIGHT, _ARCH
    for x in sorted(wheels, reverse=True):
        arches += [
            (x + half, _SIDE_OUT),
            (x + half, top + _ARCH_CUT),
            (x + half - _ARCH_CUT, top),
            (x - half + _ARCH_CUT, top),
            (x - half, top + _ARCH_CUT),
            (x - half, _SIDE_OUT),
        ]
    return (*others, *arches, last)


def _round(x: float, y: float, radius: float) -> tuple[Point, ...]:
    """A circle as a medium without circles draws it."""
    turns = (2 * pi * part / 32 for part in range(32))
    return tuple((round(x + radius * cos(t), 3), round(y + radius * sin(t), 3)) for t in turns)
