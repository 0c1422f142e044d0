"""Names, words and digits set in letters of the family, in the room there is.

What has no large form in the room is answered by "" or by no lines; the painter then sets text.
"""

from __future__ import annotations

from functools import lru_cache

from cartclock.engine.alphabet import (
    DOWN,
    KNOWN,
    SETTINGS,
    UP,
    in_blocks,
    measured,
    setting,
    unaccented,
)
from cartclock.engine.vehicle.short_names import short_names

# What is called has short forms of its own: the rule of the panels would take the wrong word.
CALLED: dict[str, tuple[str, ...]] = {
    "BACK TO WORK": ("BACK TO WORK", "TO WORK"),
    "NO JOB OPEN": ("NO JOB OPEN", "NO JOB"),
    "NOTHING IN HAND": ("NOTHING IN HAND", "NOTHING"),
    "OFF THE CLOCK": ("OFF THE CLOCK", "OFF CLOCK", "OFF"),
    "ANSWER": ("ANSWER",),
    "ARE YOU WELL?": ("ARE YOU WELL?", "WELL?"),
}

# Words that say little are left out beside the digits.
_SMALL = frozenset({"AND", "THE", "OF", "A"})
_WEDGES = {"down": DOWN, "up": UP, "": ""}


def forms(name: str) -> tuple[str, ...]:
    """The forms of a name or of what is called, from whole to shortest, in capitals."""
    called = CALLED.get(name.upper())
    if called is not None:
        return called
    return tuple(dict.fromkeys(unaccented(form) for form in short_names(name)))


@lru_cache(maxsize=256)
def large_form(name: str, height: int, columns: int) -> str:
    """The longest form of a name that fits in letters of that height; "" if none does.

    Args:
        height: in points, a key of `SETTINGS`.
        columns: cells.
    """
    for form in forms(name):
        if set(form) <= KNOWN and setting(form, height, columns):
            return form
    return ""


def letters(text: str, height: int, columns: int, offset: int = 0) -> tuple[str, ...]:
    """A text in letters, its words not shortened; no lines if it has no room or no large form.

    offset: points left free above, 0 or 1.
    """
    said = unaccented(text)
    if not said or not set(said) <= KNOWN:
        return ()
    found = setting(said, height, columns)
    return in_blocks(said, height, *found, offset) if found else ()


@lru_cache(maxsize=256)
def word_lines(words: str, height: int, columns: int, most: int) -> tuple[str, ...]:
    """Words in no more than so many lines that fit in letters of that height; small words are left
    out, and words behind the last line, too.
    """
    lines: list[str] = []
    for word in (part.rstrip(",.;:") for part in unaccented(words).split()):
        if word in _SMALL or not set(word) <= KNOWN:
            continue
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and setting(joined, height, columns):
            lines[-1] = joined
        elif setting(word, height, columns):
            lines.append(word)
    return tuple(lines[:most])


@lru_cache(maxsize=256)
def sentence_lines(text: str, height: int, columns: int, most: int) -> tuple[str, ...]:
    """All the words of a sentence in so many lines or fewer; none if they have no room.

    The lines are as few as they can be, and as alike: the longest one says how wide letters are.
    """
    words = tuple(unaccented(text).split())
    if not all(set(word) <= KNOWN for word in words):
        return ()
    whole = len(" ".join(words))
    fewest = _parted(words, whole, height, columns)
    if not fewest or len(fewest) > most:
        return ()
    for longest in range(-(-whole // len(fewest)), max(map(len, fewest))):
        alike = _parted(words, longest, height, columns)
        if len(alike) == len(fewest):
            return alike
    return fewest


def _parted(words: tuple[str, ...], longest: int, height: int, columns: int) -> tuple[str, ...]:
    """Words in lines of so many letters at most that fit; none if one of them does not."""
    lines: list[str] = []
    for word in words:
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and len(joined) <= longest and setting(joined, height, columns):
            lines[-1] = joined
        elif setting(word, height, columns):
            lines.append(word)
        else:
            return ()
    return tuple(lines)


def digit_lines(
    runs: str, digits: str, height: int, columns: int, offset: int = 0
) -> tuple[str, ...]:
    """Digits with the wedge that says which way they run; no lines if they have no room.

    Every digit is as wide as a 0, so that nothing moves while they run.

    Args:
        runs: "down", "up" or "".
        height: in points, a key of `SETTINGS`.
        offset: points left free above, 0 or 1.
    """
    text = unaccented(digits)
    if not text or not set(text) <= KNOWN:
        return ()
    return _digit_lines(_WEDGES[runs] + text, height, columns, offset)


@lru_cache(maxsize=256)
def _digit_lines(text: str, height: int, columns: int, offset: int) -> tuple[str, ...]:
    found = setting("".join("0" if char.isdigit() else char for char in text), height, columns)
    if found is None:
        return ()
    width, gap = found
    rows = [""] * -(-(height + offset) // 2)
    for index, char in enumerate(text):
        wide = measured("0" if char.isdigit() else char, height, width, gap)
        part = in_blocks(char, height, width, gap, offset)
        for y, line in enumerate(part):
            set_in = line.center(wide) if char == "1" else line.ljust(wide)
            rows[y] += (" " * gap if index else "") + set_in
    return tuple(rows)


HEIGHTS = tuple(sorted(SETTINGS, reverse=True))
"""The heights of the family in points, the largest first."""


def most_digits(runs: str, digits: str, columns: int, rows: int) -> tuple[str, ...]:
    """The digits as high as they fit in so many columns and rows; no lines if they do not."""
    for height in HEIGHTS:
        found = digit_lines(runs, digits, height, columns) if height <= 2 * rows else ()
        if found:
            return found
    return ()
