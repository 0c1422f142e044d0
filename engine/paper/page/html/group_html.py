"""Tables in groups in HTML. On a telephone each column of a wide one stands behind its head,
under its row, and two halves of a list stand under each other."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.page.columns import STEP
from cartclock.engine.paper.page.html.element import Markup, element, joined
from cartclock.engine.paper.page.table import Column, Group, Note, TableRow, half_columns, half_rows

# A column for no more letters than this is one of times; our own judgement.
_SHORT = 16
# So many letters of a line have room on a telephone; in a column without a size so many of them.
_NARROW, _OPEN = 42, 30


def group_table(columns: Sequence[Column], groups: Sequence[Group]) -> Markup:
    """A group begins with a row over all columns; of a list in two halves each is a table."""
    half = half_columns(columns)
    if not half:
        return _table(columns, [row for group in groups for row in _rows(columns, group)])
    parts: list[Markup] = []
    for group in groups:
        parts.append(_table((), _rows((Column(),), Group(group.name, group.shared))))
        sides = [
            _table(columns[:half], [_row(columns[:half], row) for row in rows])
            for rows in half_rows(group, half)
        ]
        parts.append(element("div", *sides, class_="beside", style="--share:50%"))
        notes = tuple(row for row in group.rows if isinstance(row, Note))
        parts.append(_table((), _rows((Column(),), Group(rows=notes))))
    return joined(*parts)


def _table(columns: Sequence[Column], rows: Sequence[Markup]) -> Markup:
    """Rows under their heads; nothing if there are none."""
    if not rows:
        return joined()
    over = []
    if any(column.head for column in columns):
        heads = [element("th", column.head, scope="col", **_right(column)) for column in columns]
        over.append(element("thead", element("tr", *heads)))
    wide = sum(column.letters or _OPEN for column in columns) > _NARROW
    class_ = "groups folds" if wide else "groups"
    table = element("table", *over, element("tbody", *rows), class_=class_)
    return element("div", table, class_="scroll")


def _rows(columns: Sequence[Column], group: Group) -> list[Markup]:
    """The line of a group, and its rows and notes."""
    rows: list[Markup] = []
    if group.name or group.shared:
        said = [element("b", group.name)] if group.name else []
        shared = f" {group.shared}" if group.shared else ""
        line = element("th", *said, shared, colspan=len(columns), scope="rowgroup")
        rows.append(element("tr", line, class_="group"))
    for row in group.rows:
        if isinstance(row, Note):
            note = element("td", row.text, colspan=len(columns), class_=f"i{STEP * row.level}")
            rows.append(element("tr", note, class_="note"))
        else:
            rows.append(_row(columns, row))
    return rows


def _row(columns: Sequence[Column], row: TableRow) -> Markup:
    cells = []
    for column, text in zip(columns, row.cells, strict=True):
        head = {"data_head": column.head} if column.head else {}
        cells.append(element("td", text, **_style(column, text), **head))
    return element("tr", *cells, class_="row sum" if row.bold else "row")


def _style(column: Column, text: str) -> dict[str, str]:
    """From the right, or of a time as short as its column never parted over two lines."""
    fits = len(text) <= column.letters <= _SHORT
    return {"class_": "short"} if fits and not column.right else _right(column)


def _right(column: Column) -> dict[str, str]:
    return {"class_": "right"} if column.right else {}
