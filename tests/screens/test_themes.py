"""Contrast of the two themes, in true colour and in what small palettes make of it."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import pytest
from rich.color import Color, ColorSystem
from rich.style import Style
from textual.app import App, ComposeResult
from textual.theme import Theme
from textual.widgets import DataTable, Input, Static

from cartclock.tui.palettes import FIELDS, PAIRS
from cartclock.tui.terminal.colours import sixteen
from cartclock.tui.themes import THEMES
from cartclock.tui.widgets.keyrow import KeyRow
from tests.kit.plans import WIPE
from tests.kit.stage import played

RGB = tuple[int, int, int]
RGBPart = tuple[float, float, float]


def luminance(colour: RGB) -> float:
    """Relative luminance, 0 to 1: W3C WCAG 2.1, definition of relative luminance."""
    parts = [part / 255 for part in colour]
    red, green, blue = (
        part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: RGB, other: RGB) -> float:
    """Contrast ratio, 1 to 21: W3C WCAG 2.1, definition of contrast ratio."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def true_colour(value: str) -> RGB:
    return Color.parse(value.lower()).get_truecolor()


def cube(value: str) -> RGB:
    """The colour after Rich has brought it down to the xterm palette of 256.

    The cube and the grey ramp are reckoned here (xterm 256colres.pl: levels 0, 95, 135, ... and
    greys 8, 18, ...; from memory), not taken from the library that is being checked.
    """
    number = Color.parse(value.lower()).downgrade(ColorSystem.EIGHT_BIT).number
    assert number is not None
    assert number >= 16
    if number >= 232:
        grey = 8 + 10 * (number - 232)
        return (grey, grey, grey)
    levels = [0, 95, 135, 175, 215, 255]
    red, rest = divmod(number - 16, 36)
    return (levels[red], levels[rest // 6], levels[rest % 6])


def vga(number: int) -> RGB:
    """One of 16 colours in the VGA text palette, that of the Linux console.

    Levels 0 and 170, plus 85 when bright, brown for dark yellow; from memory.
    """
    bright = 85 if number >= 8 else 0
    red, green, blue = (170 * (number >> bit & 1) + bright for bit in (0, 1, 2))
    return (170, 85, 0) if number == 3 else (red, green, blue)


def xterm(number: int) -> RGB:
    """One of 16 colours as xterm draws them (XTerm-col.ad): red3, blue2, gray90, gray50 and
    #5c5cff, and what is named like its number; from memory."""
    odd = {4: (0, 0, 238), 7: (229, 229, 229), 8: (127, 127, 127), 12: (92, 92, 255)}
    if number in odd:
        return odd[number]
    level = 255 if number >= 8 else 205
    red, green, blue = (level * (number >> bit & 1) for bit in (0, 1, 2))
    return (red, green, blue)


def each(shown: Callable[[str], RGB]) -> Callable[[str, str], tuple[RGB, RGB]]:
    """Ink and ground, each brought down by itself."""
    return lambda text, ground: (shown(text), shown(ground))


def numbered(drawn: Callable[[int], RGB]) -> Callable[[str, str], tuple[RGB, RGB]]:
    """Ink and ground as the program chooses their numbers, and a terminal draws them."""

    def pair(text: str, ground: str) -> tuple[RGB, RGB]:
        style, _ = sixteen(Style(color=text, bgcolor=ground))
        ink, behind = (colour.number for colour in (style.color, style.bgcolor) if colour)
        assert ink is not None
        assert behind is not None
        return drawn(ink), drawn(behind)

    return pair


PALETTES: dict[str, Callable[[str, str], tuple[RGB, RGB]]] = {
    "true colour": each(true_colour),
    "256 colours": each(cube),
    "16 colours, VGA": numbered(vga),
    "16 colours, xterm": numbered(xterm),
}


def field_in(palette: str, ink: str, ground: str) -> RGB:
    """What blank cells of a field are drawn in."""
    if palette in ("true colour", "256 colours"):
        return PALETTES[palette](ink, ground)[1]
    _, blank = sixteen(Style(color=ink, bgcolor=ground))
    assert blank.bgcolor is not None
    assert blank.bgcolor.number is not None
    return (vga if palette.endswith("VGA") else xterm)(blank.bgcolor.number)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ((0, 0, 0), (255, 255, 255), 21.0),
        ((255, 255, 255), (255, 255, 255), 1.0),
        ((119, 119, 119), (255, 255, 255), 4.48),
        ((118, 118, 118), (255, 255, 255), 4.54),
    ],
    ids=[
        "WCAG 2.1 contrast ratio: 21 at most",
        "WCAG 2.1 contrast ratio: 1 at least",
        "grey 777777 on white, from memory",
        "grey 767676 on white, from memory",
    ],
)
def test_contrast_formula(one: RGB, other: RGB, ratio: float) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.parametrize(
    ("text", "ground", "least"),
    PAIRS,
    ids=[
        f"{text} on {ground} (WCAG 2.1 SC {'1.4.6' if least == 7 else '1.4.3'})"
        for text, ground, least in PAIRS
    ],
)
def test_pairs_hold_their_contrast(
    theme: Theme, palette: str, text: str, ground: str, least: float
) -> None:
    ratio = contrast(*PALETTES[palette](theme.variables[text], theme.variables[ground]))
    assert ratio >= least


