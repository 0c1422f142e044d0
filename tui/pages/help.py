"""Help as a page: what is looked for, the keys that have to do with it, and the words of Run."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Protocol, TypeVar

from msgspec import Struct

from cartclock.tui.face.page import Cells, Column, Page, PageRow, Table, Words

_KEYS = 0
_TABLES = (
    Table(
        (
            Column(least=9, most=9),
            Column(least=12, most=12),
            Column(least=30, folds=True),
        ),
        stacks=True,
    ),
)
ASKED = "Type words: what it is about. ENTER presses the key that is chosen."
NOTHING = "Nothing has to do with that; backspace takes the last letter back."


class Sought(Protocol):
    """What is told of a key; see `Key`."""

    @property
    def id(self) -> str:
        """Name for the code."""

    @property
    def faces(self) -> tuple[str, ...]:
        """What is printed on each of its keys."""

    @property
    def label(self) -> str:
        """What it does, in one to three words."""

    @property
    def help(self) -> str:
        """One sentence."""

    @property
    def also(self) -> tuple[str, ...]:
        """Other words by which somebody may look for it."""


K = TypeVar("K", bound=Sought)


class Term(Struct, frozen=True):
    """A word that stands large on Run, and what it means."""

    word: str
    means: str


TERMS = (
    Term("WAIT", "The film is not ready. A break or a call never stops a window."),
    Term("LOOK", "It may be ready; the eye decides."),
    Term(
        "READY",
        "On this ground it is: the word is the work, the digits run down to when it must be "
        "begun, the small ones to the close.",
    ),
    Term("LATE", "It closed; do the work all the same, the record says so."),
    Term(
        "SPACE",
        "Ends what is in hand and takes up what its line names; digits before it mean minutes "
        "ago. Nothing advances by itself.",
    ),
    Term("REST", "SOON: at the end of this panel or film. NOW: as soon as no film is in play."),
    Term("last word", "The eye, the label, local rules and medical advice come first."),
)


def _words(text: str) -> list[str]:
    """The words of a text without what stands between and around them, in small letters."""
    return re.findall(r"\w+", text.lower())


def _has(typed: str, *texts: str) -> bool:
    """Whether a word of the texts begins with what was typed, one word."""
    return any(word.startswith(typed) for word in _words(" ".join(texts)))


def _near(key: Sought, word: str) -> int:
    """How near a key is to one word: 0 its own word, 1 what it is also called, 2 its sentence,
    3 not at all.
    """
    if _has(word, key.label):
        return 0
    return 1 if _has(word, *key.also) else 2 if _has(word, key.help) else 3


def _about(key: Sought, typed: str) -> int:
    """How near a key is to all that was typed: as near as to the word it is farthest from; what is
    printed on it is its own word.
    """
    if typed.strip() in (face.lower() for face in key.faces):
        return 0
    return max((_near(key, word) for word in _words(typed)), default=3)


def found(keys: Sequence[K], typed: str) -> tuple[K, ...]:
    """The keys that have to do with what was typed, the nearest first; all of them for "".

    typed: beginnings of words, in small letters; a key has to do with each of them.
    """
    if not typed:
        return tuple(keys)
    near = [(about, key) for key in keys if (about := _about(key, typed)) < 3]
    return tuple(key for _about, key in sorted(near, key=lambda pair: pair[0]))


def _terms(typed: str) -> tuple[Term, ...]:
    """The words of Run that have to do with what was typed; all of them for ""."""
    words = _words(typed)
    if not words:
        return () if typed else TERMS
    return tuple(t for t in TERMS if all(_has(word, t.word, t.means) for word in words))


def help_page(keys: Sequence[Sought], typed: str, reasons: Mapping[str, str]) -> Page:
    """The page.

    Args:
        keys: the registry.
        typed: what is looked for, in small letters; "" for everything.
        reasons: key id -> why it cannot be used now.
    """
    rows: list[PageRow] = []
    for key in found(keys, typed):
        why = reasons.get(key.id, "")
        said = f"{key.help} Not now: {why}" if why else key.help
        face, *others = key.faces
        if others:
            said += f" Also on {', '.join(others)}."
        rows.append(Cells(_KEYS, (face, key.label, said), entry=True, dim=bool(why)))
    rows += [Words(f"{term.word}: {term.means}", entry=True) for term in _terms(typed)]
    line = f"about: {typed}_" if typed else ASKED
    rows = rows or [Words(NOTHING, entry=True)]
    fixed = (Words(line, bold=bool(typed)),)
    return Page("Keys and words", tuple(rows), tables=_TABLES, fixed=fixed)
