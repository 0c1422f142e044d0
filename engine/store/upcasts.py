"""How a body that an older version wrote becomes the newest of its kind, step by step.

A row is never written anew: its body is brought up each time it is read. A tag may change on
the way, so that a kind can be called something else; the disk and its digests do not notice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from msgspec import Struct

from cartclock.engine.facts.events import TAGS

Body = dict[str, Any]
# Total for every body that its version could write; what raises is read as `Unknown`.
Upcast = Callable[[Body], Body]


def _as_it_is(body: Body) -> Body:
    return body


def _called_now(body: Body) -> Body:
    """The first version knew one call only: the rest is due now."""
    return {**body, "grade": "now"}


# Words of a person are sealed from their second version on; the first wrote them into the row,
# and such words are still read.
_SEALED_SINCE = (
    "ClockedOff", "FeltUnwell", "RestOverruled", "WorkStarted", "SectionSkipped",
    "SectionReopened", "UseCorrected", "JobClosed", "JobReopened", "PressStruck",
)  # fmt: skip
# From their second version on a field has more words to choose from.
_MORE_WORDS_SINCE = ("DamageNoted",)
# From their second version on they hold why a rule was overruled.
_OVERRULES_SINCE = ("BreakTaken", "OtherWorkStarted")
# (tag, version) on the disk -> (tag of the version behind it, how its body is made).
UPCASTS: dict[tuple[str, int], tuple[str, Upcast]] = {
    **{
        (tag, 1): (tag, _as_it_is)
        for tag in (*_SEALED_SINCE, *_MORE_WORDS_SINCE, *_OVERRULES_SINCE)
    },
    ("RestCalled", 1): ("RestCalled", _called_now),
}


def newest_version(tag: str, v: int, body: Body) -> tuple[str, int, Body]:
    """A stored (tag, v, body) as the newest version that leads on from it."""
    while (tag, v) in UPCASTS:
        (tag, step), v = UPCASTS[tag, v], v + 1
        body = step(body)
    return tag, v, body


def stored_as(events: Iterable[type[Struct]]) -> list[str]:
    """Every tag under which rows of these events may stand on the disk, sorted."""
    found = {TAGS[event] for event in events}
    while more := {old for (old, _v), (new, _step) in UPCASTS.items() if new in found} - found:
        found |= more
    return sorted(found)