@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_fields_differ_from_each_other_and_from_the_ground(theme: Theme, palette: str) -> None:
    shown = {
        ground: field_in(palette, theme.variables[ink], theme.variables[ground])
        for ink, ground in (
            ("ink", "background"),
            *((f"{field}-ink", f"{field}-field") for field in FIELDS),
        )
    }
    for one, other in combinations(shown, 2):
        assert shown[one] != shown[other], (one, other)


Matrix = tuple[RGBPart, RGBPart, RGBPart]

# Machado, Oliveira and Fernandes 2009 (IEEE TVCG 15, 6), severity 1.0, on linear light; the
# figures are from memory. Each row sums to 1, so that greys stay what they are.
BLINDNESS: dict[str, Matrix] = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def seen_with(matrix: Matrix, colour: RGB) -> RGB:
    """The colour as somebody sees it for whom one kind of cone is missing.

    To linear light and back by IEC 61966-2-1 (sRGB); from memory.
    """
    light = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (value / 255 for value in colour)
    ]
    mixed = [sum(a * b for a, b in zip(row, light, strict=True)) for row in matrix]
    clipped = [min(1.0, max(0.0, part)) for part in mixed]
    back = [
        12.92 * part if part <= 0.0031308 else 1.055 * part ** (1 / 2.4) - 0.055 for part in clipped
    ]
    red, green, blue = (round(255 * part) for part in back)
    return (red, green, blue)


@pytest.mark.parametrize("kind", BLINDNESS)
def test_greys_stay_what_they_are_for_everybody(kind: str) -> None:
    for level in (0, 70, 148, 255):
        seen = seen_with(BLINDNESS[kind], (level, level, level))
        assert all(abs(part - level) <= 1 for part in seen)


def test_red_and_green_come_close_without_one_kind_of_cone() -> None:
    def apart(one: RGB, other: RGB) -> float:
        return sum((a - b) ** 2 for a, b in zip(one, other, strict=True)) ** 0.5

    red, green = (200, 80, 60), (120, 130, 60)
    for kind, least, most in (("deuteranopia", 0.0, 0.6), ("tritanopia", 0.8, 2.0)):
        seen = [seen_with(BLINDNESS[kind], colour) for colour in (red, green)]
        assert least < apart(*seen) / apart(red, green) < most, kind


# Colour carries nothing alone: whoever sees the fields alike reads the word on each.
@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.parametrize("kind", BLINDNESS)
def test_words_stand_out_for_the_colour_blind(kind: str, theme: Theme, palette: str) -> None:
    # Of 16 colours there is one dark blue, the terminal's own; without the cones for red, white
    # on that of xterm has 5.998:1.
    most = 5.99 if palette == "16 colours, xterm" else 7.0
    for text, ground, least in PAIRS:
        shown = PALETTES[palette](theme.variables[text], theme.variables[ground])
        one, other = (seen_with(BLINDNESS[kind], colour) for colour in shown)
        assert contrast(one, other) >= min(least, most), (text, ground)


def test_least_contrasts_are_those_of_the_levels_named() -> None:
    leasts = {text: least for text, _, least in PAIRS}
    assert leasts.pop("greyed") == 4.5
    assert set(leasts.values()) == {7.0}


def test_every_token_of_one_theme_is_in_the_other_and_every_text_is_paired() -> None:
    shade, sun = THEMES
    assert (shade.name, shade.dark) == ("shade", True)
    assert (sun.name, sun.dark) == ("sun", False)
    assert set(shade.variables) == set(sun.variables)
    paired = {text for text, _, _ in PAIRS}
    inks = {name for name in shade.variables if name.endswith("-ink")}
    assert inks | {"ink", "dim", "greyed"} == paired


class FieldsApp(App[None]):
    CSS = (
        "\n".join(
            f"#{field} {{ background: ${field}-field; color: ${field}-ink; }}" for field in FIELDS
        )
        + """
    #dim { background: $surface; color: $dim; }
    #text { background: $panel; color: $text; }
    #muted { background: $panel; color: $text-muted; }
    #disabled { background: $panel; color: $text-disabled; }
    """
    )

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.register_theme(theme)
        self.theme = theme.name

    def compose(self) -> ComposeResult:
        for name in (*FIELDS, "dim", "text", "muted", "disabled"):
            yield Static(name, id=name)
        yield Input("note")
        yield DataTable[str]()


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
async def test_tokens_reach_the_screen(theme: Theme) -> None:
    app = FieldsApp(theme)
    async with app.run_test(size=(40, 30)):
        for widget in app.query(Static):
            style = widget.rich_style
            assert style.color is not None
            assert style.bgcolor is not None
            ratio = contrast(style.color.get_truecolor(), style.bgcolor.get_truecolor())
            assert ratio >= (4.5 if widget.id == "disabled" else 7), widget.id
            if widget.id in FIELDS:
                field = theme.variables[f"{widget.id}-field"]
                assert style.bgcolor.get_truecolor() == true_colour(field)
        for kind, part in ((DataTable, "datatable--cursor"), (Input, "input--cursor")):
            style = app.query_one(kind).get_component_rich_style(part)
            assert style.color is not None
            assert style.bgcolor is not None
            ratio = contrast(style.color.get_truecolor(), style.bgcolor.get_truecolor())
            assert ratio >= 7, part


async def test_a_theme_that_is_turned_elsewhere_reaches_every_part(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        grounds = []
        for key in ("t", "l", "*", "t"):
            await play.press(key)
            row = play.screen.query_one(KeyRow)
            grounds.append(row.rich_style.bgcolor)
        assert grounds[0] == grounds[1] != grounds[2] == grounds[3]
