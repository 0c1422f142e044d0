"""A paper as one HTML file: nothing is loaded, nothing runs, everything is escaped.

What is put without a gap in between hangs together: rows with their words become one table,
facts a list, words alone paragraphs. The file follows the reader's choice of dark or light,
fits a telephone, and prints on A4 and Letter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby

from msgspec import Struct

from cartclock.engine.paper.page.columns import STEP, Line, heads
from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.drawing import Drawing
from cartclock.engine.paper.page.html.date_html import date_boxes
from cartclock.engine.paper.page.html.element import Markup, element, joined
from cartclock.engine.paper.page.html.group_html import group_table
from cartclock.engine.paper.page.html.picture_html import figures
from cartclock.engine.paper.page.html.strip_html import CALLED, strip_figure
from cartclock.engine.paper.page.html.style import STYLE
from cartclock.engine.paper.page.html.view_html import view_markup
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.pageless import Pageless
from cartclock.engine.paper.page.picture_text import PICTURES
from cartclock.engine.paper.page.strip import Means, Strip, StripScale, legend_text
from cartclock.engine.paper.page.table import Column, Group, Note, TableRow
from cartclock.engine.paper.page.view import VehicleView

# Told to the browser: only the style in the file counts, and nothing is fetched.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
# Letters of a card's line that is set as large as a clock time; more is a sentence.
_MOST_LARGE = 16
# With pictures: those that are in the file itself.
_PICTURES = "; img-src data:"


class _Line(Struct, frozen=True):
    text: str
    indent: int
    small: bool = False


class _Field(Struct, frozen=True):
    label: str
    text: str | None


class _Row(Struct, frozen=True):
    texts: tuple[str, ...]
    widths: tuple[int, ...]
    indent: int

    def right(self, index: int) -> bool:
        """True if the column is set from the right."""
        return self.widths[index] > 0


_Item = _Line | _Field | _Row


class Html(Pageless):
    """A `Medium` that becomes a document."""

    def __init__(self) -> None:
        self._done: list[Markup] = []
        self._section: list[Markup] = []
        self._block: list[_Item] = []
        # What the document is called: the paper, what it is of, what it is about.
        self._called: list[str] = []
        self._shows_pictures = False

    def begin(
        self, title: str, lying: bool = False, body_pt: float = 9.0, least_pt: float = 7.0
    ) -> None:
        self._called = [title]

    def head(self, head: SheetHead) -> None:
        self._end_section()
        shop = head.shop
        who = [element("p", shop.name, class_="shop")] if shop.name else []
        reach = ", ".join(line for line in shop.lines if line)
        who += [element("p", line, class_="small") for line in (reach, shop.phone) if line]
        paper = element("h1", self._called[0])
        number = element("p", head.number, class_="number")
        sides = element("div", *who), element("div", paper, number, class_="paper")
        self._done.append(element("header", *sides))
        self._called = [f"{self._called[0]}, {head.number}"]

    def lead(self, name: str, plate: str = "", lines: Sequence[str] = (), price: str = "") -> None:
        self.gap()
        lead = element("p", name, class_="lead")
        if plate:
            lead = element("div", lead, element("p", plate, class_="plate"), class_="leads")
        said = [element("p", line) for line in lines]
        if price:
            last = (said.pop(),) if said else ()
            ended = element("div", *last, element("p", price, class_="price"), class_="ended")
            said.append(ended)
        self._section += [lead, *said]
        self._called.append(name)

    def alert(self, text: str) -> None:
        self._end_section()
        self._done.append(element("p", text, class_="alert"))

    def heading(self, text: str, remark: str = "") -> None:
        self._end_section()
        parts = [element("span", remark, class_="remark")] if remark else []
        self._section.append(element("h2", element("span", text), *parts))

    def words(self, text: str, level: int = 0, hangs: bool = False, small: bool = False) -> None:
        if text:
            self._block.append(_Line(text, STEP * level, small))
        else:
            self.gap()

    def gap(self) -> None:
        block, self._block = self._block, []
        for fields, run in groupby(block, lambda item: isinstance(item, _Field)):
            items = list(run)
            if fields:
                self._section.append(_list(item for item in items if isinstance(item, _Field)))
                continue
            for part in _tables([item for item in items if not isinstance(item, _Field)]):
                if any(isinstance(item, _Row) for item in part):
                    self._section.append(_table(part))
                else:
                    self._section += [
                        element("p", item.text, class_=f"i{item.indent}{' small' * item.small}")
                        for item in part
                        if isinstance(item, _Line)
                    ]

    def facts(self, pairs: Sequence[tuple[str, str]]) -> None:
        self._block += [_Field(label, text) for label, text in pairs]

    def table(self, columns: Sequence[Column], rows: Sequence[TableRow | Note]) -> None:
        level = next((row.level for row in rows if isinstance(row, TableRow)), 0)
        over = heads(columns, level)
        if over is not None:
            self._row(over)
        for row in rows:
            if isinstance(row, Note):
                self.words(row.text, row.level)
            else:
                self._row(Line(columns, row.cells, row.level))

    def groups(self, columns: Sequence[Column], groups: Sequence[Group]) -> None:
        self.gap()
        self._section.append(group_table(columns, groups))

    def dates(self, dates: Sequence[Date]) -> None:
        self.gap()
        self._section += date_boxes(dates)

    def strips(self, scale: StripScale, strips: Sequence[Strip]) -> None:
        self.gap()
        self._section += strip_figure(scale, strips)

    def legend(self, means: Means, of: str = "Tape") -> None:
        self.words(legend_text(means, CALLED, of), small=True)

    def beside(
        self, left: Callable[[Medium], None], right: Callable[[Medium], None], share: float = 0.5
    ) -> None:
        self._end_section()
        sides = []
        for put in (left, right):
            side = Html()
            put(side)
            side._end_section()
            self._shows_pictures |= side._shows_pictures
            sides.append(element("div", joined(*side._done)))
        style = f"--share:{share * 100:.0f}%"
        self._done.append(element("div", *sides, class_="beside", style=style))

    def turn(self) -> None:
        self._end_section()
        self._done.append(element("div", class_="turn"))

    def blanks(self, labels: Sequence[str], across: int = 1) -> None:
        fields = [_Field(label, None) for label in labels]
        if across == 1:
            self._block += fields
            return
        self.gap()
        cells = [_list([field]) for field in fields]
        self._section.append(element("div", *cells, class_="across", style=f"--across:{across}"))

    def sign(self, labels: Sequence[str]) -> None:
        self.gap()
        self._section.append(
            element("div", *(element("p", label) for label in labels), class_="sign")
        )

    def large(self, over: str, lines: Sequence[str], under: Sequence[str], foot: str) -> None:
        self.gap()
        said = [element("p", over, class_="over")]
        said += [
            element("p", line, class_="line" if len(line) <= _MOST_LARGE else "said")
            for line in lines
        ]
        said += [element("p", line, class_="under") for line in under]
        said += [element("p", foot, class_="foot")] if foot else []
        self._section.append(element("div", *said, class_="large"))

    def view(self, view: VehicleView) -> None:
        self.gap()
        self._section += view_markup(view)

    def drawing(self, drawing: Drawing) -> None:
        pictures = drawing.load()
        if pictures:
            self.heading(PICTURES)
            found, shown = figures(pictures, drawing.zone)
            self._section += found
            self._shows_pictures |= shown

    def empty(self) -> Html:
        return Html()

    def finished(self) -> bytes:
        self._end_section()
        policy = f"{_POLICY}{_PICTURES}" if self._shows_pictures else _POLICY
        title = ": ".join(self._called).replace("\n", " ")
        head = joined(
            element("meta", charset="utf-8"),
            element("meta", http_equiv="Content-Security-Policy", content=policy),
            element("meta", name="viewport", content="width=device-width, initial-scale=1"),
            element("meta", name="referrer", content="no-referrer"),
            element("title", title),
            Markup(f"<style>{STYLE}</style>"),
        )
        body = element("body", element("main", joined(*self._done)))
        whole = element("html", element("head", head), body, lang="en")
        return f"<!DOCTYPE html>\n{whole}\n".encode()

    def _row(self, line: Line) -> None:
        if any(line.texts):
            self._block.append(_Row(tuple(line.texts), tuple(line.widths), line.indent))

    def _end_section(self) -> None:
        self.gap()
        if self._section:
            self._done.append(element("section", joined(*self._section)))
        self._section = []


def _list(fields: Iterable[_Field]) -> Markup:
    pairs: list[Markup] = []
    for one in fields:
        pairs.append(element("dt", one.label))
        if one.text is None:
            pairs.append(element("dd", class_="blank"))
        else:
            pairs.append(element("dd", one.text))
    return element("dl", *pairs)


def _tables(items: Sequence[_Line | _Row]) -> list[list[_Line | _Row]]:
    """Cut where the number of columns changes; lines go to the row that follows them."""
    parts: list[list[_Line | _Row]] = [[]]
    count = 0
    lines: list[_Line | _Row] = []
    for item in items:
        if isinstance(item, _Line):
            lines.append(item)
            continue
        if count and len(item.texts) != count:
            parts.append([])
        count = len(item.texts)
        parts[-1] += [*lines, item]
        lines = []
    parts[-1] += lines
    return [part for part in parts if part]


def _table(items: Sequence[_Line | _Row]) -> Markup:
    rows = [item for item in items if isinstance(item, _Row)]
    count = len(rows[0].texts)
    # A column that keeps its neighbours apart is the style sheet's matter.
    kept = [index for index in range(count) if index == 0 or any(row.texts[index] for row in rows)]
    seen = 0
    under: list[Markup] = []
    for item in items:
        if isinstance(item, _Line):
            cell = element("td", item.text, colspan=len(kept), class_=f"i{item.indent}")
            under.append(element("tr", cell, class_="note"))
            continue
        following = rows[seen + 1] if seen + 1 < len(rows) else None
        first = seen == 0 and not item.texts[0]
        seen += 1
        group = following is not None and following.indent > item.indent
        headed = first or (group and item.indent == 0)
        under.append(_row(item, kept, headed, group))
    body = element("tbody", *under)
    shares = _shares(rows[-1], kept)
    table = element("table", shares, body, class_=_style(rows[-1], kept))
    return element("div", table, class_="scroll")


def _shares(row: _Row, kept: Sequence[int]) -> Markup:
    """How wide each column is, so that tables under one another stand in line."""
    widths = [abs(row.widths[index]) for index in kept]
    widths[0] += row.indent
    total = sum(widths)
    return element(
        "colgroup", *(element("col", style=f"width:{width * 100 // total}%") for width in widths)
    )


def _style(row: _Row, kept: Sequence[int]) -> str:
    """Two columns of words stand over one another on a telephone; a clock time stays beside."""
    if len(kept) != 2 or row.right(kept[1]):
        return "many wide" if len(kept) > 5 else "many"
    return "pair" if abs(row.widths[0]) >= 20 else "times"


def _row(row: _Row, kept: Sequence[int], head: bool, group: bool) -> Markup:
    cells = []
    for place, index in enumerate(kept):
        name = "th" if head or (place == 0 and group) else "td"
        said = {"scope": "row" if place == 0 else "col"} if name == "th" else {}
        if place == 0:
            cells.append(element(name, row.texts[index], class_=f"i{row.indent}", **said))
        else:
            cells.append(_cell(name, row.texts[index], row.right(index), **said))
    return element("tr", *cells, class_="head" if head else "row")


def _cell(name: str, text: str, right: bool, **attributes: str) -> Markup:
    if right:
        return element(name, text, class_="right", **attributes)
    return element(name, text, **attributes)
