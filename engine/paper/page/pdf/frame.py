"""The frame of every page: size, shop, title and date at the head, the number at the foot."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from io import BytesIO
from typing import Literal

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from engine.job.dates import spoken
from engine.paper.page.pdf.block import Block
from engine.paper.page.pdf.ink import BODY, SMALL, Ink
from engine.paper.page.pdf.letters import Letters, Style
from engine.paper.shop_head import ShopHead

Paper = Literal["A4", "Letter"]
SIZES: dict[str, tuple[float, float]] = {"A4": A4, "Letter": LETTER}

# Margins in points, 72 to the inch; head and foot stand inside the upper and the lower one.
SIDE = 48.0
TOP, BOTTOM = 74.0, 48.0
# No letter of the head is smaller than this.
_LEAST = 6.0


class Frame:
    """The frame of one paper.

    Args:
        name: what the paper is ("Job record, job 42").
        shop: who hands it over.
        paper: size of the sheet.
        made_us, zone: the instant it speaks of, and where its times are told.
    """

    def __init__(self, name: str, shop: ShopHead, paper: Paper, made_us: int, zone: str) -> None:
        self._name, self._shop = name, shop
        self._size = SIZES[paper]
        self._made_us, self._zone = made_us, zone
        self.width = self._size[0] - 2 * SIDE
        self.room = self._size[1] - TOP - BOTTOM
        self._left: tuple[tuple[str, Style, float], ...] = ()
        self._right: tuple[tuple[str, Style, float], ...] = ()

    def measure(self, letters: Letters) -> None:
        """Finds what is written in the head; what is too long for it is set smaller."""
        half = self.width / 2 - 6
        reach = ", ".join(part for part in (*self._shop.lines, self._shop.phone) if part)
        self._left = (
            _fitted(letters, self._shop.name, half, "bold", BODY + 1),
            _fitted(letters, reach, half, "regular", SMALL + 0.5),
        )
        made = spoken(self._made_us, self._zone)
        self._right = (
            _fitted(letters, self._name, half, "bold", BODY),
            _fitted(letters, made, half, "regular", SMALL + 0.5),
        )

    def bound(self, pages: Sequence[Sequence[Block]], letters: Letters, compressed: bool) -> bytes:
        """The PDF of these pages; call `measure` before."""
        buffer = BytesIO()
        canvas = Canvas(
            buffer,
            pagesize=self._size,
            pageCompression=1 if compressed else 0,
            invariant=1,
            lang="en",
            initialFontName=letters.runs(" ", "regular")[0][0],
        )
        made = datetime.datetime.fromtimestamp(self._made_us / 1e6, datetime.UTC)
        canvas.setDateFormatter(lambda *_now: f"D:{made:%Y%m%d%H%M%S}+00'00'")
        canvas.setTitle(letters.plain(self._name).replace("\n", " "))
        canvas.setAuthor(letters.plain(self._shop.name).replace("\n", " "))
        canvas.setSubject("")
        canvas.setCreator("cartclock")
        ink = Ink(canvas, letters)
        for number, page in enumerate(pages, 1):
            self._draw(ink, number, len(pages))
            y = self._size[1] - TOP
            for block in page:
                block.draw(ink, SIDE, y)
                y -= block.height
            canvas.showPage()
        canvas.save()
        return buffer.getvalue()

    def _draw(self, ink: Ink, number: int, of: int) -> None:
        right, top = SIDE + self.width, self._size[1] - 38
        for index, (line, style, size) in enumerate(self._left):
            ink.text(SIDE, top - 11 * index, line, style, size)
        for index, (line, style, size) in enumerate(self._right):
            ink.text(right, top - 11 * index, line, style, size, "right")
        ink.line(SIDE, top - 23, right, top - 23, 0.8)
        ink.line(SIDE, 40, right, 40, 0.4, grey=0.4)
        ink.text(right, 28, f"{number} of {of}", "regular", SMALL + 0.5, "right")


def _fitted(
    letters: Letters, text: str, room: float, style: Style, size: float
) -> tuple[str, Style, float]:
    """One line with its style and size: smaller if it must be, then cut with dots."""
    line = letters.plain(text).replace("\n", " ")
    while size > _LEAST and letters.width(line, style, size) > room:
        size -= 0.5
    if letters.width(line, style, size) > room:
        dots = "..."
        line = letters.lines(line, room - letters.width(dots, style, size), style, size)[0] + dots
    return line, style, size
