"""The grounds in the colours of a theme: a colour, the ink on it, and a fainter ink."""

from __future__ import annotations

from collections.abc import Mapping

from cartclock.tui.face.canvas import Ground, Look

GROUNDS: dict[Ground, tuple[str, str, str]] = {
    "page": ("background", "ink", "dim"),
    "plain": ("background", "ink", "dim"),
    "band": ("panel", "ink", "dim"),
    "off": ("surface", "ink", "dim"),
    "wait": ("wait-field", "wait-ink", "wait-ink"),
    "ready": ("ready-field", "ready-ink", "ready-ink"),
    "late": ("late-field", "late-ink", "late-ink"),
    "soon": ("caution-field", "caution-ink", "caution-ink"),
    "rest": ("caution-field", "caution-ink", "caution-ink"),
    "break": ("rest-field", "rest-ink", "rest-ink"),
    "back": ("cursor-field", "cursor-ink", "cursor-ink"),
    "ask": ("cursor-field", "cursor-ink", "cursor-ink"),
    "cursor": ("cursor-field", "cursor-ink", "cursor-ink"),
}
"""Ground -> names of a theme's colours: of the ground, of its ink, of its fainter ink."""


def inks(look: Look, palette: Mapping[str, str], turned: bool = False) -> tuple[str, str]:
    """The colours of a cell, in front and behind.

    Args:
        look: of the cell.
        palette: name -> colour.
        turned: ink and ground change places; fainter words stand on the one ground of all, for
            each on its own would be a box.
    """
    ground, ink, faint = (palette[name] for name in GROUNDS[look.ground])
    if turned:
        return ground, ink
    return (faint if look.dim else ink), ground
