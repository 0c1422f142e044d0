"""Letters in print: which font has one, how wide it is, where a line breaks, what is missing.

Three fonts come with the program. A letter that none of them has is looked for in the fonts
of this computer; a letter that is nowhere is set as a replacement character and remembered,
so that the paper can name it.
"""

from __future__ import annotations

import shutil
import subprocess
import unicodedata
from collections.abc import Callable, Iterable
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Literal

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from cartclock.engine.letters import inert, parted
from cartclock.engine.paper.page.pdf.right_to_left import visual

Style = Literal["regular", "bold", "mono"]
Search = Callable[[str], Iterable[Path]]

_OWN: dict[Style, str] = {
    "regular": "DejaVuSansCondensed",
    "bold": "DejaVuSansCondensed-Bold",
    "mono": "DejaVuSansMono",
}
REPLACEMENT = "\ufffd"
# Joiners and selectors of a picture's look: they ask for something, and are nothing to be seen.
_UNSEEN = frozenset([0x200C, 0x200D, *range(0xFE00, 0xFE10)])
_CONTROL_PICTURES = 0x2400
_SEARCH_S = 3.0

# Where fonts with many letters lie if nobody can be asked; names as the systems ship them.
_PLACES = tuple(
    Path(place)
    for place in (
        "/usr/share/fonts/truetype/droid/DroidSansFallbackFull.ttf",
        "/usr/share/fonts/truetype/wqy/wqy-zenhei.ttc",
        "/usr/share/fonts/truetype/freefont/FreeSans.ttf",
        "/Library/Fonts/Arial Unicode.ttf",
        "/System/Library/Fonts/Supplemental/Arial Unicode.ttf",
        "C:/Windows/Fonts/msyh.ttc",
        "C:/Windows/Fonts/msgothic.ttc",
        "C:/Windows/Fonts/malgun.ttf",
        "C:/Windows/Fonts/Nirmala.ttf",
        "C:/Windows/Fonts/seguisym.ttf",
        "C:/Windows/Fonts/arialuni.ttf",
    )
)


def fonts_of_this_computer(letter: str) -> list[Path]:
    """Font files that may have the letter, best first; none is no fault."""
    asked = shutil.which("fc-list")
    found: list[Path] = []
    if asked is not None:
        try:
            done = subprocess.run(
                [asked, f":charset={ord(letter):x}", "file"],
                capture_output=True,
                timeout=_SEARCH_S,
                check=False,
            )
            lines = done.stdout.decode("utf-8", "replace").splitlines()
            found = sorted(Path(line.strip().removesuffix(":")) for line in lines if line.strip())
        except (OSError, subprocess.TimeoutExpired):
            found = []
    return [*found, *(place for place in _PLACES if place.is_file())]


@lru_cache(maxsize=64)
def _font(name: str, path: Path | None) -> TTFont | None:
    """A font, known to the printer from then on; None if the file is not one of the right kind."""
    try:
        if path is None:
            with (files("cartclock.engine.paper.page") / "fonts" / f"{name}.ttf").open(
                "rb"
            ) as file:
                font = TTFont(name, file)
        else:
            font = TTFont(name, str(path))
    except (TTFError, OSError, ValueError, KeyError, IndexError):
        # Outlines of another kind, or a file that is no font at all.
        return None
    pdfmetrics.registerFont(font)
    return font


class Letters:
    """The letters of one paper.

    Args:
        search: gives the font files that may have a letter; None: no font but the program's own.
    """

    def __init__(self, search: Search | None = fonts_of_this_computer) -> None:
        self._search = search
        self._fonts: dict[tuple[str, Style], str | None] = {}
        self._widths: dict[tuple[str, Style], float] = {}
        self.missing: set[str] = set()

    def plain(self, text: str) -> str:
        """The text as it can be set: inert, composed, without what is nothing to be seen."""
        text = unicodedata.normalize("NFC", inert(text))
        return text if text.isascii() else "".join(c for c in text if ord(c) not in _UNSEEN)

    def runs(self, text: str, style: Style) -> list[tuple[str, str]]:
        """(font, text) of a plain line, in the order in which it is set from left to right."""
        found: list[tuple[str, str]] = []
        for letter in visual(text):
            font = self._font_of(letter, style)
            drawn = letter
            if font is None:
                font, drawn = _OWN[style], REPLACEMENT
            if found and found[-1][0] == font:
                found[-1] = (font, found[-1][1] + drawn)
            else:
                found.append((font, drawn))
        return found

    def width(self, text: str, style: Style, size: float) -> float:
        """How wide a plain line is, in points."""
        return size * sum(self._width(letter, style) for letter in text)

    def lines(self, text: str, width: float, style: Style, size: float) -> list[str]:
        """Plain lines of at most `width` points, at least one; long words are cut."""
        return self.hung(text, width, width, style, size)

    def hung(self, text: str, first: float, others: float, style: Style, size: float) -> list[str]:
        """The same with another width for the first line than for those after it."""
        return parted(self.plain(text), first, others, lambda piece: self.width(piece, style, size))

    def footnote(self) -> str:
        """Which letters could not be set; "" if all could."""
        if not self.missing:
            return ""
        codes = sorted({_code(letter) for letter in self.missing})
        count = "1 letter" if len(codes) == 1 else f"{len(codes)} letters"
        named = ", ".join(f"U+{code:04X}" for code in codes)
        return f"{count} could not be set: {named} ({REPLACEMENT} stands there instead)"

    def _width(self, letter: str, style: Style) -> float:
        key = letter, style
        if key not in self._widths:
            font = self._font_of(letter, style)
            drawn = REPLACEMENT if font is None else letter
            self._widths[key] = pdfmetrics.stringWidth(drawn, font or _OWN[style], 1.0)
        return self._widths[key]

    def _font_of(self, letter: str, style: Style) -> str | None:
        key = letter, style
        if key not in self._fonts:
            self._fonts[key] = self._sought(letter, style)
            if self._fonts[key] is None:
                self.missing.add(letter)
        return self._fonts[key]

    def _sought(self, letter: str, style: Style) -> str | None:
        own: tuple[Style, ...] = (style, "regular", "mono")
        for name in (_OWN[one] for one in own):
            font = _font(name, None)
            if font is None:
                raise OSError(f"the program's own font {name} cannot be read")
            if ord(letter) in font.face.charToGlyph:
                return str(font.fontName)
        return self._elsewhere(letter)

    def _elsewhere(self, letter: str) -> str | None:
        for path in self._search(letter) if self._search is not None else ():
            font = _font(str(path), path)
            if font is not None and ord(letter) in font.face.charToGlyph:
                return str(font.fontName)
        return None


def _code(letter: str) -> int:
    """A control character is named itself, not by its picture."""
    code = ord(letter)
    if code == 0x2421:
        return 0x7F
    return code - _CONTROL_PICTURES if _CONTROL_PICTURES <= code < 0x2420 else code
