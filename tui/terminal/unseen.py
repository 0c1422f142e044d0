"""What is meant for the terminal and for no eye, and terminals that print it all the same."""

from __future__ import annotations

import re

# Terminals older than strings to them, by the beginning of their name. The Linux console prints
# what it does not know; from memory.
_DEAF = ("linux", "vt", "ansi", "cons", "sun", "dumb")
# Titles and the like, what is asked of modes, and the keyboard protocol of kitty.
_UNSEEN = re.compile(
    r"\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|\x1b\[\?\d+\$p|\x1b\[(?:>\d+|<)u|\x1b\[\d+;2t"
)


def is_deaf(term: str) -> bool:
    """Whether a terminal of this name is older than what terminals of today are told."""
    return term.startswith(_DEAF)


def understood(data: str, term: str) -> str:
    """What a terminal of this name knows how to take of a text for terminals of today."""
    return _UNSEEN.sub("", data) if is_deaf(term) else data
