"""The pages that a chart can be: drawn, as a table, or a sentence where nothing is to draw."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.tui.face.chart import Chart
from cartclock.tui.face.page import Cell, Cells, Heading, Page, PageRow, Table, Words

SHADE = "░"
"""What lies between two ways is filled with it."""


def drawn(name: str, of: str, beside: str, chart: Chart) -> Page:
    """A chart.

    Args:
        name: of the page, in a word or two.
        of: what it is about; beside: what is said at its right.
    """
    return Page(name, (), fixed=(Heading(of, beside),), reading=True, chart=chart)


def tabled(name: str, of: str, beside: str, table: Table, rows: Sequence[tuple[Cell, ...]]) -> Page:
    """The same figures as rows in the order of the table's columns."""
    top: tuple[PageRow, ...] = (Heading(of, beside), Heading(table=0))
    return Page(name, tuple(Cells(0, row) for row in rows), "", (table,), top, reading=True)


def unsaid(name: str, of: str, sentence: str) -> Page:
    """What it is about, and why there is no chart."""
    return Page(name, (Words(sentence),), fixed=(Heading(of),), reading=True)
