"""Plan views: every panel of a shape is drawn once, none over another, where it belongs.

Which panels a shape has, and on which side they lie, is common practice, no source.
"""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest

from cartclock.engine.plan.shapes import SHAPES, panel_order
from cartclock.engine.vehicle.plan_view import (
    HALF_HEIGHT,
    LEFT_EDGE,
    RIGHT_EDGE,
    Driver,
    Outline,
    Point,
    plan_view,
)

DRIVERS: tuple[Driver, ...] = ("left", "right", "")
SIDES = ("passenger side", "driver side")


@pytest.mark.parametrize("shape", SHAPES)
def test_every_panel_of_a_shape_is_drawn_exactly_once(shape: str) -> None:
    for driver in DRIVERS:
        view = plan_view(shape, driver)
        assert sorted(view.panels) == sorted(panel_order(shape))
        names = [place.name for place in view.places]
        assert len(names) == len(set(names))
        assert {view.upper, view.lower} == set(SIDES)


def test_a_vehicle_of_no_told_shape_has_five_sides_and_four_wheels() -> None:
    view = plan_view("")
    assert set(view.panels) == {"front", "top", "rear", *SIDES}
    assert len([place for place in view.places if place.kind == "wheel"]) == 4
    with pytest.raises(ValueError, match="no plan view of the shape 'boat'"):
        plan_view("boat")


def edges(place: Outline) -> list[tuple[Point, Point]]:
    return list(pairwise((*place.corners, place.corners[0])))


def turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def cross(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    (a, b), (c, d) = one, two
    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


def inside(point: Point, place: Outline) -> bool:
    x, y = point
    found = False
    for (x0, y0), (x1, y1) in edges(place):
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0):
            found = not found
    return found


def overlap(one: Outline, two: Outline) -> bool:
    """Outlines overlap if edges cross, or if a corner or the middle of one lies in the other."""
    if any(cross(a, b) for a in edges(one) for b in edges(two)):
        return True
    return any(
        inside(point, other)
        for place, other in ((one, two), (two, one))
        for point in (*place.corners, place.centre)
    )


def test_the_check_of_overlap_sees_one() -> None:
    def box(x: float, y: float, size: float) -> Outline:
        corners = ((x, y), (x + size, y), (x + size, y + size), (x, y + size))
        return Outline("", "panel", corners, ((x, y), (x + size, y + size)))

    assert overlap(box(0, 0, 4), box(3, 3, 4))
    assert overlap(box(0, 0, 4), box(1, 1, 1))
    assert overlap(box(0, 0, 4), box(0, 0, 4))
    assert not overlap(box(0, 0, 4), box(5, 0, 4))


@pytest.mark.parametrize("shape", ("", *SHAPES))
def test_no_place_lies_over_another_or_leaves_the_drawing(shape: str) -> None:
    places = plan_view(shape).places
    for one, two in combinations(places, 2):
        assert not overlap(one, two), (one.name, two.name)
    for place in places:
        for x, y in place.corners:
            assert LEFT_EDGE < x < RIGHT_EDGE and abs(y) <= HALF_HEIGHT, place.name
        # What is written in a place stands in it.
        assert inside(place.centre, place), place.name


@pytest.mark.parametrize("shape", ("", *SHAPES))
def test_the_sides_lie_as_the_driver_sits_and_the_front_is_at_the_left(shape: str) -> None:
    """The vehicle drives to the left of the page: its right side is the upper one."""
    for driver, upper in (("left", "passenger"), ("right", "driver"), ("", "passenger")):
        view = plan_view(shape, driver)
        assert view.upper == f"{upper} side"
        for place in view.places:
            side = place.name.split()[0]
            if side in ("passenger", "driver"):
                assert (place.centre[1] < 0) is (side == upper), place.name
        for who in ("passenger", "driver"):
            fore, aft = (view.place(f"{who} {end} wheel") for end in ("front", "rear"))
            assert fore is not None and aft is not None
            assert fore.centre[0] < view.middle < aft.centre[0]
    first, last = ("front", "rear") if not shape else ("front bumper", "rear bumper")
    along = [view.place(name) for name in (first, last)]
    assert along[0] is not None and along[1] is not None
    assert along[0].centre[0] < 10 < 90 < along[1].centre[0]
