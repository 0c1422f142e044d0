"""The frame of every page: size, shop, title and date at the head, the number at the foot."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from io import BytesIO

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from cartclock.engine.dates import spoken
from cartclock.engine.paper.facts import Size
from cartclock.engine.paper.page.medium import SheetHead
from cartclock.engine.paper.page.pdf.block import Block
from cartclock.engine.paper.page.pdf.ink import BODY, SMALL, Ink
from cartclock.engine.paper.page.pdf.letters import Letters, Style
from cartclock.engine.paper.shop_head import NO_SHOP

SIZES: dict[Size, tuple[float, float]] = {"A4": A4, "Letter": LETTER}

# Margins in points, 72 to the inch; head and foot stand inside the upper and the lower one.
SIDE = 48.0
TOP, BOTTOM = 74.0, 48.0
# No letter of the head is smaller than this.
_LEAST = 6.0


class Frame:
    """The frame of one paper.

    Args:
        size: of the sheet.
        lying: True if it is printed across.
        scale: how large all letters are, 1 for those of `ink`; margins stay as they are.

    Attributes:
        name: what the paper is ("Job record, job 42").
        width, room: of a page between its margins, in points of letters at scale 1.
    """

    def __init__(self, size: Size, lying: bool = False, scale: float = 1.0) -> None:
        short, long = SIZES[size]
        self._size = (long, short) if lying else (short, long)
        self._scale = scale
        self.name = ""
        self._head: SheetHead | None = None
        self.width = (self._size[0] - 2 * SIDE) / scale
        self.room = (self._size[1] - TOP - BOTTOM) / scale
        self._left: tuple[tuple[str, Style, float], ...] = ()
        self._right: tuple[tuple[str, Style, float], ...] = ()

    def tell(self, head: SheetHead) -> None:
        """Says what the paper is of, for the head of every page and for the file."""
        self.name = f"{self.name}, {head.number}" if self.name else head.number
        self._head = head

    def measure(self, letters: Letters) -> None:
        """Finds what is written in the head; what is too long for it is set smaller."""
        half = self.width / 2 - 6
        head = self._head
        shop = NO_SHOP if head is None else head.shop
        reach = ", ".join(part for part in (*shop.lines, shop.phone) if part)
        self._left = (
            _fitted(letters, shop.name, half, "bold", BODY + 1),
            _fitted(letters, reach, half, "regular", SMALL + 0.5),
        )
        made = "" if head is None else spoken(head.made_us, head.zone)
        self._right = (
            _fitted(letters, self.name, half, "bold", BODY),
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
        made_us = 0 if self._head is None else self._head.made_us
        made = datetime.datetime.fromtimestamp(made_us / 1e6, datetime.UTC)
        shop = NO_SHOP if self._head is None else self._head.shop
        canvas.setDateFormatter(lambda *_now: f"D:{made:%Y%m%d%H%M%S}+00'00'")
        canvas.setTitle(letters.plain(self.name).replace("\n", " "))
        canvas.setAuthor(letters.plain(shop.name).replace("\n", " "))
        canvas.setSubject("")
        canvas.setCreator("cartclock")
        ink = Ink(canvas, letters)
        for number, page in enumerate(pages, 1):
            if self._scale != 1.0:
                canvas.scale(self._scale, self._scale)
            self._draw(ink, number, len(pages))
            y = (self._size[1] - TOP) / self._scale
            for block in page:
                block.draw(ink, SIDE / self._scale, y)
                y -= block.height
            canvas.showPage()
        canvas.save()
        return buffer.getvalue()

    def _draw(self, ink: Ink, number: int, of: int) -> None:
        left, top = SIDE / self._scale, (self._size[1] - 38) / self._scale
        right = left + self.width
        for index, (line, style, size) in enumerate(self._left):
            ink.text(left, top - 11 * index, line, style, size)
        for index, (line, style, size) in enumerate(self._right):
            ink.text(right, top - 11 * index, line, style, size, "right")
        ink.line(left, top - 23, right, top - 23, 0.8)
        ink.line(left, 40, right, 40, 0.4, grey=0.4)
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
