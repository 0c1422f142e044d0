"""Dates to keep, in print: the first as large as the line takes it, the others in a row."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.pdf.ink import BODY, LEADING, Ink
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.paper.page.pdf.tape import put_tape

# Sizes of letters in points. A box taller than this is none any more, and its words are set.
_FIRST, _NEXT, _LEAST = 44.0, 15.0, 8.0
_TALLEST = 160.0
_IN, _BETWEEN = 14.0, 7.0


def put_date_boxes(page: Print, dates: Sequence[Date]) -> None:
    """The first in a box of its own, the others side by side under it."""
    others = [one for one in dates if not one.first]
    for one in dates:
        if one.first:
            _put_first(page, one)
    if others:
        _put_others(page, others)
    page.line()


def _in_words(page: Print, dates: Sequence[Date]) -> None:
    for one in dates:
        page.line(f"{one.labelled} {one.when}", lead=True)
        if one.note:
            page.line(one.note)


def _put_first(page: Print, one: Date) -> None:
    letters, room = page.letters, page.width - 2 * _IN
    when, size = page.fitted(one.when, room, _FIRST, _LEAST)
    labels, label_size = page.fitted(one.labelled, room, BODY + 2, _LEAST)
    note = letters.lines(one.note, room, "regular", BODY) if one.note else []
    top = BODY + 9.0
    wide = letters.width(labels[0], "bold", label_size) + 2 * _IN - 2
    height = top + size + len(note) * LEADING + 8.0
    if len(when) > 1 or len(labels) > 1 or height > _TALLEST:
        _in_words(page, [one])
        return

    def draw(ink: Ink, x: float, y: float) -> None:
        # Ink is dear where a paper is printed at home: an outline, only the label is black.
        put_tape(ink, x, y - height, page.width, height, 12.0, line=2.6, grey=None)
        put_tape(ink, x, y - top, wide, top, 9.0)
        ink.text(x + _IN, y - top + 5.5, labels[0], "bold", label_size, grey=1.0)
        ink.text(x + _IN, y - top - 5.0 - size * 0.78, when[0], "bold", size)
        for index, line in enumerate(reversed(note)):
            ink.text(x + _IN, y - height + 8.0 + index * LEADING, line)

    page.drawing(height, draw)
    page.air(_BETWEEN)


def _put_others(page: Print, dates: Sequence[Date]) -> None:
    letters = page.letters
    width = (page.width - _BETWEEN * (len(dates) - 1)) / len(dates)
    room = width - 18.0
    fitted = [page.fitted(one.when, room, _NEXT, _LEAST) for one in dates]
    size = min(size for _when, size in fitted)
    labels = [letters.lines(one.labelled, room, "regular", BODY) for one in dates]
    notes = [letters.lines(one.note, room, "regular", page.small) if one.note else []
             for one in dates]  # fmt: skip
    over = max(map(len, labels)) * LEADING
    step = page.small * 1.27
    height = 10.0 + over + size * 1.3 + max(map(len, notes)) * step
    if any(len(when) > 1 for when, _size in fitted) or height > _TALLEST:
        _in_words(page, dates)
        return

    def draw(ink: Ink, x: float, y: float) -> None:
        for index, (when, _size) in enumerate(fitted):
            left = x + index * (width + _BETWEEN)
            put_tape(ink, left, y - height, width, height, 9.0, line=1.1, grey=None)
            for row, line in enumerate(labels[index]):
                ink.text(left + 9, y - 4.5 - BODY * 0.9 - row * LEADING, line)
            ink.text(left + 9, y - 4 - over - size * 0.95, when[0], "bold", size)
            for row, line in enumerate(notes[index]):
                at = y - 4.5 - over - size * 1.3 - page.small * 0.95 - row * step
                ink.text(left + 9, at, line, "regular", page.small)

    page.drawing(height, draw)
