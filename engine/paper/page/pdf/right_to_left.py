"""Names in scripts that run from right to left, put in the order in which they are set.

Enough for names and notes inside a paper that runs from left to right: the rules of Unicode
annex 9 for one line without embeddings, and the joined forms of Arabic letters.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

_RIGHT = ("R", "AL")
_NUMBER = ("EN", "AN")
_IN_NUMBER = re.compile(r"\d+(?:[.,:/+-]\d+)*")
_MIRRORED = str.maketrans("()[]{}<>«»‹›", ")(][}{><»«›‹")
_OPENS = {")": "(", "]": "[", "}": "{", "»": "«", "›": "‹", ">": "<"}
_ALEFS = ("\u0622", "\u0623", "\u0625", "\u0627")
_LAM = "\u0644"


def visual(text: str) -> str:
    """A line in the order in which its letters are set from left to right."""
    if text.isascii() or not any(unicodedata.bidirectional(char) in _RIGHT for char in text):
        return text
    text = _joined(text)
    found: list[str] = []
    at = 0
    while at < len(text):
        end = _run_end(text, at)
        found.append(text[at] if end == at else _turned(text[at:end]))
        at = max(end, at + 1)
    return "".join(found)


def _run_end(text: str, at: int) -> int:
    """Where the run from right to left that begins here ends; `at` itself if none does."""
    if unicodedata.bidirectional(text[at]) not in _RIGHT:
        return at
    end = at + 1
    for index in range(at + 1, len(text)):
        kind = unicodedata.bidirectional(text[index])
        if kind == "L":
            break
        if kind in _RIGHT or kind in _NUMBER or (kind == "NSM" and end == index):
            end = index + 1
    # A bracket that closes what was opened inside belongs to the run.
    while (
        end < len(text)
        and text[at:end].count(_OPENS.get(text[end], "")) > text[at:end].count(text[end])
        and text[end] in _OPENS
    ):
        end += 1
    return end


def _turned(run: str) -> str:
    """A run turned round; its numbers still read from the left, marks stay behind their letter."""
    parts: list[str] = []
    at = 0
    while at < len(run):
        number = _IN_NUMBER.match(run, at)
        end = at + 1 if number is None else number.end()
        while end < len(run) and unicodedata.bidirectional(run[end]) == "NSM":
            end += 1
        part = run[at:end]
        parts.append(part.translate(_MIRRORED) if number is None else part)
        at = end
    return "".join(reversed(parts))


@cache
def _forms() -> dict[str, dict[str, str]]:
    """Arabic letters (one, or lam with alef) -> how they join -> the joined form."""
    found: dict[str, dict[str, str]] = {}
    for code in (*range(0xFB50, 0xFBB2), *range(0xFE80, 0xFEFD)):
        how, *letters = unicodedata.decomposition(chr(code)).split() or [""]
        if how.startswith("<"):
            plain = "".join(chr(int(letter, 16)) for letter in letters)
            found.setdefault(plain, {})[how.strip("<>")] = chr(code)
    return found


def _joined(text: str) -> str:
    forms = _forms()
    # What lies between two letters and joins them no less: the vowel marks.
    letters = _with_ligatures(text)
    solid = [i for i, char in enumerate(letters) if unicodedata.category(char[0]) != "Mn"]
    shaped = list(letters)
    for nth, index in enumerate(solid):
        own = forms.get(letters[index])
        if own is None:
            continue
        before = forms.get(letters[solid[nth - 1]], {}) if nth else {}
        after = forms.get(letters[solid[nth + 1]], {}) if nth + 1 < len(solid) else {}
        to_before = "initial" in before and "final" in own
        to_after = "initial" in own and "final" in after
        how = (
            "medial"
            if to_before and to_after
            else "final"
            if to_before
            else "initial"
            if to_after
            else "isolated"
        )
        shaped[index] = own.get(how, own.get("isolated", letters[index]))
    return "".join(shaped)


def _with_ligatures(text: str) -> list[str]:
    """The letters one by one, lam and the alef behind it as one: they are never set apart."""
    found: list[str] = []
    for char in text:
        if found and found[-1] == _LAM and char in _ALEFS:
            found[-1] += char
        else:
            found.append(char)
    return found
