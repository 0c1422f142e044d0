"""Which colours a terminal has, and what becomes of the themes where they are few.

A style is changed behind the widgets, so that no widget knows of it. Without colour a state is
told by its word, by bold and by its field turned round: ink and ground change places there. With
16 colours a pair is taken that can be read in both usual palettes, whatever number is nearest.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Literal

from rich.color import Color, ColorSystem
from rich.segment import Segment
from rich.style import Style

from cartclock.tui.palettes import GROUNDS, PAIRS, SHADE, TEXT_CONTRAST

Colours = Literal["none", "sixteen", "many"]
RGB = tuple[int, int, int]

# What terminals draw the 16 numbers in: the VGA text palette, which the Linux console and the
# screen library go by, and that of xterm (XTerm-col.ad). Both from memory.
VGA: tuple[RGB, ...] = (
    (0, 0, 0), (170, 0, 0), (0, 170, 0), (170, 85, 0),
    (0, 0, 170), (170, 0, 170), (0, 170, 170), (170, 170, 170),
    (85, 85, 85), (255, 85, 85), (85, 255, 85), (255, 255, 85),
    (85, 85, 255), (255, 85, 255), (85, 255, 255), (255, 255, 255),
)  # fmt: skip
XTERM: tuple[RGB, ...] = (
    (0, 0, 0), (205, 0, 0), (0, 205, 0), (205, 205, 0),
    (0, 0, 238), (205, 0, 205), (0, 205, 205), (229, 229, 229),
    (127, 127, 127), (255, 0, 0), (0, 255, 0), (255, 255, 0),
    (92, 92, 255), (255, 0, 255), (0, 255, 255), (255, 255, 255),
)  # fmt: skip
BLACK, WHITE = 0, 15
LARGE_CONTRAST = 4.5
"""Least contrast of letters drawn of blocks: W3C WCAG 2.1, SC 1.4.6 for large-scale text."""
# Block elements, U+2580 to U+259F, and the blank.
_BLOCKS = frozenset({" ", *map(chr, range(0x2580, 0x25A0))})


def terminal_colours(environ: Mapping[str, str]) -> Colours:
    """What the environment says the terminal has.

    `NO_COLOR` with any text in it asks for none (no-color.org); a terminal that the system's own
    table (terminfo) says has none gets none either.
    """
    term = environ.get("TERM", "")
    if environ.get("NO_COLOR"):
        return "none"
    if depth(environ) is not ColorSystem.STANDARD:
        return "many"
    return "none" if _is_plain(term) else "sixteen"


def depth(environ: Mapping[str, str]) -> ColorSystem:
    """How many colours the terminal is written to in, as the screen library finds it: of the
    16, the 256 or all.
    """
    if sys.platform == "win32":
        return ColorSystem.TRUECOLOR
    if environ.get("COLORTERM", "").strip().lower() in ("truecolor", "24bit"):
        return ColorSystem.TRUECOLOR
    family = environ.get("TERM", "").strip().lower().rpartition("-")[2]
    return ColorSystem.EIGHT_BIT if family in ("256color", "kitty") else ColorSystem.STANDARD


def _is_plain(term: str) -> bool:
    """Whether the system knows a terminal of this name, and that it has no colours."""
    try:
        import curses
    except ImportError:
        return False
    try:
        # Standard output may be anything; only the table is looked into.
        curses.setupterm(term, 1)
        return curses.tigetnum("colors") < 8
    except curses.error:
        return False


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


def _worst(ink: int, ground: int) -> float:
    """The lesser of the contrasts that two of the 16 numbers have in the two palettes."""
    return min(contrast(palette[ink], palette[ground]) for palette in (VGA, XTERM))


def _nearest(colour: Color) -> int:
    number = colour.downgrade(ColorSystem.STANDARD).number
    assert number is not None
    return number


@lru_cache(maxsize=256)
def sixteen(style: Style, least: float = TEXT_CONTRAST) -> tuple[Style, Style]:
    """A style in 16 colours: that of cells with something in them, and that of blank ones.

    least: contrast of what stands in them, 1 to 9.

    Returns:
        Two styles. Their grounds differ where no ink has the least on the number of the ground, as
        on xterm's red: the words then stand in black and white within the colour.
    """
    if style.color is None or style.bgcolor is None:
        return style, style
    ground, ink = _nearest(style.bgcolor), _nearest(style.color)
    blank = style + Style(bgcolor=Color.from_ansi(ground))
    behind = ground
    # What is not meant to be read, as a rule between two parts, keeps its own colour.
    if contrast(style.color.get_truecolor(), style.bgcolor.get_truecolor()) >= TEXT_CONTRAST / 2:
        if _worst(ink, ground) < least:
            ink = max((BLACK, WHITE), key=lambda number: _worst(number, ground))
        if _worst(ink, ground) < least:
            behind = WHITE if ink == BLACK else BLACK
    # Many terminals draw bold in the bright one of two numbers, and bright black is a grey.
    bold = bool(style.bold) and ink != BLACK
    shown = style + Style(color=Color.from_ansi(ink), bgcolor=Color.from_ansi(behind), bold=bold)
    return shown, blank + Style(color=Color.from_ansi(ink), bold=bold)


def _value(name: str) -> str:
    return SHADE[name].lower()


_CALM = frozenset(_value(ground) for ground in GROUNDS)
# A field whose ink and ground have changed places already, for the signal that is seen.
_TURNED = frozenset(
    (_value(ground), _value(text)) for text, ground, _ in PAIRS if ground not in GROUNDS
)


@lru_cache(maxsize=256)
def uncoloured(style: Style) -> Style:
    """A style of the theme `shade` without colour; what is no ground of the page is reversed."""
    ink, ground = _hex(style.color), _hex(style.bgcolor)
    field = ground != "" and ground not in _CALM and (ink, ground) not in _TURNED
    return style.without_color + Style(reverse=bool(style.reverse) != field)


def _hex(colour: Color | None) -> str:
    if colour is None or colour.is_default:
        return ""
    return colour.get_truecolor().hex.lower()


def without_colours(segments: Iterable[Segment]) -> list[Segment]:
    """The segments without their colours."""
    return [
        Segment(text, None if style is None else uncoloured(style)) for text, style, _ in segments
    ]


def in_sixteen(segments: Iterable[Segment]) -> list[Segment]:
    """The segments in colours by number, blanks around a text on its field."""
    found: list[Segment] = []
    for text, style, _ in segments:
        if style is None:
            found.append(Segment(text))
            continue
        drawn = _BLOCKS.issuperset(text)
        shown, blank = sixteen(style, LARGE_CONTRAST if drawn else TEXT_CONTRAST)
        if shown == blank:
            found.append(Segment(text, shown))
            continue
        core = text.strip()
        if not core:
            found.append(Segment(text, blank))
            continue
        begin = text.index(core)
        parts = (
            (text[:begin], blank), (core, shown), (text[begin + len(core) :], blank),
        )  # fmt: skip
        found += [Segment(part, style) for part, style in parts if part]
    return found


def few(segments: Iterable[Segment], colours: Colours) -> list[Segment]:
    """The segments in the colours that the terminal has."""
    match colours:
        case "none":
            return without_colours(segments)
        case "sixteen":
            return in_sixteen(segments)
        case "many":
            return list(segments)
