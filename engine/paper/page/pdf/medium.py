"""A paper as PDF: the elements of a `Medium` set in print."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cartclock.engine.paper.facts import Size
from cartclock.engine.paper.page.columns import STEP, Line, heads, in_rows
from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.drawing import Drawing
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.pdf.card_pdf import put_card
from cartclock.engine.paper.page.pdf.date_pdf import put_date_boxes
from cartclock.engine.paper.page.pdf.frame import Frame
from cartclock.engine.paper.page.pdf.group_pdf import put_groups
from cartclock.engine.paper.page.pdf.ink import BODY, LEAST, SMALL
from cartclock.engine.paper.page.pdf.letters import Letters, Search, fonts_of_this_computer
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.paper.page.pdf.picture_pdf import draw_pictures
from cartclock.engine.paper.page.pdf.strip_pdf import put_strips
from cartclock.engine.paper.page.pdf.view_pdf import put_view
from cartclock.engine.paper.page.strip import DRAWN, Means, Strip, StripScale, legend_text
from cartclock.engine.paper.page.table import Column, Group, Note, TableRow
from cartclock.engine.paper.page.view import VehicleView
from cartclock.engine.times import Instant

_STEP_PT = 0.3
# Between two parts side by side, in points.
_GUTTER = 14.0


class Pdf:
    """A `Medium` that becomes a PDF.

    Args:
        size: of the sheet.
        search: gives other fonts for letters that the program's own lack; None: none.
        compressed: False leaves the streams of the file readable.
        body_pt: size of the letters of the body; all others are as much larger or smaller. None
            for as large as the sheet likes.
    """

    def __init__(
        self,
        size: Size = "A4",
        search: Search | None = fonts_of_this_computer,
        compressed: bool = True,
        body_pt: float | None = None,
    ) -> None:
        self._size: Size = size
        self._search, self._compressed, self._wanted_pt = search, compressed, body_pt
        self._body_pt = body_pt or BODY
        self._letters = Letters(search)
        self._start("", False, SMALL)

    def begin(
        self, title: str, lying: bool = False, body_pt: float = BODY, least_pt: float = LEAST
    ) -> None:
        self._body_pt = self._wanted_pt or body_pt
        self._start(title, lying, least_pt)

    def _start(self, title: str, lying: bool, least_pt: float) -> None:
        scale = self._body_pt / BODY
        # Small letters stay a step under the body, but never under the least of the sheet.
        small = max(SMALL, least_pt / scale)
        self._frame = Frame(self._size, lying, scale, small)
        self._frame.name = title
        self._page = Print(self._frame, self._letters, small=small)

    def head(self, head: SheetHead) -> None:
        self._page.head(self._frame.name, head.number, head.shop)
        self._frame.tell(head)

    def lead(self, name: str, plate: str = "", lines: Sequence[str] = (), price: str = "") -> None:
        self._page.lead(name, plate)
        *first, last = lines or ("",)
        for line in first:
            self._page.line(line)
        if price:
            self._page.ended(last, price)
        elif last:
            self._page.line(last)
        self.gap()

    def alert(self, text: str) -> None:
        self._page.alert(text)

    def heading(self, text: str, remark: str = "") -> None:
        self._page.chapter(text, remark)

    def words(self, text: str, level: int = 0, hangs: bool = False, small: bool = False) -> None:
        self._page.line(text, STEP * level, STEP * hangs, small=small)

    def made(self, at_us: Instant, zone: str) -> None:
        """Nothing: it stands at the foot of the first page and at the head of the others."""

    def gap(self) -> None:
        self._page.line()

    def facts(self, pairs: Sequence[tuple[str, str]]) -> None:
        self._page.fields(pairs)

    def table(self, columns: Sequence[Column], rows: Sequence[TableRow | Note]) -> None:
        level = next((row.level for row in rows if isinstance(row, TableRow)), 0)
        over = heads(columns, level)
        if over is not None:
            self._page.heads(over.texts, over.widths, over.indent)
        for row in rows:
            if isinstance(row, Note):
                self.words(row.text, row.level, row.hangs)
            else:
                line = Line(columns, row.cells, row.level)
                self._page.columns(line.texts, line.widths, line.indent)

    def groups(self, columns: Sequence[Column], groups: Sequence[Group]) -> None:
        put_groups(self._page, columns, groups)

    def dates(self, dates: Sequence[Date]) -> None:
        put_date_boxes(self._page, dates)

    def strips(self, scale: StripScale, strips: Sequence[Strip]) -> None:
        put_strips(self._page, scale, strips)

    def legend(self, means: Means, of: str = "Tape") -> None:
        self.words(legend_text(means, DRAWN, of), small=True)

    def beside(
        self, left: Callable[[Medium], None], right: Callable[[Medium], None], share: float = 0.5
    ) -> None:
        wide = (self._page.width - _GUTTER) * share
        parts = self._part(wide), self._part(self._page.width - _GUTTER - wide)
        left(parts[0])
        right(parts[1])
        pages = [part._page for part in parts]
        if not self._page.beside(pages, (0.0, wide + _GUTTER)):
            left(self)
            self.gap()
            right(self)
        self.gap()

    def _part(self, width: float) -> Pdf:
        part = Pdf(self._size, self._search, self._compressed, self._body_pt)
        part._letters, part._frame = self._letters, self._frame
        part._page = Print(self._frame, self._letters, width, self._page.small)
        return part

    def turn(self) -> None:
        self._page.turn()

    def blanks(self, labels: Sequence[str], across: int = 1) -> None:
        for row in in_rows(labels, across):
            self._page.blanks(row, across)

    def sign(self, labels: Sequence[str]) -> None:
        self._page.signatures(labels)

    def large(self, over: str, lines: Sequence[str], under: Sequence[str], foot: str) -> None:
        put_card(self._page, over, lines, under, foot)

    def view(self, view: VehicleView) -> None:
        put_view(self._page, view, self._body_pt / BODY)

    def drawing(self, drawing: Drawing) -> None:
        draw_pictures(self._page, drawing.load(), drawing.zone)

    def fits(self, pages: int) -> bool:
        return len(self._page.pages) <= pages

    def smaller(self, floor_pt: float) -> Pdf | None:
        less_pt = max(floor_pt, round(self._body_pt - _STEP_PT, 1))
        return self._empty(less_pt) if less_pt < self._body_pt else None

    def empty(self) -> Pdf:
        return self._empty(self._body_pt)

    def _empty(self, body_pt: float) -> Pdf:
        return Pdf(self._size, self._search, self._compressed, body_pt)

    def finished(self) -> bytes:
        return self._frame.bound(self._page.pages, self._letters, self._compressed)
