"""What becomes of the themes where colours are few or none."""

from __future__ import annotations

import pytest
from rich.color import ColorSystem
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from textual.color import Color

from cartclock.tui.palettes import FIELDS, GROUNDS, PAIRS, PALETTES, SHADE
from cartclock.tui.terminal.colours import depth, sixteen, terminal_colours, uncoloured
from cartclock.tui.terminal.filters import NoColours, Sixteen

GROUND = Color(0, 0, 0)
SYSTEMS = {
    ColorSystem.STANDARD: "standard",
    ColorSystem.EIGHT_BIT: "256",
    ColorSystem.TRUECOLOR: "truecolor",
}


def styled(text: str, ground: str, bold: bool = False) -> Style:
    """A style of the theme `shade` by its tokens."""
    return Style(color=SHADE[text], bgcolor=SHADE[ground], bold=bold)


@pytest.mark.parametrize(
    ("environ", "colours"),
    [
        ({"TERM": "xterm-256color"}, "many"),
        ({"TERM": "tmux-256color"}, "many"),
        ({"TERM": "xterm-kitty"}, "many"),
        ({"TERM": "xterm", "COLORTERM": "truecolor"}, "many"),
        ({"TERM": "xterm"}, "sixteen"),
        ({"TERM": "linux"}, "sixteen"),
        ({"TERM": "nobody-knows-it"}, "sixteen"),
        ({"TERM": "xterm-256color", "NO_COLOR": "1"}, "none"),
        ({"TERM": "xterm-256color", "NO_COLOR": "0"}, "none"),
        ({"TERM": "xterm-256color", "NO_COLOR": " "}, "none"),
        ({"TERM": "xterm", "COLORTERM": "truecolor", "NO_COLOR": "no"}, "none"),
        # no-color.org: "when present and not an empty string (regardless of its value)".
        ({"TERM": "xterm-256color", "NO_COLOR": ""}, "many"),
    ],
    ids=str,
)
def test_what_the_environment_says(environ: dict[str, str], colours: str) -> None:
    assert terminal_colours(environ) == colours
    # Rich, whose console the screen library writes by, with what it makes of an empty NO_COLOR.
    console = Console(force_terminal=True, legacy_windows=False, _environ=environ)
    assert console.color_system == SYSTEMS[depth(environ)]


@pytest.mark.parametrize(("text", "ground"), [(text, ground) for text, ground, _ in PAIRS])
def test_without_colour_a_field_is_reversed_and_the_page_is_not(text: str, ground: str) -> None:
    shown = uncoloured(styled(text, ground, bold=True))
    assert shown.color is None
    assert shown.bgcolor is None
    assert shown.bold
    assert bool(shown.reverse) is (ground not in GROUNDS)


@pytest.mark.parametrize("field", FIELDS)
def test_without_colour_a_field_turned_round_is_turned_round(field: str) -> None:
    turned = uncoloured(styled(f"{field}-field", f"{field}-ink"))
    assert not turned.reverse
    assert uncoloured(styled(f"{field}-ink", f"{field}-field")).reverse


def test_without_colour_a_cursor_in_reverse_stays_one() -> None:
    assert uncoloured(styled("ink", "background") + Style(reverse=True)).reverse
    assert uncoloured(Style(reverse=True)).reverse
    assert not uncoloured(Style()).reverse


def test_without_colour_every_segment_keeps_its_text() -> None:
    segments = [Segment("a", styled("late-ink", "late-field")), Segment("b"), Segment(" ")]
    found = NoColours().apply(segments, GROUND)
    assert [segment.text for segment in found] == ["a", "b", " "]
    assert found[1].style is None


@pytest.mark.parametrize("theme", PALETTES)
def test_what_is_bold_is_not_drawn_in_bright_black(theme: str) -> None:
    """xterm's `boldColors`, and the Linux console: bold shows colours 0 to 7 as 8 to 15."""
    variables = PALETTES[theme]
    for text, ground, _ in PAIRS:
        for shown in sixteen(Style(color=variables[text], bgcolor=variables[ground], bold=True)):
            assert shown.color is not None
            assert not (shown.bold and shown.color.number == 0), (text, ground)


def test_words_stand_on_a_ground_of_their_own_where_no_ink_can_be_read() -> None:
    late = styled("late-ink", "late-field")
    shown, blank = sixteen(late)
    found = Sixteen().apply([Segment("  IT IS LATE ", late), Segment("   ", late)], GROUND)
    assert found == [
        Segment("  ", blank),
        Segment("IT IS LATE", shown),
        Segment(" ", blank),
        Segment("   ", blank),
    ]
    grounds = [style.bgcolor.number for style in (shown, blank) if style.bgcolor]
    # ECMA-48: 0 is black, 1 is red.
    assert grounds == [0, 1]


def test_large_letters_stand_on_the_field_itself() -> None:
    """xterm's red, 205 of 255, gives white 5.9:1; WCAG 2.1, SC 1.4.6 asks 4.5:1 of large text."""
    late = styled("late-ink", "late-field")
    (found,) = Sixteen().apply([Segment("  \u2588\u2588\u2580 \u2584", late)], GROUND)
    assert found.style is not None
    assert found.style.color is not None
    assert found.style.bgcolor is not None
    assert (found.style.color.number, found.style.bgcolor.number) == (15, 1)


def test_words_that_can_be_read_keep_their_segment() -> None:
    wait = styled("wait-ink", "wait-field")
    assert [one.text for one in Sixteen().apply([Segment(" 3:20 ", wait)], GROUND)] == [" 3:20 "]


def test_a_faint_rule_stays_faint() -> None:
    rule = Style(color=SHADE["rule"], bgcolor=SHADE["background"])
    shown, blank = sixteen(rule)
    assert shown.color is not None
    assert shown.color.number == 8
    assert shown.bgcolor == blank.bgcolor
