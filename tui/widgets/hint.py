"""The keys of a list in words, in the rows there are for them: no part of it is cut."""

from __future__ import annotations

import re

from cartclock.engine.letters import cells, inert, wrapped

# A hint names keys and what they do, "KEYS: what   KEYS: what", or "KEY what" without a colon.
_PARTED = re.compile(r" {2,}")
_GAP = "   "
# Keys whose doing shows in the list itself, the plainest first.
_SHOWN = ("up, down", "0-9", "space")


def hint_parts(hint: str) -> list[str]:
    """The keys that a hint names, each with what it does."""
    return _PARTED.split(hint)


def hint_rows(hint: str, of: str, width: int, most: int) -> list[str]:
    """A hint in rows between its parts; where it needs more than there are, the keys that the list
    itself shows are left out, and a part that is left over has a row more all the same.

    Args:
        of: which of how many lines is chosen; "" if all are in sight.
        width: cells of a row.
        most: rows wished for.
    """
    parts = hint_parts(hint)
    rows = _packed([of, *parts] if of else parts, width)
    for shown in _SHOWN:
        if len(rows) <= most:
            break
        parts = [part for part in parts if not part.startswith(f"{shown}: ")]
        rows = _packed([of, *parts] if of else parts, width)
    return rows


def _packed(parts: list[str], width: int) -> list[str]:
    rows: list[str] = []
    for part in map(inert, parts):
        joined = f"{rows[-1]}{_GAP}{part}" if rows else part
        if rows and cells(joined) <= width:
            rows[-1] = joined
        else:
            rows += wrapped(part, max(width, 2))
    return rows
