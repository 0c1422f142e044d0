"""The last lines of a paper that left the laptop: which revision it is, and what changed."""

from __future__ import annotations

from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.record.revision import Revision, change_text, revision_text

# How many changes one paper tells; our own judgement.
_TOLD = 40


def put_revision(medium: Medium, revision: Revision | None, zone: str, changes: bool) -> None:
    """The chapter of the revision; nothing for None, a copy that is only looked at.

    changes: True for a paper that stays in the shop. A customer's paper names the revision and
    the one it replaces only, because what was pressed in between may tell a worker's reasons.
    """
    if revision is None:
        return
    medium.heading("Revision")
    medium.words(revision_text(revision, zone), 1, True)
    if not changes or not revision.changes:
        return
    medium.words("What changed since:", 1)
    for change in revision.changes[:_TOLD]:
        medium.words(change_text(change, zone), 2, True)
    more = len(revision.changes) - _TOLD
    if more > 0:
        medium.words(f"and {more} more", 2)
