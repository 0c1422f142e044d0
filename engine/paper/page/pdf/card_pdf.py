"""A card in print, which is read through glass: a few words as tall as the sheet allows."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.page.pdf.ink import Ink
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.paper.page.pdf.tape import put_tape

# Height of the capitals in shares of a letter's size, as the font says.
_CAPITAL = 0.729

LEAST_PT = 40.0
"""No word of a card but its foot is smaller, in points: its capitals are 10.3 mm high, which is
20 minutes of arc at 1.77 m; 16 are called the least, 20 to 22 better (NUREG-0700; read
second-hand)."""

_MOST_OVER, _MOST_UNDER, _LARGEST = 72.0, 40.0, 400.0
_IN, _BETWEEN, _AFTER = 8.0, 16.0, 13.0
# Below the base line these need a fifth of their size more.
_HANGING = frozenset("Jgjpqy,;Q")


def put_card(page: Print, over: str, lines: Sequence[str], under: Sequence[str], foot: str) -> None:
    """All of it on one page: `over` white on black, `lines` as tall as can be."""
    room = page.width - 2 * _IN
    first, over_pt = page.fitted(over, room, _MOST_OVER, LEAST_PT)
    band = len(first) * over_pt * _CAPITAL * 1.25 + 18.0
    last: list[tuple[str, float]] = []
    for text in under:
        said, size = page.fitted(text, room, _MOST_UNDER, LEAST_PT)
        last += [(line, size) for line in said]
    low = sum(size * _CAPITAL + _AFTER for _line, size in last)
    said = page.letters.lines(foot, page.width, "regular", page.small) if foot else []
    step = page.small * 1.25
    tall = page.tallest - band - low - len(said) * step - 26.0
    large = _sized(page, lines, room, tall)
    if sum(_height(line, size) for line, size in large) > tall:
        # So many words are no card any more; they are still told.
        for text in (over, *lines, *under, foot):
            page.line(text)
        return

    def draw(ink: Ink, x: float, y: float) -> None:
        middle = x + page.width / 2
        put_tape(ink, x, y - band, page.width, band, 18.0)
        for index, line in enumerate(first):
            at = y - 9.0 - over_pt * _CAPITAL * (1 + 1.25 * index)
            ink.text(middle, at, line, "bold", over_pt, "middle", grey=1.0)
        at = y - band - 6.0
        spare = max(0.0, tall - sum(_height(line, size) for line, size in large))
        for line, size in large:
            at -= spare / (len(large) + 1) + size * _CAPITAL + _BETWEEN / 2
            ink.text(middle, at, line, "bold", size, "middle")
            at -= _height(line, size) - size * _CAPITAL - _BETWEEN / 2
        at = y - page.tallest + len(said) * step + 6.0 + low
        for line, size in last:
            at -= size * _CAPITAL + _AFTER
            ink.text(middle, at + 6.0, line, "bold", size, "middle")
        for index, line in enumerate(reversed(said)):
            ink.text(x, y - page.tallest + 2.0 + index * step, line, "regular", page.small)

    page.drawing(page.tallest, draw)


def _height(line: str, size: float) -> float:
    return size * (_CAPITAL + 0.2 * bool(_HANGING & set(line))) + _BETWEEN


def _sized(page: Print, lines: Sequence[str], room: float, tall: float) -> list[tuple[str, float]]:
    """The lines as wide as the card, the tallest made smaller until all of them have room."""
    found: list[tuple[str, float]] = []
    for text in lines:
        said, size = page.fitted(text, room, _LARGEST, LEAST_PT)
        found += [(line, size) for line in said]
    while sum(_height(line, size) for line, size in found) > tall:
        most = max(range(len(found)), key=lambda at: found[at][1])
        line, size = found[most]
        if size <= LEAST_PT:
            break
        found[most] = line, size - 1.0
    return found
