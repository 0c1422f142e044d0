"""The keys of a list in words, in the rows there are for them: no part of it is cut."""

from __future__ import annotations

import re

from cartclock.engine.letters import cells, inert, wrapped

# A hint names keys and what they do, "KEYS: what   KEYS: what", or "KEY what" without a colon.
_PARTED = re.compile(r" {2,}")
_GAP = "   "
# Keys whose doing shows in a list whose chosen line is what SPACE takes, the plainest first. That
# digits stand for something on a line shows nowhere.
_SHOWN = ("up, down", "space")


def hint_parts(hint: str) -> list[str]:
    """The keys that a hint names, each with what it does."""
    return _PARTED.split(hint)


def hint_rows(hint: str, of: str, width: int, most: int, takes_line: bool = True) -> list[str]:
    """A hint in rows between its parts; where it needs more than there are, the keys that the list
    itself shows are left out, and a part that is left over has a row more all the same.

    Args:
        of: which of how many lines is chosen; "" if all are in sight.
        width: cells of a row.
        most: rows wished for.
        takes_line: True if SPACE takes the chosen line; False if it does something of its own, as
            writing the values of all lines, which no line says.
    """
    parts = hint_parts(hint)
    rows = _packed([of, *parts] if of else parts, width)
    for shown in _SHOWN if takes_line else _SHOWN[:1]:
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
