"""Letters, once for screen and paper: made inert, counted in cells, parted into lines.

Text of persons comes in as it was typed: wide letters, combining marks, escape codes, marks
that turn the writing direction. It leaves as text that no terminal and no page obeys, and
that takes as many cells on paper as on the screen.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterator

ELLIPSIS = "…"

# Joiners, which letters of some scripts need, and the signs written around numbers (Unicode 15,
# property Prepended_Concatenation_Mark; from memory).
_KEPT = frozenset(
    "\u200c\u200d\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2"
    "\U000110bd\U000110cd"
)
_BREAKS = frozenset("\n\r\u2028\u2029\x85\x0b\x0c")
_LEAST_CELLS = 2


def inert(text: str) -> str:
    """Text that steers nothing: one line feed for every kind of line break, no controls.

    A control character becomes its visible picture (escape: U+241B), everything else that
    has no picture, writing direction marks included, the replacement character U+FFFD. A
    tab becomes a space. Joiners stay. No letter is lost; doing it twice changes nothing more.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(map(_inert, text.replace("\r\n", "\n")))


def _inert(char: str) -> str:
    if char in _BREAKS:
        return "\n"
    if char == "\t" or unicodedata.category(char) == "Zs":
        return " "
    if char < " ":
        return chr(0x2400 + ord(char))
    if char == "\x7f":
        return "\u2421"
    if char in _KEPT or unicodedata.category(char) not in ("Cc", "Cf", "Cs", "Co", "Cn"):
        return char
    # Pictures newer than Python's table of letters are unassigned to it and still drawn.
    return char if 0x1F000 <= ord(char) <= 0x1FAFF else "\ufffd"


def cells(text: str) -> int:
    """How many cells inert text of one line takes: by the tables that the screen is set by."""
    if text.isascii():
        return len(text)
    # Most text is ASCII, and a paper of it need not wait for the tables.
    from rich.cells import cell_len

    return cell_len(text)


def clusters(text: str) -> list[str]:
    """Inert text in letters, each with what is drawn on it or joined to it; together the text."""
    if text.isascii():
        return list(text)
    from rich.cells import split_graphemes

    return [text[start:end] for start, end, _cells in split_graphemes(text)[0]]


def parted(text: str, first: float, others: float, size: Callable[[str], float]) -> list[str]:
    """Inert text in lines, at least one; parted at spaces, a word that is too long in itself.

    Its own line breaks stay, spaces at both ends of a line go, and so do empty lines at the
    end. Takes time in proportion to the text.

    Args:
        first, others: room in the first line and in the others, > 0, in the unit of `size`. A
            single letter that needs more stands alone.
        size: of a piece; of two pieces in a row no more than that of both.
    """
    lines: list[str] = []
    space = size(" ")

    def room() -> float:
        return others if lines else first

    for paragraph in text.split("\n"):
        line: list[str] = []
        used = 0.0
        for word in paragraph.split(" "):
            length = size(word)
            if line and used + space + length <= room():
                line += (" ", word)
                used += space + length
                continue
            if line:
                lines.append("".join(line).rstrip(" "))
            line, used = [], 0.0
            if length <= room():
                # A line begins with a letter: the spaces between two words may be many.
                line, used = ([word], length) if word else ([], 0.0)
                continue
            for piece, length in _pieces(word, min(first, others), size):
                if line and used + length > room():
                    lines.append("".join(line))
                    line, used = [], 0.0
                line.append(piece)
                used += length
        lines.append("".join(line).rstrip(" "))
    while len(lines) > 1 and not lines[-1]:
        lines.pop()
    return lines


def _pieces(word: str, room: float, size: Callable[[str], float]) -> Iterator[tuple[str, float]]:
    """What a word may be parted into, with sizes; marks leave their letter only if they must."""
    for cluster in clusters(word):
        length = size(cluster)
        if length <= room:
            yield cluster, length
        else:
            yield from ((char, size(char)) for char in cluster)


def wrapped(text: str, width: int, hang: int = 0) -> list[str]:
    """Text in lines of at most `width` cells, at least one line; long words are cut.

    The text is made inert; its own line breaks stay. Every line but the first is `hang`
    cells narrower; 2 cells at least are left.
    """
    first, others = max(_LEAST_CELLS, width), max(_LEAST_CELLS, width - hang)
    if len(text) <= first and text.isascii() and text.isprintable():
        # Nothing to part, and so it is with most of a paper.
        return [text.strip(" ")]
    return parted(inert(text), first, others, cells)


def cropped(line: str, width: int) -> str:
    """One inert line in at most `width` cells, ended by an ellipsis if it was longer.

    A letter that would stand half outside is left out; "" for no width.
    """
    if cells(line) <= width:
        return line
    if width < 1:
        return ""
    kept: list[str] = []
    used = 0
    for cluster in clusters(line[: width - 1] if line.isascii() else line):
        used += cells(cluster)
        if used > width - 1:
            break
        kept.append(cluster)
    return "".join(kept).rstrip(" ") + ELLIPSIS


def by_words(text: str, width: int) -> str:
    """A text in one line of at most `width` cells, at least one: as many whole words as fit, or
    cropped where these would fill less than half of it.
    """
    said = text = inert(text).replace("\n", " ")
    width = max(width, 1)
    while cells(text) > width and " " in text:
        text = text.rsplit(" ", 1)[0]
    if text is said or not width / 2 <= cells(text) <= width:
        return cropped(said, width)
    return text.rstrip(",:;")


def padded(line: str, width: int, right: bool = False) -> str:
    """A line filled with spaces to `width` cells, at the left if `right`."""
    space = " " * (width - cells(line))
    return space + line if right else line + space


def plate_letters(plate: str) -> str:
    """A plate as it is compared: two people write its blanks, hyphens and capitals in
    two ways."""
    return "".join(letter for letter in plate.upper() if letter.isalnum())
