"""Dates to keep as lines of text: the first in a box, the others with their notes under them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cartclock.engine.alphabet import KNOWN, SETTINGS, in_blocks, setting
from cartclock.engine.letters import cells, inert, padded, wrapped
from cartclock.engine.paper.page.date import Date

# A label of more cells is parted. In a narrow line every date stands under its label.
_LABEL, _NARROW = 34, 60


def date_lines(dates: Sequence[Date], width: int) -> Iterator[str]:
    """The lines, none wider than `width` cells."""
    for date in dates:
        if date.first:
            yield from _boxed(date, width)
    others = [date for date in dates if not date.first]
    if width < _NARROW:
        for one in others:
            yield from wrapped(one.labelled, width)
            for text in (one.when, one.note):
                yield from (f"  {line}" for line in wrapped(text, width - 2) if line)
        return
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
    for line in _told(date, width - 4):
        yield f"| {padded(line, width - 4)} |"
    yield rule


def _told(date: Date, room: int) -> Iterator[str]:
    label, large = inert(date.labelled.upper()), _large(date.when, room) if date.known else ()
    if large and cells(label) + len(date.when) < room:
        # What is drawn is not to be read by a program: the date stands in words as well.
        yield label + padded(inert(date.when), room - cells(label), right=True)
        yield ""
        yield from large
    elif large:
        yield from wrapped(label, room)
        yield inert(date.when)
        yield ""
        yield from large
    else:
        yield from wrapped(label, room)
        yield ""
        yield from wrapped(date.when, room)
    yield ""
    if date.note:
        yield from wrapped(date.note, room)


def _large(text: str, room: int) -> tuple[str, ...]:
    """A date in large letters: its day and its time on a line each where one has no room."""
    whole = large_lines(text, room)
    parts = [large_lines(part.strip(), room) for part in text.split(",")]
    if whole or not all(parts):
        return whole
    return tuple(line for part in parts for line in (*part, ""))[:-1]


def large_lines(text: str, room: int, most: int = 10) -> tuple[str, ...]:
    """A few words in letters of half blocks; () if the family lacks a letter or there is no room.

    room: cells. most: height in points, two of which are a line.
    """
    said = text.upper().replace(",", " ")
    if not said.isascii() or not set(said) <= KNOWN:
        return ()
    for height in sorted((high for high in SETTINGS if high <= most), reverse=True):
        found = setting(said, height, room)
        if found is not None:
            return in_blocks(said, height, *found)
    return ()
