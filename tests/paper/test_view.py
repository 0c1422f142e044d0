"""A vehicle from above on a paper: three media tell the same, in letters that can be read."""

from __future__ import annotations

import re

import pytest

from cartclock.engine.paper.page.html.medium import Html
from cartclock.engine.paper.page.html.style import STYLE
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.pdf.ink import BODY
from cartclock.engine.paper.page.pdf.medium import Pdf
from cartclock.engine.paper.page.pdf.view_pdf import DIM
from cartclock.engine.paper.page.text.medium import Text
from cartclock.engine.paper.page.view import NAME_PT, SIGN_PT, TONE_MOST, VehicleView
from cartclock.engine.paper.page.view_layout import CAPITAL, laid_out
from cartclock.engine.plan.shapes import SHAPES, panel_order
from cartclock.engine.vehicle.plan_view import HALF_HEIGHT, LEFT_EDGE, RIGHT_EDGE, plan_view
from cartclock.tui.terminal.colours import contrast
from tests.kit.pdf import Said, sheets
from tests.paper.test_text import HARD, STEERING

UNCOATED = ("front bumper", "roof", "rear bumper")
# W3C WCAG 2.1, SC 1.4.6: letters of usual size against their ground.
ENOUGH = 7.0


def coated(shape: str) -> VehicleView:
    """Two layers on all but three panels, and on one of them both a spot and two damages."""
    panels = [panel for panel in panel_order(shape) if panel not in UNCOATED]
    mirror = next(panel for panel in panels if panel.endswith("mirror"))
    return VehicleView(
        shape,
        "right",
        marks=dict.fromkeys(panels, "A2") | {panels[-1]: "A1"},
        tones=dict.fromkeys(panels, 1.0),
        damages=((mirror, "1"), (mirror, "2"), ("driver front wing", "3"), ("tow bar", "4")),
        spots=("bonnet",),
        key=(("A", "Coating"), ("1", f"{mirror}: scratch"), ("2", "cracked")),
    )


def put(medium: Medium, view: VehicleView) -> bytes:
    medium.begin("Scratch", False)
    medium.head(SheetHead("job 1", 0, "UTC"))
    medium.view(view)
    return medium.finished()


def test_in_text_it_is_said_in_words() -> None:
    view = coated("SUV")
    said = " ".join(put(Text(), view).decode().split())
    for words in ("A Coating", "A1 on driver sill", "T on bonnet", "3 on driver front wing"):
        assert words in said
    assert "4 on tow bar" in said and "2 cracked" in said
    # The key of "1" names its place, that of "2" does not.
    mirror = view.damages[0][0]
    assert f"1 {mirror}: scratch" in said and f"1 on {mirror}" not in said
    assert f"2 on {mirror}" in said
    alike = VehicleView("SUV", marks={p: "A2" for p in panel_order("SUV") if p not in UNCOATED})
    assert "A2  on all but front bumper, roof, rear bumper" in put(Text(), alike).decode()


def test_what_is_to_be_marked_by_hand_has_lines_in_text() -> None:
    text = put(Text(), VehicleView("van", empty=True)).decode()
    assert text.count("_" * 80) == 3
    assert "_" not in put(Text(), VehicleView("van")).decode()


def drawn(view: VehicleView, **kinds: float) -> list[Said]:
    (page,) = sheets(put(Pdf("A4", None, **kinds), view))
    return list(page.said)


@pytest.mark.parametrize("shape", SHAPES)
def test_every_sign_stands_in_its_panel_or_under_the_drawing(shape: str) -> None:
    view = coated(shape)
    wanted = list(view.marks.values())
    for size in (2.6, 3.4, 5.0):
        layout = laid_out(view, size, size, size, lambda text, bold: 0.7 * len(text))
        there = [one for one in layout.writings if one.bold and not one.tag]
        told = [one.text for one in there] + [sign for _place, sign in layout.untold]
        assert sorted(told) == sorted(wanted)
        for one in there:
            place = next(p for p in layout.plan.places if holds(p.room, one.x, one.y))
            assert view.marks[place.name] == one.text
            wide, high = 0.7 * len(one.text) * size, CAPITAL * size
            wide, high = (high, wide) if one.turned else (wide, high)
            for dx, dy in ((-wide, -high), (wide, high)):
                assert holds(place.room, one.x + dx / 2, one.y + dy / 2), place.name
        tags = {one.text for one in layout.writings if one.tag}
        assert tags == {"1 2", "3", "T"}


def holds(room: tuple[tuple[float, float], tuple[float, float]], x: float, y: float) -> bool:
    (x0, y0), (x1, y1) = room
    return x0 <= x <= x1 and y0 <= y <= y1


