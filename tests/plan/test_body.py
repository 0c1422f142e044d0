"""Section lists from body shapes. Panels and their order: common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.plan.shapes import (
    MOST_PIECES,
    SHAPES,
    effort_by_body,
    panel_order,
    panels_called,
    pieces,
    shape_sections,
)

CP = "common practice, no source"


def test_shapes_are_the_seven_the_plan_file_knows() -> None:
    assert SHAPES == ("hatchback", "saloon", "estate", "coupe", "SUV", "pickup", "van")


@pytest.mark.parametrize(
    ("shape", "has", "lacks"),
    [
        ("hatchback", "tailgate", "boot lid"),
        ("saloon", "boot lid", "tailgate"),
        ("estate", "passenger rear door", "boot lid"),
        ("coupe", "driver door", "driver rear door"),
        ("SUV", "tailgate", "passenger bed side"),
        ("pickup", "passenger bed side", "passenger rear quarter"),
        ("van", "passenger sliding door", "driver sliding door"),
    ],
    ids=lambda value: f"{value} ({CP})",
)
def test_a_shape_has_its_own_panels(shape: str, has: str, lacks: str) -> None:
    panels = panel_order(shape)
    assert has in panels
    assert lacks not in panels


@pytest.mark.parametrize("shape", SHAPES)
def test_both_sides_are_worked(shape: str) -> None:
    panels = panel_order(shape)
    sides = [sum(p.startswith(f"{side} ") for p in panels) for side in ("passenger", "driver")]
    assert sides[0] == sides[1] >= 5
    assert {"roof", "bonnet", "front bumper", "rear bumper"} <= set(panels)


def test_round_the_car_begins_where_it_is_told() -> None:
    assert panel_order("estate", "passenger front wing", round_car=True) == (
        "passenger front wing",
        "passenger mirror",
        "passenger front door",
        "passenger rear door",
        "passenger sill",
        "passenger rear quarter",
        "tailgate",
        "rear bumper",
        "driver rear quarter",
        "driver sill",
        "driver rear door",
        "driver front door",
        "driver mirror",
        "driver front wing",
        "front bumper",
        "roof",
        "bonnet",
    )


def test_top_down_ends_with_the_low_panels() -> None:
    panels = panel_order("saloon")
    assert panels[:3] == ("roof", "bonnet", "boot lid")
    assert panels[-4:] == ("passenger sill", "rear bumper", "driver sill", "front bumper")


def test_top_down_draws_the_first_panel_to_the_front() -> None:
    plain = panel_order("van")
    drawn = panel_order("van", "driver sill")
    assert drawn == ("driver sill", *(p for p in plain if p != "driver sill"))


@pytest.mark.parametrize(
    ("panel", "count", "names"),
    [
        ("bonnet", 1, ("bonnet",)),
        ("bonnet", 2, ("bonnet left", "bonnet right")),
        ("roof", 3, ("roof left", "roof middle", "roof right")),
        (
            "bonnet",
            4,
            ("bonnet front left", "bonnet front right", "bonnet rear left", "bonnet rear right"),
        ),
        ("driver door", 2, ("driver door upper", "driver door lower")),
        ("driver barn door", 2, ("driver barn door upper", "driver barn door lower")),
        ("rear bumper", 2, ("rear bumper left", "rear bumper right")),
        ("driver sill", 2, ("driver sill front", "driver sill rear")),
        ("driver sill", 4, tuple(f"driver sill {n}" for n in (1, 2, 3, 4))),
        ("roof", 5, tuple(f"roof {n}" for n in (1, 2, 3, 4, 5))),
    ],
    ids=lambda value: f"{value} ({CP})" if isinstance(value, str) else None,
)
def test_pieces_say_where_they_lie(panel: str, count: int, names: tuple[str, ...]) -> None:
    assert pieces(panel, count) == names


def test_a_split_names_a_panel_or_what_panels_share() -> None:
    sections, panels = shape_sections(
        "coupe", {"door": 2, "driver door": 3, "driver front wing": 3, "wing": 2}
    )
    assert "driver front wing middle" in sections
    assert "passenger front wing upper" in sections
    assert "passenger door upper" in sections
    assert "passenger door middle" not in sections
    assert "driver door middle" in sections
    assert panels["driver door middle"] == "driver door"
    assert "bonnet" not in panels


@pytest.mark.parametrize(
    ("shape", "split", "first", "word"),
    [
        ("sleigh", {}, "", "sleigh"),
        ("estate", {"fin": 2}, "", "fin"),
        ("estate", {}, "boot lid", "boot lid"),
        ("estate", {"roof": 0}, "", "0"),
        ("estate", {"roof": MOST_PIECES + 1}, "", str(MOST_PIECES + 1)),
        ("saloon", {"or": 2}, "", "or"),
    ],
)
def test_what_is_not_on_the_body_is_refused(
    shape: str, split: dict[str, int], first: str, word: str
) -> None:
    with pytest.raises(ValueError, match=word):
        shape_sections(shape, split, first)


PARTS = ("roof", "bonnet", "door", "wing", "sill", "bumper", "mirror")


@given(
    shape=st.sampled_from(SHAPES),
    # A sill splits on every body; "door" and "wing" name several panels at once.
    split=st.dictionaries(st.sampled_from(PARTS), st.integers(1, MOST_PIECES)),
    round_car=st.booleans(),
    data=st.data(),
)
def test_sections_are_unique_and_keep_the_order_of_their_panels(
    shape: str, split: dict[str, int], round_car: bool, data: st.DataObject
) -> None:
    first = data.draw(st.sampled_from(("", *panel_order(shape))))
    sections, panels = shape_sections(shape, split, first, round_car)
    assert len(set(sections)) == len(sections)
    assert set(panels) <= set(sections)
    walked = tuple(dict.fromkeys(panels.get(section, section) for section in sections))
    assert walked == panel_order(shape, first, round_car)
    assert sorted(walked) == sorted(panel_order(shape))
    if first:
        assert panels.get(sections[0], sections[0]) == first


def test_low_panels_are_one_effort_class_up() -> None:
    sections, panels = shape_sections("estate", {"door": 2})
    assert effort_by_body("estate", sections, panels, "moderate") == dict.fromkeys(
        (
            "passenger front door lower",
            "passenger rear door lower",
            "driver front door lower",
            "driver rear door lower",
            "passenger sill",
            "driver sill",
            "front bumper",
            "rear bumper",
        ),
        "heavy",
    )


@pytest.mark.parametrize("shape", SHAPES)
def test_only_a_tall_body_has_an_overhead_roof(shape: str) -> None:
    sections, panels = shape_sections(shape, {"roof": 2})
    raised = effort_by_body(shape, sections, panels, "light")
    tall = shape in ("SUV", "pickup", "van")
    assert ("roof left" in raised) is tall
    assert set(raised.values()) == {"moderate"}


def test_nothing_is_harder_than_heavy() -> None:
    assert effort_by_body("van", *shape_sections("van"), "heavy") == {}


@pytest.mark.parametrize(
    ("shape", "name", "panels"),
    [
        ("van", "roof", "roof"),
        ("van", "roof and bonnet", "roof, bonnet"),
        ("van", "bonnet and roof rear left", "roof, bonnet"),
        ("van", "roof 11", "roof"),
        ("van", "barn doors", "passenger barn door, driver barn door"),
        ("hatchback", "passenger doors", "passenger front door, passenger rear door"),
        ("coupe", "driver wings", "driver front wing"),
        ("coupe", "upper doors", ""),
        ("van", "rear", "passenger barn door, driver barn door, rear bumper"),
        ("saloon", "rear", "boot lid, rear bumper"),
        ("estate", "rear and bumpers", "tailgate, rear bumper, front bumper"),
        ("saloon", "front", "front bumper"),
        ("coupe", "roof and glass", "roof"),
        ("coupe", "wheels", ""),
        ("coupe", "inside glass", ""),
        # How low, nobody told: words that may mean two things tell no panel.
        ("coupe", "passenger side low", ""),
        ("van", "passenger side front", ""),
    ],
    ids=lambda value: f"{value} ({CP})",
)
def test_panels_that_a_name_means(shape: str, name: str, panels: str) -> None:
    assert ", ".join(panels_called(name, shape)) == panels


@pytest.mark.parametrize("shape", SHAPES)
def test_sides_and_ends_and_the_top_are_the_whole_vehicle(shape: str) -> None:
    parts = ("passenger side", "driver side", "rear", "front", "roof", "bonnet")
    found = [panel for part in parts for panel in panels_called(part, shape)]
    assert sorted(found) == sorted(panels_called("whole vehicle", shape))
    assert panels_called(" and ".join(parts), shape) == panel_order(shape)
    for count in (1, 2, 3, 4, MOST_PIECES):
        for panel in panel_order(shape):
            assert all(panels_called(one, shape) == (panel,) for one in pieces(panel, count))
