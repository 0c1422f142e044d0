"""Panel names in large letters: as whole as there is room for, and never two alike."""

from __future__ import annotations

from itertools import combinations

import pytest

from cartclock.engine.plan.shapes import SHAPES, shape_sections
from cartclock.engine.vehicle.short_names import PANELS, short_names


@pytest.mark.parametrize(
    ("name", "forms"),
    [
        ("passenger front wing", ("P FRONT WING", "P WING")),
        ("driver rear door", ("D REAR DOOR", "D R DOOR", "DR DOOR")),
        ("roof rear right", ("ROOF REAR RIGHT", "ROOF RR")),
        (
            "driver front door lower",
            ("D FRONT DOOR LOWER", "D FRONT DOOR LOW", "D F DOOR LOW", "D F DOOR L", "DF DOOR L"),
        ),
        (
            "tailgate lower left",
            ("TAILGATE LOWER LEFT", "TAILGATE LOW LEFT", "TAILGATE LL", "TAIL LL"),
        ),
        ("passenger sliding door", ("P SLIDING DOOR", "P SLIDE")),
        (
            "front bumper middle",
            ("FRONT BUMPER MIDDLE", "FRONT BUMPER MID", "F BUMPER MID", "F BUMPER M", "F BUMP M"),
        ),
        ("whole vehicle", ("WHOLE VEHICLE", "WHOLE")),
        (
            "bonnet and passenger side",
            ("BONNET AND P SIDE", "BONNET + P SIDE", "BONN + P SIDE", "BONN+P SIDE"),
        ),
        ("rear and bumpers", ("REAR AND BUMPERS", "REAR + BUMPERS", "REAR+BUMPERS")),
        (
            "lower doors and sills",
            (
                "LOWER DOORS AND SILLS",
                "LOWER DOORS + SILLS",
                "LOW DOORS + SILLS",
                "LOW DOORS+SILLS",
            ),
        ),
        ("", ("",)),
    ],
)
def test_a_name_is_shortened_word_by_word(name: str, forms: tuple[str, ...]) -> None:
    assert short_names(name) == forms


def sections(shape: str, count: int) -> tuple[str, ...]:
    """Every panel of a body cut into so many pieces."""
    panels, _panel_of = shape_sections(shape)
    return shape_sections(shape, dict.fromkeys(panels, count))[0]


@pytest.mark.parametrize("shape", SHAPES)
def test_no_two_sections_of_a_body_read_alike_at_any_length(shape: str) -> None:
    names = set(sections(shape, 1))
    for pieces in (2, 3, 4):
        names |= set(sections(shape, pieces))
    assert len(names) > 40
    for one, other in combinations(sorted(names), 2):
        both = set(short_names(one)) & set(short_names(other))
        assert not both, (one, other, both)


@pytest.mark.parametrize("shape", SHAPES)
def test_the_side_and_the_piece_are_never_lost(shape: str) -> None:
    for name in sections(shape, 2):
        whole, shortest = short_names(name)[0].split(), short_names(name)[-1].split()
        if name.startswith(("passenger", "driver")):
            assert all(form[0] in "PD" for form in short_names(name))
        if whole[-1].lower() not in PANELS:
            assert shortest[-1][0] == whole[-1][0], name


@pytest.mark.parametrize("shape", SHAPES)
def test_front_right_and_rear_right_never_stand_before_a_panel(shape: str) -> None:
    for pieces in (2, 3, 4):
        for name in sections(shape, pieces):
            for form in short_names(name):
                assert not {"FR", "RR"} & set(form.split()[:-1]), form
