"""A page as data: what stands on it, row by row, before anybody knows how large it is drawn."""

from __future__ import annotations

from msgspec import Struct

from cartclock.tui.face.canvas import Ground
from cartclock.tui.face.chart import Chart

WIDE = 100
"""Columns from which a page says more. Our own judgement."""


class Bar(Struct, frozen=True):
    """A share of a whole as a strip.

    Fields:
        share: of the whole that is gone or done, 0 to 1; beyond is drawn as the nearer end.
        mark: share at which a cut stands; None: none.
    """

    share: float
    mark: float | None = None


class Tape(Struct, frozen=True):
    """One window as a strip on a scale of its own; `cartclock.tui.face.tape.tape` draws it.

    Fields:
        start, marks, now, opens: as there, on any one scale of time.
    """

    start: float
    marks: tuple[float, ...]
    now: float
    opens: float | None = None


class Reach(Struct, frozen=True):
    """A stretch ahead on a scale that several rows share: low up to where it opens, half high
    while it is open, nothing behind its close.

    Fields:
        start, end: of the scale, on any one scale of time; start < end.
        opens, closes: of the stretch; None: at the end of the scale.
        cuts: where every row of the scale is cut.
    """

    start: float
    end: float
    opens: float
    closes: float | None = None
    cuts: tuple[float, ...] = ()


class Ticks(Struct, frozen=True):
    """Words over the cuts of a scale.

    Fields:
        start, end: of the scale.
        named: the cuts, each with its word.
    """

    start: float
    end: float
    named: tuple[tuple[float, str], ...]


class Against(Struct, frozen=True):
    """What was taken against what was planned, on a scale that several rows share.

    Fields:
        taken, planned: lengths; the plan is a cut where more was taken, else a low line up to it.
        end: of the scale, the longest of all, > 0.
    """

    taken: float
    planned: float
    end: float


class Apart(Struct, frozen=True):
    """How much more or less something was, on a scale that several rows share: from an upright
    line in the scale to the right for more, to the left for less.

    Fields:
        value: low <= value <= high.
        low, high: of the scale; low <= 0 <= high, not both 0.
    """

    value: float
    low: float
    high: float


Strip = Bar | Tape | Reach | Ticks | Against | Apart
Cell = str | Strip


class Column(Struct, frozen=True):
    """A column of a table.

    Fields:
        head: what stands over it; "" for nothing.
        least: cells that it needs to say anything; 0: as many as its longest text. A strip needs
            one or more.
        most: cells that it takes at most; 0: whatever is left over.
        rank: how soon it leaves where there is no room: the greatest first, 0 never.
        right: True if it is set from the right, like numbers.
        folds: True if what is longer goes on in the row below; else it is cropped.
        wide: True if it stands on a wide screen only.
        dim: True if its texts are faint.
    """

    head: str = ""
    least: int = 0
    most: int = 0
    rank: int = 0
    right: bool = False
    folds: bool = False
    wide: bool = False
    dim: bool = False


class Table(Struct, frozen=True):
    """Columns that several rows share.

    Fields:
        indent: cells before the first one.
        stacks: True if a row is said as a sentence where its columns have no room beside each
            other.
    """

    columns: tuple[Column, ...]
    indent: int = 0
    stacks: bool = False


class Cells(Struct, frozen=True):
    """A row of a table; of text or strips in the order of its columns.

    Fields:
        table: which of the page's tables.
        entry: True if it can be chosen.
        bold, dim: how its texts are inked.
    """

    table: int
    cells: tuple[Cell, ...]
    entry: bool = False
    bold: bool = False
    dim: bool = False


class Heading(Struct, frozen=True):
    """A text on a band over the whole width, and what stands at its right; with `table` its
    columns' heads follow on the same row.
    """

    text: str = ""
    beside: str = ""
    entry: bool = False
    table: int | None = None


class Words(Struct, frozen=True):
    """A sentence that takes as many rows as it needs, after a faint label in a column of its own.

    Fields:
        parts: where it may be ended with "and 4 more" so that it stays on one row; () for a
            sentence that is said whole.
        hang: cells by which its further rows stand in.
        wide: True if it stands on a wide screen only.
    """

    text: str = ""
    label: str = ""
    indent: int = 0
    entry: bool = False
    dim: bool = False
    bold: bool = False
    parts: tuple[str, ...] = ()
    hang: int = 0
    wide: bool = False


class Large(Struct, frozen=True):
    """A few words in letters of the family, as high as they fit; left out where they have no room.

    Fields:
        text: the words; where they are left out another row has to say the same.
        highest: in points of half a row.
        most: lines that they take at most.
    """

    text: str
    highest: int
    most: int = 1


class Air(Struct, frozen=True):
    """An empty row; `wide`: on a wide screen only."""

    wide: bool = False


PageRow = Cells | Heading | Words | Large | Air


class Page(Struct, frozen=True):
    """What a page says.

    Fields:
        name: what it is called, in its head.
        said: a short sentence behind the name; where there is no room it is left out.
        rows: from the top; those that can be chosen are its entries, and what follows an entry
            up to the next one or a heading belongs to it.
        tables: that its rows are set in.
        fixed: rows that stay on top while the others move.
        reading: True for a text that is read: the rows move, none is chosen.
        ground: what all of it stands on.
        chart: what fills all that the rows on top leave; its page has no other rows.
    """

    name: str
    rows: tuple[PageRow, ...]
    said: str = ""
    tables: tuple[Table, ...] = ()
    fixed: tuple[PageRow, ...] = ()
    reading: bool = False
    ground: Ground = "page"
    chart: Chart | None = None


class Head(Struct, frozen=True):
    """What stands at the top of every page beside its name.

    Fields:
        time: of day; "" where it is not known.
        ground, window: the window that hurts first, its text on its ground; "" for none.
    """

    time: str = ""
    ground: Ground = "page"
    window: str = ""


def entries(page: Page) -> int:
    """How many entries a page has."""
    return sum(not isinstance(row, Air | Large) and row.entry for row in page.rows)
