"""Two palettes of our own: `shade` for a garage or a dark screen, `sun` for a screen in the sun.

A state is a whole field with a colour of its own and the text colour that goes with it. Every
pair in `PAIRS` holds its contrast in true colour and after the screen library has brought it
down to 256 and to 16 colours; that is why the colours lie close to those palettes. Contrast is
that of WCAG 2.1 (SC 1.4.6: 7:1 for text). Colour carries nothing alone: each state says its word.
"""

from __future__ import annotations

from collections.abc import Mapping

TEXT_CONTRAST = 7.0
"""Least contrast of text: W3C WCAG 2.1, SC 1.4.6 (level AAA)."""

GREYED_CONTRAST = 4.5
"""Least contrast of a key that cannot work now: W3C WCAG 2.1, SC 1.4.3 (level AA).

The criterion exempts inactive controls; a greyed key is still read here from the cart."""

GROUNDS = ("background", "surface", "panel")
FIELDS = ("wait", "ready", "late", "rest", "caution")

PAIRS: tuple[tuple[str, str, float], ...] = (
    *((text, ground, TEXT_CONTRAST) for text in ("ink", "dim") for ground in GROUNDS),
    *(("greyed", ground, GREYED_CONTRAST) for ground in GROUNDS),
    *((f"{field}-ink", f"{field}-field", TEXT_CONTRAST) for field in FIELDS),
    ("cursor-ink", "cursor-field", TEXT_CONTRAST),
)
"""(text token, background token, least contrast) for every pair that screens may use."""

Palette = Mapping[str, str]
"""Token -> colour, as #RRGGBB."""

SHADE: Palette = {
    "background": "#0C0E10",
    "surface": "#14171A",
    "panel": "#1C2024",
    "ink": "#F4F4F0",
    "dim": "#B4B8BC",
    "greyed": "#949494",
    "rule": "#5A6066",
    "wait-field": "#0C2494",
    "wait-ink": "#FFFFFF",
    "ready-field": "#5FF087",
    "ready-ink": "#000000",
    "late-field": "#9A0000",
    "late-ink": "#FFFFFF",
    "rest-field": "#6FE6FF",
    "rest-ink": "#000000",
    "caution-field": "#FFE04A",
    "caution-ink": "#000000",
    "cursor-field": "#F4F4F0",
    "cursor-ink": "#000000",
}
"""Dark, for a garage or the evening."""

SUN: Palette = {
    "background": "#FFFFFF",
    "surface": "#F6F6F4",
    "panel": "#EAEAE6",
    "ink": "#000000",
    "dim": "#4A4A4A",
    "greyed": "#636363",
    "rule": "#7A7A7A",
    "wait-field": "#B4D2FF",
    "wait-ink": "#000000",
    "ready-field": "#4CE876",
    "ready-ink": "#000000",
    "late-field": "#9A0000",
    "late-ink": "#FFFFFF",
    "rest-field": "#5CE0FF",
    "rest-ink": "#000000",
    "caution-field": "#FFE04A",
    "caution-ink": "#000000",
    "cursor-field": "#000000",
    "cursor-ink": "#FFFFFF",
}
"""Light, for sun on the screen."""

PALETTES: Mapping[str, Palette] = {"shade": SHADE, "sun": SUN}
