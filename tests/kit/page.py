"""What a page says, entry by entry, whatever its size."""

from __future__ import annotations

from cartclock.tui.face.page import Air, Cells, Heading, Large, Page, PageRow
from cartclock.tui.screens.listing import ListingScreen
from tests.kit.stage import Play


def page_of(play: Play) -> Page:
    """The page on top, as it is told to be drawn."""
    assert isinstance(play.screen, ListingScreen)
    return play.screen.page()


def said(play: Play) -> list[str]:
    """Each entry of the page on top as one text: everything in its rows, strips left out, up to
    the next entry or heading.
    """
    found: list[list[str]] = []
    inside = False
    for row in page_of(play).rows:
        if isinstance(row, Air | Large):
            continue
        if row.entry:
            found.append([])
            inside = True
        elif isinstance(row, Heading):
            inside = False
        if inside:
            found[-1] += _texts(row)
    return ["   ".join(texts) for texts in found]


def chosen(play: Play) -> str:
    """The chosen entry."""
    assert isinstance(play.screen, ListingScreen)
    return said(play)[play.screen.at]


def read(play: Play) -> str:
    """Everything that the page on top says, row by row; a text is not folded."""
    page = page_of(play)
    return "\n".join("   ".join(_texts(row)) for row in (*page.fixed, *page.rows))


def _texts(row: PageRow) -> list[str]:
    match row:
        case Cells():
            texts = [cell for cell in row.cells if isinstance(cell, str)]
        case Heading():
            texts = [row.text, row.beside]
        case Air() | Large():
            texts = []
        case _:
            texts = [row.label, row.text or ", ".join(row.parts)]
    return [text for text in texts if text]
