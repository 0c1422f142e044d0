"""Strips: tape along a line of hours or of days, which shows what lies where.

Tape is told apart by how high it lies and by its pattern, never by colour. A strip says the
same in words, for a page that draws none and for whoever cannot see it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct

Lies = Literal["full", "half", "low", "hatch", "none"]
"""How a piece of tape lies: full for hands on or not yet, half for standing by or a film, low
for a break or what is allowed, hatched for other work or an example; none for a place where
something is written and nothing lies."""


class StripSpan(Struct, frozen=True):
    """A piece of tape from one place of the scale to a later one, and what is written on it."""

    start: float
    end: float
    lies: Lies
    says: str = ""


class Strip(Struct, frozen=True):
    """One row of tape.

    Fields:
        label: what it is of, in a word or two.
        spans: in order; they do not overlap.
        words: the same in words; "" if the spans say all of it.
    """

    label: str
    spans: tuple[StripSpan, ...]
    words: str = ""


class StripScale(Struct, frozen=True):
    """What strips lie along, from 0 to `length`.

    Fields:
        length: of the scale, over 0; with `columns` the number of columns.
        ticks: places and what is written there, in order. At a cut, as hours are; with
            `columns` at the left edge of a column, which it stands over, as days are: its
            text may have two lines then.
        columns: see there.
        weak: indices of columns that are set back, as the days of a weekend.
    """

    length: float
    ticks: tuple[tuple[float, str], ...]
    columns: bool = False
    weak: frozenset[int] = frozenset()


Means = Sequence[tuple[Lies, str]]
"""What each way of lying stands for."""

DRAWN: Mapping[Lies, str] = {
    "full": "black",
    "half": "half",
    "low": "line",
    "hatch": "hatched",
    "none": "blank",
}
"""How tape that is drawn is called, by how it lies."""


def legend_text(means: Means, called: Mapping[Lies, str], of: str) -> str:
    """What tape stands for, in one sentence.

    called: how a medium calls what it set. of: which tape, "Tape" or that of one row.
    """
    return f"{of}: {'; '.join(f'{called[lies]}: {said}' for lies, said in means)}."


def strip_words(strip: Strip) -> str:
    """The strip for whoever does not see it: its words, else what is written on its tape."""
    return strip.words or "; ".join(span.says for span in strip.spans if span.says)
