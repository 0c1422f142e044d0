"""A paper as PDF: the elements of a `Medium` set in print."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.facts import Size
from cartclock.engine.paper.page.columns import STEP, Line, heads
from cartclock.engine.paper.page.drawing import (
    Drawing,
    HeatCourse,
    Pictures,
    ShiftCourse,
    StageShares,
    WindowCourse,
)
from cartclock.engine.paper.page.medium import Column, Note, SheetHead, TableRow
from cartclock.engine.paper.page.pdf.frame import Frame
from cartclock.engine.paper.page.pdf.ink import BODY
from cartclock.engine.paper.page.pdf.letters import Letters, Search, fonts_of_this_computer
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.paper.page.pdf.picture_pdf import draw_pictures
from cartclock.engine.paper.page.pdf.shift_chart import put_bars, put_heat
from cartclock.engine.paper.page.pdf.view_pdf import put_view
from cartclock.engine.paper.page.pdf.window_chart import put_window_bars, put_window_key
from cartclock.engine.paper.page.view import View

_STEP_PT = 0.3


class Pdf:
    """A `Medium` that becomes a PDF.

    Args:
        size: of the sheet.
        search: gives other fonts for letters that the program's own lack; None: none.
        compressed: False leaves the streams of the file readable.
        body_pt: size of the letters of the body; all others are as much larger or smaller.
    """

    def __init__(
        self,
        size: Size = "A4",
        search: Search | None = fonts_of_this_computer,
        compressed: bool = True,
        body_pt: float = BODY,
    ) -> None:
        self._size: Size = size
        self._search, self._compressed, self._body_pt = search, compressed, body_pt
        self._letters = Letters(search)
        self._frame = Frame(size)
        self._page = Print(self._frame, self._letters)

    def begin(self, title: str, lying: bool) -> None:
        self._frame = Frame(self._size, lying, self._body_pt / BODY)
        self._frame.name = title
        self._page = Print(self._frame, self._letters)

    def head(self, head: SheetHead) -> None:
        self._page.title(self._frame.name.upper(), head.number)
        self._frame.tell(head)
        self.gap()

    def lead(self, name: str) -> None:
        self._page.line(name, lead=True)
        self.gap()

    def alert(self, text: str) -> None:
        self._page.alert(text)

    def heading(self, text: str, remark: str = "", columns: Sequence[Column] = ()) -> None:
        if columns:
            over = Line(columns, [column.head for column in columns], 0)
            self._page.chapter(text, over.texts[1:], over.widths)
        else:
            self._page.chapter(text, (remark,))

    def words(self, text: str, level: int = 0, hangs: bool = False) -> None:
        self._page.line(text, STEP * level, STEP * hangs)

    def gap(self) -> None:
        self._page.line()

    def facts(self, pairs: Sequence[tuple[str, str]]) -> None:
        for label, text in pairs:
            self._page.field(label, text)

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

    def blanks(self, labels: Sequence[str]) -> None:
        for label in labels:
            self._page.blank(label)

    def sign(self, labels: Sequence[str]) -> None:
        self._page.signatures(labels)

    def large(self, lines: Sequence[str]) -> None:
        self._page.large(lines)

    def view(self, view: View) -> None:
        put_view(self._page, view, self._body_pt / BODY)

    def drawing(self, drawing: Drawing) -> None:
        page = self._page
        match drawing:
            case ShiftCourse(accounts, zone, name) if accounts:
                several = len(accounts) > 1
                self.heading("The shifts over the clock" if several else "The shift over the clock")
                for index, account in enumerate(accounts):
                    if index:
                        self.gap()
                    put_bars(page, account, zone, name)
            case HeatCourse(shifts, zone) if any(
                course.air_c or course.panel_c or course.wbgt_c for course, _exposure in shifts
            ):
                self.heading("Heat over the clock", "screening estimate")
                for index, (course, exposure) in enumerate(shifts):
                    if index:
                        self.gap()
                    put_heat(page, course, exposure, zone)
            case WindowCourse(title, groups) if any(windows for _over, windows in groups):
                self.heading(title, "after the last touch")
                put_window_key(page, [one for _over, windows in groups for one in windows])
                for over, windows in groups:
                    put_window_bars(page, windows, over)
            case Pictures(load, zone):
                draw_pictures(page, load(), zone)
            case StageShares():
                # The shift over the clock shows more.
                return

    def smaller(self, pages: int, floor_pt: float) -> Pdf | None:
        less_pt = round(self._body_pt - _STEP_PT, 1)
        if less_pt < floor_pt or len(self._page.pages) <= pages:
            return None
        return Pdf(self._size, self._search, self._compressed, less_pt)

    def finished(self) -> bytes:
        return self._frame.bound(self._page.pages, self._letters, self._compressed)
