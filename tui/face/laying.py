"""How the rows of a page are laid out for a width: columns, lines, and what each line holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from cartclock.engine.letters import cells, cropped, inert, wrapped
from cartclock.tui.face.lettering import HEIGHTS, letters, sentence_lines
from cartclock.tui.face.page import (
    WIDE,
    Against,
    Air,
    Apart,
    Bar,
    Cell,
    Cells,
    Column,
    Heading,
    Large,
    Page,
    PageRow,
    Reach,
    Strip,
    Table,
    Tape,
    Ticks,
    Words,
)
from cartclock.tui.face.tape import CUT, FULL, HALF, LOW, bar, slim, tape

# Cells before the first text of a row, where the sign of the chosen line stands, and behind the
# last one.
MARGIN, RIM = 2, 1
# Between less and more; through all rows of a scale it is one line.
UPRIGHT = "▐"
# Cells between two columns.
GAP = 2
# Cells of a label before a sentence.
LABEL = 6


class Piece(Struct, frozen=True):
    """A text at a column; `strip`: it keeps the ground of the page where its line is chosen, or
    it would be swallowed.
    """

    x: int
    text: str
    bold: bool = False
    dim: bool = False
    strip: bool = False


class Line(Struct, frozen=True):
    """One line of a page: which entry it belongs to (None: none), if it is the first of it, if it
    is a band, and what stands on it.
    """

    entry: int | None
    first: bool
    band: bool
    pieces: tuple[Piece, ...]


class Laid(Struct, frozen=True):
    """A page laid out: the lines that stay on top, and those that move."""

    fixed: tuple[Line, ...]
    lines: tuple[Line, ...]


def laid(page: Page, width: int) -> Laid:
    """The lines of a page on a screen of that many columns, >= 1."""
    layouts = [
        _Layout(table, _of(table_at, page), width) for table_at, table in enumerate(page.tables)
    ]
    entry: int | None = None
    count, lines = 0, []
    for row in page.rows:
        if isinstance(row, Air | Words) and row.wide and width < WIDE:
            continue
        if isinstance(row, Air):
            lines.append(Line(None, False, False, ()))
            continue
        first = not isinstance(row, Large) and row.entry
        if first:
            entry, count = count, count + 1
        elif isinstance(row, Heading):
            entry = None
        for pieces in _pieces(row, layouts, width):
            lines.append(Line(entry, first, isinstance(row, Heading), pieces))
            first = False
    fixed = tuple(
        Line(None, False, isinstance(row, Heading), pieces)
        for row in page.fixed
        for pieces in _pieces(row, layouts, width)
    )
    return Laid(fixed, tuple(lines))


def _of(at: int, page: Page) -> Iterator[tuple[Cell, ...]]:
    rows = (*page.fixed, *page.rows)
    return (row.cells for row in rows if isinstance(row, Cells) and row.table == at)


class _Layout:
    """The columns of a table at a width: where each begins and how wide it is; 0: left out."""

    def __init__(self, table: Table, rows: Iterable[tuple[Cell, ...]], width: int) -> None:
        self.columns = table.columns
        natural = [cells(column.head) for column in table.columns]
        strips = [False] * len(natural)
        for row in rows:
            for at, cell in enumerate(row):
                if isinstance(cell, str):
                    natural[at] = max(natural[at], cells(_flat(cell)))
                else:
                    strips[at] = True
        room = width - MARGIN - RIM - table.indent
        self.room = room
        self.widths = column_widths(table.columns, natural, strips, room, width >= WIDE)
        least = [min(n, c.least or n) for n, c in zip(natural, table.columns, strict=True)]
        needed = sum(least) + GAP * (sum(map(bool, self.widths)) - 1)
        self.stacked = table.stacks and needed > room
        self.left: list[int] = []
        x = MARGIN + table.indent
        for taken in self.widths:
            self.left.append(x)
            x += taken + GAP if taken else 0


def column_widths(
    columns: Sequence[Column],
    natural: Sequence[int],
    strips: Sequence[bool],
    room: int,
    wide: bool,
) -> list[int]:
    """Cells of each column; 0: it is left out.

    Args:
        natural: cells of the longest text of each.
        strips: which of them hold strips.
        room: cells for all of them with the gaps between them.
        wide: True on a wide screen.

    Columns of the highest rank leave until the others have what they need. What is left over
    goes to texts that are longer, in order of rank, and then to the strips.
    """
    shown = [
        at
        for at, column in enumerate(columns)
        if (natural[at] or strips[at]) and (wide or not column.wide)
    ]

    def needed(at: int) -> int:
        column = columns[at]
        if strips[at]:
            return max(column.least, natural[at])
        return min(natural[at], column.least or natural[at])

    def taken() -> int:
        return sum(map(needed, shown)) + GAP * (len(shown) - 1)

    while taken() > room and any(columns[at].rank for at in shown):
        shown.remove(max(shown, key=lambda at: (columns[at].rank, at)))
    widths = [needed(at) if at in shown else 0 for at in range(len(columns))]
    spare = room - taken()
    for at in sorted(shown, key=lambda at: columns[at].rank):
        if not strips[at] and spare > 0:
            more = min(spare, (min(natural[at], columns[at].most or natural[at])) - widths[at])
            widths[at] += max(0, more)
            spare -= max(0, more)
    growing = [at for at in shown if strips[at]]
    for left, at in zip(range(len(growing), 0, -1), growing, strict=True):
        most = columns[at].most or widths[at] + max(0, spare)
        more = max(0, min(spare // left, most - widths[at]))
        widths[at] += more
        spare -= more
    if spare < 0 and shown:
        # Nothing more can leave: the longest is cropped.
        longest = max(shown, key=lambda at: widths[at])
        widths[longest] = max(1, widths[longest] + spare)
    return widths


def _pieces(row: PageRow, layouts: Sequence[_Layout], width: int) -> Iterator[tuple[Piece, ...]]:
    """What stands on each line of a row."""
    match row:
        case Cells():
            yield from _cells(row, layouts[row.table])
        case Heading():
            yield from _heading(row, layouts, width)
        case Words():
            yield from _words(row, width)
        case Large():
            yield from _large(row, width)
        case Air():
            yield ()


def large_rows(row: Large, width: int) -> int:
    """How many lines of a page so wide the words in large take; 0 if they are left out."""
    return sum(1 for _line in _large(row, width))


def _large(row: Large, width: int) -> Iterator[tuple[Piece, ...]]:
    room = width - MARGIN - RIM
    # Half a row is free above and below what is an even number of points high.
    for height in (height for height in HEIGHTS if height <= row.highest and height % 2 == 0):
        said = sentence_lines(row.text, height, room, row.most)
        for one in said:
            yield from ((Piece(MARGIN, line),) for line in letters(one, height, room, 1))
        if said:
            return


def _flat(text: str) -> str:
    """A text in one line."""
    return inert(text).replace("\n", " ")


def _sentence(row: Cells, layout: _Layout) -> Iterator[tuple[Piece, ...]]:
    """The texts of a row one after the other, each with the head of its column."""
    first, *others = (cell for cell in row.cells if isinstance(cell, str))
    said = [
        f"{column.head} {text}".strip()
        for column, text in zip(layout.columns[1:], others, strict=True)
        if text
    ]
    level = len(first) - len(first.lstrip(" "))
    text = _flat(": ".join(filter(None, [first.strip(" "), ", ".join(said)])))
    for at, one in enumerate(wrapped(text, layout.room - level, GAP)):
        yield (Piece(layout.left[0] + level + GAP * bool(at), one, row.bold, row.dim),)


def _cells(row: Cells, layout: _Layout) -> Iterator[tuple[Piece, ...]]:
    if layout.stacked:
        heads = [column.head for column in layout.columns]
        # Each text says its own head.
        if list(row.cells) != heads:
            yield from _sentence(row, layout)
        return
    stacks: list[list[Piece]] = []
    for column, cell, x, width in zip(
        layout.columns, row.cells, layout.left, layout.widths, strict=True
    ):
        if not width or cell == "":
            continue
        if not isinstance(cell, str):
            stacks.append([Piece(x, strip_text(cell, width), dim=row.dim, strip=True)])
            continue
        text = _flat(cell)
        texts = _folded(text, width) if column.folds and cells(text) > width else [text]
        stacks.append(
            [
                Piece(
                    x + width - cells(one) if column.right and cells(one) < width else x,
                    one,
                    row.bold,
                    row.dim or column.dim,
                )
                for one in (cropped(text, width) for text in texts)
            ]
        )
    # A row all of whose columns have left is no row, unless it can be chosen.
    height = max(map(len, stacks), default=int(row.entry))
    for y in range(height):
        yield tuple(stack[y] for stack in stacks if y < len(stack))


def _folded(text: str, width: int) -> list[str]:
    """A text in lines; what stands in stays in."""
    level = len(text) - len(text.lstrip(" "))
    level = level if level < width // 2 else 0
    return [" " * level + one for one in wrapped(text.strip(" "), width - level)]


def _heading(row: Heading, layouts: Sequence[_Layout], width: int) -> Iterator[tuple[Piece, ...]]:
    if row.table is not None:
        layout = layouts[row.table]
        yield tuple(
            Piece(x + taken - cells(column.head) if column.right else x, column.head, bold=True)
            for column, x, taken in zip(layout.columns, layout.left, layout.widths, strict=True)
            if taken and column.head and (not layout.stacked or column is layout.columns[0])
        )
        return
    room = width - MARGIN - RIM
    beside, text = _flat(row.beside), _flat(row.text)
    behind = (Piece(width - RIM - cells(beside), beside, dim=True),) if beside else ()
    if not beside or cells(text) + GAP + cells(beside) <= room:
        first, *others = wrapped(text, room) if text else [""]
        yield (Piece(MARGIN, first, bold=True), *behind)
        yield from ((Piece(MARGIN, one, bold=True),) for one in others)
        return
    yield from ((Piece(MARGIN, one, bold=True),) for one in wrapped(text, room))
    for one in wrapped(beside, room):
        yield (Piece(width - RIM - cells(one), one, dim=True),)


def _words(row: Words, width: int) -> Iterator[tuple[Piece, ...]]:
    indent = MARGIN + row.indent
    left = indent + (LABEL if row.label else 0)
    room = max(2, width - left - RIM)
    text = _flat(_listed(row.parts, room) if row.parts else row.text)
    for at, one in enumerate(wrapped(text, room, row.hang) if text else [""]):
        label = (Piece(indent, row.label, dim=True),) if row.label and not at else ()
        yield (*label, Piece(left + row.hang * bool(at), one, row.bold, row.dim))


def _listed(parts: Sequence[str], room: int) -> str:
    """As many parts as stand on one row, whole, and how many more there are."""
    whole = ", ".join(parts)
    if cells(inert(whole)) <= room:
        return whole
    for count in range(len(parts) - 1, 0, -1):
        said = f"{', '.join(parts[:count])} and {len(parts) - count} more"
        if cells(inert(said)) <= room:
            return said
    return f"{parts[0]} and {len(parts) - 1} more" if len(parts) > 1 else whole


def strip_text(cell: Strip, width: int) -> str:
    """A strip in exactly so many cells, half as high as one that stands alone."""
    match cell:
        case Bar(share, mark):
            return slim(bar(width, share, mark))
        case Tape(start, marks, now, opens):
            return slim(tape(width, start, marks, now, opens)[0])
        case Ticks(start, end, named):
            return _ticks(width, start, end, named)
        case Reach():
            return slim(_reach(cell, width))
        case Against(taken, planned, end):
            return slim(_against(width, taken / end, planned / end))
        case Apart(value, low, high):
            return slim(_apart(width, value, low, high))


def _column(mark: float, start: float, end: float, width: int) -> int:
    return max(0, min(width - 1, round((mark - start) / (end - start) * (width - 1))))


def _reach(cell: Reach, width: int) -> str:
    opens = _column(cell.opens, cell.start, cell.end, width)
    closes = _column(cell.end if cell.closes is None else cell.closes, cell.start, cell.end, width)
    row = [LOW if x < opens else HALF if x <= closes else CUT for x in range(width)]
    for cut in cell.cuts:
        row[_column(cut, cell.start, cell.end, width)] = CUT
    return "".join(row)


def _against(width: int, taken: float, planned: float) -> str:
    full, low = round(taken * width), round(planned * width)
    row = FULL * full + LOW * (low - full)
    if 0 < low < full:
        row = row[: low - 1] + CUT + row[low:]
    return row.ljust(width)


def _apart(width: int, value: float, low: float, high: float) -> str:
    # The upright line has a cell of its own, and each side its share of the others.
    line = round(-low / (high - low) * (width - 1))
    long = round(abs(value) / (high - low) * (width - 1))
    if value < 0:
        return (FULL * min(long, line)).rjust(line) + UPRIGHT + CUT * (width - 1 - line)
    return CUT * line + UPRIGHT + (FULL * min(long, width - 1 - line)).ljust(width - 1 - line)


def _ticks(width: int, start: float, end: float, named: Sequence[tuple[float, str]]) -> str:
    """Words that begin over their cuts; one that would run into another is left out."""
    row = ""
    for mark, word in named:
        x = _column(mark, start, end, width)
        if x >= len(row) + bool(row) and x + cells(word) <= width:
            row = row.ljust(x) + word
    return row.ljust(width)
