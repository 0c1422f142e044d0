"""The frame of every page: its live area, the running head, the foot with its number."""

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
from cartclock.engine.paper.page.pdf.ink import Ink
from cartclock.engine.paper.page.pdf.letters import Letters, Style
from cartclock.engine.paper.shop_head import NO_SHOP

SIZES: dict[Size, tuple[float, float]] = {"A4": A4, "Letter": LETTER}

_MM = 72 / 25.4
LIVE = (180 * _MM, 251 * _MM)
"""What is printed on, in points, in the middle of the sheet: it fits A4 and Letter, so that both
say the same in the same places."""

# Room that the foot takes of it, and the running head of every page but the first; points.
FOOT, RUNNING = 14.0, 18.0
_BETWEEN = 12.0


class Frame:
    """The frame of one paper.

    Args:
        size: of the sheet.
        lying: True if it is printed across.
        scale: how large all letters are, 1 for those of `ink`; the live area stays as it is.
        small: size of the letters of head and foot, in points of letters at scale 1.

    Attributes:
        name: what the paper is ("Job record, job 42").
        width: of the live area; first, room: its height on the first page and on the others,
            without foot and running head. All in points of letters at scale 1.
    """

    def __init__(
        self, size: Size, lying: bool = False, scale: float = 1.0, small: float = 8.0
    ) -> None:
        short, long = SIZES[size]
        wide, tall = LIVE
        self._size = (long, short) if lying else (short, long)
        live = (tall, wide) if lying else (wide, tall)
        self._scale, self._small = scale, small
        self._left = (self._size[0] - live[0]) / 2 / scale
        self._low = (self._size[1] - live[1]) / 2 / scale
        self._top = self._low + live[1] / scale
        self.name = ""
        self._head: SheetHead | None = None
        # What has room of a line in head or foot.
        self._cut: dict[tuple[str, float, Style], str] = {}
        self.width = live[0] / scale
        self.first = live[1] / scale - FOOT
        self.room = self.first - RUNNING

    def tell(self, head: SheetHead) -> None:
        """Says what the paper is of, for the head of every page and for the file."""
        self.name = f"{self.name}, {head.number}" if self.name else head.number
        self._head = head

    def measure(self, letters: Letters) -> None:
        """Finds which letters head and foot have."""
        for text in (self.name, *self._foot()):
            letters.runs(letters.plain(text), "bold")

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
            y = self._top - (RUNNING if number > 1 else 0.0)
            for block in page:
                block.draw(ink, self._left, y)
                y -= block.height
            canvas.showPage()
        canvas.save()
        return buffer.getvalue()

    def _foot(self) -> tuple[str, str]:
        """Who hands it over, and when it was made."""
        if self._head is None:
            return "", ""
        shop = self._head.shop
        who = ", ".join(part for part in (shop.name, shop.phone) if part)
        return who, spoken(self._head.made_us, self._head.zone)

    def _draw(self, ink: Ink, number: int, of: int) -> None:
        left, right, small = self._left, self._left + self.width, self._small
        who, made = self._foot()
        counted = f"{number} of {of}"
        if number > 1:
            at = self._top - small
            end = self._set(ink, right, at, made, self.width / 2, "regular", True)
            self._set(ink, left, at, self.name, self.width - end - _BETWEEN, "bold")
            ink.line(left, at - 4, right, at - 4, 0.5)
        if self._head is None and of == 1:
            return
        said = f"{made}   {counted}" if number == 1 and made else counted
        end = self._set(ink, right, self._low + 2, said, self.width / 2, "regular", True)
        self._set(ink, left, self._low + 2, who, self.width - end - _BETWEEN, "regular")

    def _set(
        self,
        ink: Ink,
        x: float,
        y: float,
        text: str,
        room: float,
        style: Style,
        right: bool = False,
    ) -> float:
        """One line, cut with dots where it has no room; how wide it is."""
        # The same line stands on every page, of a text that may be as long as all of them.
        asked = text, room, style
        if asked not in self._cut:
            self._cut[asked] = self._fitted(ink.letters, *asked)
        line = self._cut[asked]
        ink.text(x, y, line, style, self._small, "right" if right else "left")
        return ink.letters.width(line, style, self._small)

    def _fitted(self, letters: Letters, text: str, room: float, style: Style) -> str:
        line = letters.plain(text).replace("\n", " ")
        if letters.width(line, style, self._small) <= room:
            return line
        dots = "..."
        rest = room - letters.width(dots, style, self._small)
        return letters.lines(line, rest, style, self._small)[0] + dots
