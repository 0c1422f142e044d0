"""Tables in groups, in print: the line of a group on grey, what it shares beside its name."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.page.columns import STEP
from cartclock.engine.paper.page.pdf.block import Block
from cartclock.engine.paper.page.pdf.ink import BODY, Draw, Ink
from cartclock.engine.paper.page.pdf.letters import Style
from cartclock.engine.paper.page.pdf.page import Print, Slot
from cartclock.engine.paper.page.pdf.tape import put_area
from cartclock.engine.paper.page.table import (
    BETWEEN,
    Column,
    Group,
    Note,
    TableRow,
    Under,
    shared_line,
)

_LINE = 11.2
_SHADE = 0.9


def put_groups(page: Print, columns: Sequence[Column], groups: Sequence[Group]) -> None:
    """The heads stand again on every page that the rows come to."""
    unit = page.letters.width("0", "regular", BODY)
    found = shared_line(columns, page.width / unit)
    places: list[Slot] = []
    at = 0.0
    for index, room in zip(found.kept, found.letters, strict=True):
        right = columns[index].right
        places.append(Slot(at + room * unit if right else at, room * unit, right))
        at += (room + BETWEEN) * unit
    heads = [columns[index].head for index in found.kept]
    if any(heads):
        _put_heads(page, heads, places)
    for group in groups:
        if group.name or group.shared:
            _put_line(page, group)
        under = Under(columns, found.gone)
        first = next((row for row in group.rows if isinstance(row, TableRow)), None)
        for row in group.rows:
            if isinstance(row, Note):
                _put_note(page, row)
                continue
            _put_row(page, [row.cells[index] for index in found.kept], places, row)
            more = under.words(row)
            if more:
                page.keep_last()
                page.line(more, STEP * (row.level + 3), STEP, small=True)
            if row is first and row is not group.rows[-1]:
                # No head stands over one row at the foot of a page.
                page.keep_last()
        page.air(3.0)
    page.line()


def _put_heads(page: Print, heads: Sequence[str], places: Sequence[Slot]) -> None:
    lines = page.stacked(heads, places, "regular", page.small)
    height = len(lines) * 10.0 + 4.0

    def draw(ink: Ink, x: float, y: float) -> None:
        for index, line in enumerate(lines):
            line(ink, x, y - index * 10.0 + 1.0)
        ink.line(x, y - height + 1.5, x + page.width, y - height + 1.5, 0.5)

    page.drawing(height, draw, head=True)


def _put_line(page: Print, group: Group) -> None:
    letters = page.letters
    name = letters.lines(group.name, page.width - 6, "bold", BODY) if group.name else []
    last = letters.width(name[-1], "bold", BODY) + 8 if name else 0.0
    beside = page.width - 6 - last
    if beside < page.width / 4:
        last, beside = 0.0, page.width - 6
    shared = (
        letters.hung(group.shared, beside, page.width - 14, "regular", BODY) if group.shared else []
    )
    rows = [[(3.0, line, True)] for line in name]
    for index, line in enumerate(shared):
        if index == 0 and name and last:
            rows[-1].append((3.0 + last, line, False))
        else:
            rows.append([(3.0 if index == 0 else 11.0, line, False)])
    blocks = [Block(_LINE, _shaded(page, row)) for row in rows]
    page.put_rows(blocks)
    page.keep_last()


def _shaded(page: Print, texts: Sequence[tuple[float, str, bool]]) -> Draw:
    def draw(ink: Ink, x: float, y: float) -> None:
        put_area(ink, x, y - _LINE - 0.8, page.width, _LINE + 0.4, _SHADE)
        for left, text, bold in texts:
            ink.text(x + left, y - BODY + 0.3, text, "bold" if bold else "regular")

    return draw


def _put_note(page: Print, note: Note) -> None:
    page.drawing(
        1.6,
        lambda ink, x, y: ink.line(x, y - 1, x + page.width, y - 1, 0.4, (1.0, 1.5)),
        keep=True,
    )
    page.line(note.text, STEP * (note.level + 1), STEP, small=True)
    page.keep_last()


def _put_row(page: Print, cells: Sequence[str], places: Sequence[Slot], row: TableRow) -> None:
    inner = row.level * STEP * page.cell
    first, *others = places
    if not first.right:
        first = Slot(first.at + inner, max(first.room - inner, BODY), False)
    style: Style = "bold" if row.bold else "regular"
    drawn = page.stacked(cells, (first, *others), style, BODY)
    page.put_rows([Block(_LINE, draw) for draw in drawn])