def test_pdf_and_html_say_what_the_text_says() -> None:
    view = coated("van")
    pdf = [said.text for said in drawn(view)]
    svg = put(Html(), view).decode()
    written = re.findall(r"<text[^>]*>([^<]*)</text>", svg)
    for told in (pdf, written):
        assert {"front", "driver side", "passenger side", "T", "1 2", "3", "A1", "A2"} <= set(told)
    assert {"A", "Coating", "cracked"} <= set(pdf)
    assert "<dt>2</dt><dd>cracked</dd>" in svg
    # Who does not see the drawing is told by its label, where no tone is.
    label = re.search(r'aria-label="([^"]*)"', svg)
    assert label is not None and "A1: on" in label[1] and "4: on tow bar" in label[1]


@pytest.mark.parametrize("body_pt", (BODY, 7.6))
def test_no_letter_is_smaller_than_it_may_be_however_small_the_others_are(body_pt: float) -> None:
    frame = {said.text for said in drawn(VehicleView(""), body_pt=body_pt)}
    named = VehicleView("estate", "left", names=True, empty=True)
    for view, least in ((coated("estate"), SIGN_PT), (named, NAME_PT)):
        sizes = [s.size for s in drawn(view, body_pt=body_pt) if s.text not in frame]
        assert len(sizes) > 10
        assert min(sizes) >= least - 0.01


@pytest.mark.parametrize("shape", SHAPES)
def test_a_drawing_to_be_marked_names_its_panels(shape: str) -> None:
    said = {one.text for one in drawn(VehicleView(shape, names=True, empty=True))}
    for panel in panel_order(shape):
        short = re.sub("^(passenger|driver) ", "", panel)
        assert short in said or set(short.split()) <= said, panel


def test_a_drawing_is_as_high_as_it_may_be_and_no_higher() -> None:
    """Its lower side's name stands under its upper side's by what it takes of 328 points."""
    for size in ("A4", "Letter"):
        pages = sheets(put(Pdf(size, None), VehicleView("SUV", "left")))  # type: ignore[arg-type]  # one of two words
        y = {said.text: said.y for said in pages[0].said}
        assert 300 < y["passenger side"] - y["driver side"] < 328


@pytest.mark.parametrize("typed", (*HARD, "<script>x</script>"))
def test_what_was_typed_steers_no_view(typed: str) -> None:
    view = VehicleView(
        "van", damages=(("roof", typed),), key=((typed, typed),), marks={"bonnet": typed}
    )
    html = put(Html(), view).decode()
    assert "<script" not in html and STEERING.search(html.replace("\n", "")) is None
    for line in put(Text(), view).decode().split("\n"):
        assert STEERING.search(line) is None
    for page in sheets(put(Pdf("A4", None), view)):
        assert all(STEERING.search(said.text) is None for said in page.said)


@pytest.mark.parametrize("name", ("Ζωή", "بهية", "žluť"))
def test_names_in_any_letters_are_set(name: str) -> None:
    view = VehicleView("van", key=(("1", f"roof: {name}"),), damages=(("roof", "1"),))
    (page,) = sheets(put(Pdf("A4", None), view))
    assert "could not be set" not in page.text
    assert name in put(Html(), view).decode() and name in put(Text(), view).decode()


def grey(ink: float) -> tuple[int, int, int]:
    return (round(255 * (1 - ink)),) * 3


def test_every_letter_keeps_its_contrast_on_every_ground() -> None:
    for ink in (0.0, TONE_MOST / 2, TONE_MOST, VehicleView("van", tones={"roof": 9.0}).ink("roof")):
        assert contrast((0, 0, 0), grey(ink)) >= ENOUGH
    assert contrast(grey(1 - DIM), grey(0)) >= ENOUGH


def test_a_dark_screen_keeps_the_contrast_of_signs() -> None:
    """SC 1.4.3: 4.5:1. The style sheet gives the two colours, the drawing how they are mixed."""
    for scheme in STYLE.split("prefers-color-scheme")[:2]:
        page, ink = (
            [int(found[1][at : at + 2], 16) for at in (0, 2, 4)]
            for found in (re.search(rf"--{name}: #(\w+)", scheme) for name in ("page", "ink"))
            if found
        )
        mixed = [round(TONE_MOST * i + (1 - TONE_MOST) * p) for i, p in zip(ink, page, strict=True)]
        assert contrast(tuple(ink), tuple(mixed)) >= 4.5  # type: ignore[arg-type]  # three numbers


def test_the_drawing_of_half_a_sheet_has_room_for_its_signs() -> None:
    """Two columns on a sheet leave about 248 points to each."""
    unit = 248 / (RIGHT_EDGE - LEFT_EDGE)
    assert 2 * HALF_HEIGHT * unit < 180
    for shape in SHAPES:
        view = VehicleView(shape, marks=dict.fromkeys(plan_view(shape).panels, "A2"))
        size = SIGN_PT / unit
        layout = laid_out(view, size, size, size, lambda text, bold: 0.74 * len(text))
        assert not layout.untold, (shape, layout.untold)
