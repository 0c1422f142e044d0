"""A sheet, and how it is set in a medium."""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.medium import Medium


class Sheet(Struct, frozen=True):
    """What one paper says.

    Fields:
        title: what it is called, "Job record".
        put: puts all of it on a medium.
        pages: how many it may take in print; None: as many as it needs.
        floor_pt: letters of its body are never made smaller than this to keep to its pages.
        lying: True if it is printed across.
    """

    title: str
    put: Callable[[Medium, PaperFacts], None]
    pages: int | None = None
    floor_pt: float = 8.0
    lying: bool = False


def render(sheet: Sheet, facts: PaperFacts, medium: Medium) -> bytes:
    """The sheet set in an empty medium.

    One that takes more pages than it may is put again in smaller letters, down to its floor;
    what does not fit then turns the page, because no fact is dropped.
    """
    while True:
        medium.begin(sheet.title, sheet.lying)
        sheet.put(medium, facts)
        less = None if sheet.pages is None else medium.smaller(sheet.pages, sheet.floor_pt)
        if less is None:
            return medium.finished()
        medium = less
