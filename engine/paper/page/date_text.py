"""Dates to keep as lines of text: the first in a box, the others with their notes under them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cartclock.engine.letters import cells, inert, padded, wrapped
from cartclock.engine.paper.page.date import Date

# A label of more cells has its date under it.
_LABEL = 34


def date_lines(dates: Sequence[Date], width: int) -> Iterator[str]:
    """The lines, none wider than `width` cells."""
    for date in dates:
        if date.first:
            yield from _boxed(date, width)
    others = [date for date in dates if not date.first]
    label = min(_LABEL, max((cells(inert(one.labelled)) + 2 for one in others), default=0))
    for one in others:
        said = wrapped(one.labelled, label - 1)
        whens = wrapped(one.when, width - label)
        for at in range(max(len(said), len(whens))):
            name = said[at] if at < len(said) else ""
            yield padded(name, label) + (whens[at] if at < len(whens) else "")
        if one.note:
            yield from (" " * label + line for line in wrapped(one.note, width - label))


def _boxed(date: Date, width: int) -> Iterator[str]:
    rule = f"+{'-' * (width - 2)}+"
    yield rule
    for text in (date.labelled.upper(), "", date.when, "", date.note):
        for line in wrapped(text, width - 4):
            yield f"| {padded(line, width - 4)} |"
    yield rule
