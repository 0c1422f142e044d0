"""The files of the pages: their words and scripts lie beside this file, colours and letters are
those of the cart's screen.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files

from cartclock.engine.alphabet import DOWN, KNOWN, SETTINGS, UP, in_blocks, measured
from cartclock.tui.face.grounds import GROUNDS
from cartclock.tui.palettes import PALETTES
from cartclock.tui.show.follow import CART
from cartclock.tui.show.server import File

# The largest letters there are, from the widest setting to the narrowest.
LETTERS = max(SETTINGS)


@cache
def page_files(page: str) -> Mapping[str, File]:
    """The files of a page by name, of what the page is of."""
    name = CART if page == CART else "customer"
    script = _text("heard.js") + (_letters() + _text("letters.js") if page == CART else "")
    return {
        "": File("text/html; charset=utf-8", _text(f"{name}.html").encode()),
        "page.css": File("text/css; charset=utf-8", (_colours() + _text("page.css")).encode()),
        "page.js": File("text/javascript; charset=utf-8", (script + _text(f"{name}.js")).encode()),
    }


def _text(name: str) -> str:
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


def _colours() -> str:
    """Ground and ink of every state, in the dark and in the light."""
    dark, light = (_fields(PALETTES[name]) for name in ("shade", "sun"))
    return f"{dark}@media (prefers-color-scheme: light) {{\n{light}}}\n"


def _fields(palette: Mapping[str, str]) -> str:
    found = []
    for name, tokens in GROUNDS.items():
        ground, ink, faint = (palette[token] for token in tokens)
        colours = f"--ground: {ground}; --ink: {ink}; --faint: {faint};"
        found.append(f'[data-field="{name}"] {{ {colours} }}\n')
    return "".join(found)


def _letters() -> str:
    """Every letter as a path, in points, for each setting of the largest letters."""
    settings = [
        {
            "gap": gap,
            "zero": measured("0", LETTERS, width, gap),
            "of": {
                char: [measured(char, LETTERS, width, gap), _path(char, width, gap)]
                for char in sorted(KNOWN)
            },
        }
        for width, gap in SETTINGS[LETTERS]
    ]
    told = {"height": LETTERS, "down": DOWN, "up": UP, "settings": settings}
    return f"const LETTERS = {json.dumps(told, separators=(',', ':'))};\n"


def _path(char: str, width: int, gap: int) -> str:
    """A letter as the path of its strokes, line by line: W3C SVG, path data."""
    return "".join(
        f"M{x} {y}h{long}v1h-{long}z" for x, y, long in _runs(in_blocks(char, LETTERS, width, gap))
    )


def _runs(rows: tuple[str, ...]) -> Iterator[tuple[int, int, int]]:
    """Column, line and length of every run of points."""
    for y, row in enumerate(rows):
        for half, full in enumerate(("▀█", "▄█")):
            start = None
            for x, cell in enumerate(f"{row} "):
                if cell in full and start is None:
                    start = x
                elif cell not in full and start is not None:
                    yield start, 2 * y + half, x - start
                    start = None
