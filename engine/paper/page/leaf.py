"""A page as HTML: takes what `engine.paper.page.text.Page` takes, so both say the same.

What is written without a blank line in between hangs together: rows with their lines become
one table, fields a list, lines alone paragraphs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from msgspec import Struct

from engine.paper.page.element import Markup, element, joined
from engine.paper.page.text import Page


class _Line(Struct, frozen=True):
    text: str
    indent: int


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


class Leaf(Page):
    """A page that becomes the body of a document."""

    def __init__(self) -> None:
        super().__init__()
        self._done: list[Markup] = []
        self._section: list[Markup] = []
        self._block: list[_Item] = []
        self._heads: tuple[str, ...] = ()
        self._lead = False

    def __str__(self) -> str:
        return str(self.body())

    def body(self) -> Markup:
        """Everything written so far."""
        self._end_section()
        return joined(*self._done)

    def put(self, markup: Markup) -> None:
        """A finished piece where the page stands."""
        self._end_block()
        self._section.append(markup)

    def line(self, text: str = "", indent: int = 0, hang: int = 0) -> None:
        if not text:
            self._end_block()
        elif self._lead:
            self._lead = False
            self._section.append(element("p", text, class_="lead"))
        else:
            self._block.append(_Line(text, indent))

    def title(self, left: str, right: str) -> None:
        self._end_section()
        self._done.append(
            element("header", element("h1", left), element("p", right, class_="number"))
        )
        self._lead = True

    def chapter(
        self, name: str, heads: Sequence[str] = ("",), widths: Sequence[int] = (-40, 40)
    ) -> None:
        self._end_section()
        self._lead = False
        # One word over the right edge is a remark, several stand over columns.
        remark = heads[0] if len(heads) == 1 else ""
        self._heads = () if len(heads) == 1 else ("", *heads)
        parts = [element("span", remark, class_="remark")] if remark else []
        self._section.append(element("h2", element("span", name), *parts))

    def field(self, label: str, text: str) -> None:
        self._lead = False
        self._block.append(_Field(label, text))

    def alert(self, text: str) -> None:
        self._end_section()
        self._done.append(element("p", text, class_="alert"))

    def blank(self, label: str) -> None:
        self._block.append(_Field(label, None))

    def signatures(self, labels: Sequence[str]) -> None:
        self.put(element("div", *(element("p", label) for label in labels), class_="sign"))

    def columns(self, texts: Sequence[str], widths: Sequence[int], indent: int = 0) -> None:
        if not any(texts):
            return
        self._block.append(_Row(tuple(texts), tuple(widths), indent))

    def _end_section(self) -> None:
        self._end_block()
        if self._section:
            self._done.append(element("section", joined(*self._section)))
        self._section, self._heads = [], ()

    def _end_block(self) -> None:
        block, self._block = self._block, []
        for fields, run in groupby(block, lambda item: isinstance(item, _Field)):
            items = list(run)
            if fields:
                self._section.append(_list(item for item in items if isinstance(item, _Field)))
                continue
            for part in _tables([item for item in items if not isinstance(item, _Field)]):
                if any(isinstance(item, _Row) for item in part):
                    self._section.append(_table(part, self._heads))
                else:
                    self._section += [
                        element("p", item.text, class_=f"i{item.indent}")
                        for item in part
                        if isinstance(item, _Line)
                    ]


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


def _table(items: Sequence[_Line | _Row], heads: Sequence[str]) -> Markup:
    rows = [item for item in items if isinstance(item, _Row)]
    count = len(rows[0].texts)
    if len(heads) != count:
        heads = ()
    # A column that keeps its neighbours apart is the style sheet's matter.
    kept = [
        index
        for index in range(count)
        if index == 0 or any(row.texts[index] for row in rows) or (heads and heads[index])
    ]
    over = []
    if heads:
        cells = [_cell("th", heads[index], rows[0].right(index), scope="col") for index in kept]
        over = [element("thead", element("tr", *cells))]
    seen = 0
    under: list[Markup] = []
    for item in items:
        if isinstance(item, _Line):
            cell = element("td", item.text, colspan=len(kept), class_=f"i{item.indent}")
            under.append(element("tr", cell, class_="note"))
            continue
        following = rows[seen + 1] if seen + 1 < len(rows) else None
        first = seen == 0 and not heads and not item.texts[0]
        seen += 1
        group = following is not None and following.indent > item.indent
        headed = first or (group and item.indent == 0 and not heads)
        under.append(_row(item, kept, headed, group))
    body = element("tbody", *under)
    shares = _shares(rows[-1], kept)
    table = element("table", shares, *over, body, class_=_style(rows[-1], kept))
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
