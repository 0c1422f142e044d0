"""The last lines of a paper that left the laptop: which revision it is, and what changed."""

from __future__ import annotations

from engine.job.revision import Revision, change_text, revision_text
from engine.paper.page.text import Page

# How many changes one paper tells; our own judgement.
_TOLD = 40


def put_revision(page: Page, revision: Revision | None, zone: str, changes: bool) -> None:
    """The chapter of the revision; nothing for None, a copy that is only looked at.

    changes: True for a paper that stays in the shop. A customer's paper names the revision and
    the one it replaces only, because what was pressed in between may tell a worker's reasons.
    """
    if revision is None:
        return
    page.chapter("Revision")
    page.line(revision_text(revision, zone), 2, 2)
    if not changes or not revision.changes:
        return
    page.line("What changed since:", 2)
    for change in revision.changes[:_TOLD]:
        page.line(change_text(change, zone), 4, 2)
    more = len(revision.changes) - _TOLD
    if more > 0:
        page.line(f"and {more} more", 4)
