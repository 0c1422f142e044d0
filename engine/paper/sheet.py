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
        body_pt: how large the letters of its body are in print where they have room.
        floor_pt: they are never made smaller than this to keep to its pages.
        least_pt: no letter of it is smaller.
        lying: True if it is printed across.
        briefs: put it in fewer words, each in fewer than the one before, for where it takes too
            many pages even so. What they leave out stands on another paper, and they say on which.
        annex: puts what comes behind its pages and is not counted among them; None: nothing.
    """

    title: str
    put: Callable[[Medium, PaperFacts], None]
    pages: int | None = None
    body_pt: float = 9.0
    floor_pt: float = 8.0
    least_pt: float = 7.0
    lying: bool = False
    briefs: tuple[Callable[[Medium, PaperFacts], None], ...] = ()
    annex: Callable[[Medium, PaperFacts], None] | None = None


def render(sheet: Sheet, facts: PaperFacts, medium: Medium) -> bytes:
    """The sheet set in an empty medium.

    One that takes more pages than it may is put again in smaller letters, down to its floor,
    and then in fewer words. What does not fit even so turns the page: no fact is dropped.
    """
    medium = _fitted(sheet, facts, medium)
    if sheet.annex is not None:
        sheet.annex(medium, facts)
    return medium.finished()


def _fitted(sheet: Sheet, facts: PaperFacts, medium: Medium) -> Medium:
    """The medium with the sheet on it, in the largest letters that keep to its pages."""
    put, briefs = sheet.put, list(sheet.briefs)
    while True:
        medium.begin(sheet.title, sheet.lying, sheet.body_pt, sheet.least_pt)
        put(medium, facts)
        if sheet.pages is None or medium.fits(sheet.pages):
            return medium
        less = medium.smaller(sheet.floor_pt)
        if less is None:
            if not briefs:
                return medium
            put, less = briefs.pop(0), medium.empty()
        medium = less
