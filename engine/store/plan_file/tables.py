"""TOML tables read key by key, with one sentence for every value that is not what it should be.

A reader asks the table for each key it knows. A wrong value becomes a fault and reads as
None, so that the reading goes on and the worker sees all faults of the file at once. Keys
that nobody asked for are faults too: a misspelt key would otherwise be obeyed as absent.
"""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Iterable, Mapping

from cartclock.engine.store.plan_file.duration import (
    ISO_LIKE,
    STEP_LIKE,
    NotADuration,
    iso_extent,
    step_seconds,
)

LONGEST_NAME = 60
LONGEST_SENTENCE = 300
_SHOWN = LONGEST_NAME
# Marks that turn the reading direction; in a name they reorder the rest of a screen line.
_BIDI = frozenset("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def visible(text: str) -> str:
    """A name of the file as a fault shows it: short, its control characters written out."""
    cut = text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"
    return "".join(
        c if c.isprintable() and c != '"' else '\\"' if c == '"' else f"\\u{ord(c):04x}"
        for c in cut
    )


def quoted(value: object) -> str:
    """A value of a TOML file as a fault shows it: short, on one line, without control characters.

    Texts stand in quotation marks; numbers and true or false as written; lists, tables and
    dates are only named.
    """
    if isinstance(value, str):
        return f'"{visible(value)}"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value) if abs(value) < 10**15 else "a number of that size"
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, Mapping):
        return "a table"
    return "a list" if isinstance(value, list | tuple) else "a date or time"


def one_of(words: Iterable[str]) -> str:
    """`"each", "all" or "wave"` from the words; at least one."""
    shown = [quoted(word) for word in words]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} or {shown[-1]}"


def near(word: str, words: Iterable[str]) -> str | None:
    """The one of `words` most like `word`, capitals aside; None if nothing is like it."""
    by_lower = {known.casefold(): known for known in words}
    found = difflib.get_close_matches(word.casefold(), by_lower, n=1, cutoff=0.6)
    return by_lower[found[0]] if found else None


def instead_of(word: str, words: Iterable[str], otherwise: str = "") -> str:
    """What would be right instead of `word`: the near miss, else the few words there are."""
    known = tuple(words)
    like = near(word, known)
    if like is not None:
        return f"did you mean {quoted(like)}?"
    return otherwise or f"write {one_of(known)}"


def bad_character(text: str) -> str | None:
    """The first control, surrogate, private or line-breaking character; None if all is plain."""
    for c in text:
        if c in _BIDI or unicodedata.category(c) in ("Cc", "Cs", "Co", "Zl", "Zp"):
            return c
    return None


class Table:
    """One table of a plan file, being read.

    Args:
        values: keys and values as `tomllib` gave them.
        place: where the table stands ('plan.toml: stage "Coat", step 2'), begins every fault.
        faults: list that faults are added to, shared by all tables of a file.
        whole_file: True for the file's own table, whose place is the file's name alone.
    """

    def __init__(
        self, values: Mapping[str, object], place: str, faults: list[str], whole_file: bool = False
    ) -> None:
        self.values = values
        self.place = place
        self.faults = faults
        self._joint = ": " if whole_file else ", "
        self._asked: list[str] = []

    def fault(self, key: str, sentence: str) -> None:
        """Note that `key` is wrong; the sentence says how, and what would be right."""
        bare = key and all(c.isalnum() or c in "_-" for c in key) and key.isascii()
        self.faults.append(f"{self.place}: {key if bare else quoted(key)}: {sentence}")

    def _value(self, key: str, like: str, required: bool) -> object | None:
        self._asked.append(key)
        if key not in self.values and required:
            self.fault(key, f"missing; write {like}")
        return self.values.get(key)

    def text(
        self, key: str, like: str, required: bool = True, longest: int = LONGEST_NAME
    ) -> str | None:
        """A text without control characters, 1 to `longest` characters, spaces at the ends cut."""
        value = self._value(key, like, required)
        return None if value is None else self.plain(key, value, like, longest)

    def plain(self, key: str, value: object, like: str, longest: int = LONGEST_NAME) -> str | None:
        """The value as `text` would give it, for values that stand in a list or as a key."""
        if not isinstance(value, str):
            self.fault(key, f"{quoted(value)} is not a text; write {like}")
            return None
        bad = bad_character(value)
        if bad is not None:
            self.fault(
                key,
                f"{quoted(value)} has the character U+{ord(bad):04X}, which no screen can show; "
                "take it out, and keep the text on one line",
            )
            return None
        name = value.strip()
        if not name:
            self.fault(key, f"{quoted(value)} is empty; write {like}")
            return None
        if len(name) > longest:
            self.fault(
                key,
                f"{quoted(name)} has {len(name)} characters; write at most {longest}",
            )
            return None
        return name

    def number(
        self,
        key: str,
        low: float,
        high: float,
        required: bool = False,
        default: float | None = None,
        over_low: bool = False,
    ) -> float | None:
        """A finite number from `low` (or over it) to `high`; `default` if left out."""
        span = (
            f"over {low:.15g} and up to {high:.15g}"
            if over_low
            else f"from {low:.15g} to {high:.15g}"
        )
        value = self._value(key, f"a number {span}", required)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.fault(
                key, f"{quoted(value)} is not a number; write one {span}, without quotation marks"
            )
            return None
        # Neither infinity nor "not a number" passes the comparison.
        if not low <= value <= high or (over_low and value == low):
            self.fault(key, f"{quoted(value)} is out of range; write a number {span}")
            return None
        return float(value) + 0.0  # -0.0 reads as 0.0

    def whole(self, key: str, low: int, high: int, default: int | None = None) -> int | None:
        """A whole number from `low` to `high`; `default` if left out, required without one."""
        span = f"a whole number from {low} to {high}"
        value = self._value(key, span, default is None)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            self.fault(key, f"{quoted(value)} is not {span}; write one")
            return None
        return value

    def flag(self, key: str) -> bool:
        """True or false; false if left out."""
        value = self._value(key, "", False)
        if value is None:
            return False
        if not isinstance(value, bool):
            self.fault(
                key, f"{quoted(value)} is not true or false; write {key} = true or leave it out"
            )
            return False
        return value

    def word(self, key: str, words: tuple[str, ...], default: str | None = None) -> str | None:
        """One of the words; `default` if left out, required without one."""
        value = self._value(key, f"{key} = {one_of(words)}", default is None)
        if value is None:
            return default
        if not isinstance(value, str):
            self.fault(key, f"{quoted(value)} is not a text; write {one_of(words)}")
            return None
        if value not in words:
            self.fault(key, f"{quoted(value)} is not known here; {instead_of(value, words)}")
            return None
        return value

    def seconds(self, key: str, required: bool = True, least: int = 0) -> int | None:
        """Seconds of a step duration, >= `least`; None if left out."""
        value = self._value(key, f'{key} = "2m" or another duration', required)
        if value is None:
            return None
        if not isinstance(value, str):
            self.fault(key, f"{quoted(value)} is not a duration; {STEP_LIKE}")
            return None
        try:
            seconds = step_seconds(value)
        except NotADuration as wrong:
            self.fault(key, f"{quoted(value)} {wrong}")
            return None
        if seconds < least:
            self.fault(key, f"{quoted(value)} is too short; write at least {least}s")
            return None
        return seconds

    def iso(self, key: str) -> tuple[str, int, int] | None:
        """An ISO 8601 duration with its shortest and longest seconds; None if left out."""
        value = self._value(key, "", False)
        if value is None:
            return None
        if not isinstance(value, str):
            self.fault(key, f"{quoted(value)} is not an ISO 8601 duration; {ISO_LIKE}")
            return None
        try:
            return value, *iso_extent(value)
        except NotADuration as wrong:
            self.fault(key, f"{quoted(value)} {wrong}")
            return None

    def sub(self, key: str, like: str) -> Table | None:
        """The table under a key; None if left out."""
        value = self._value(key, like, False)
        if value is None:
            return None
        if not isinstance(value, dict):
            self.fault(key, f"{quoted(value)} is not a table; write {like}")
            return None
        return self.inner(value, key)

    def inner(self, values: Mapping[str, object], name: str) -> Table:
        """A table inside this one, placed by its name."""
        return Table(values, f"{self.place}{self._joint}{name}", self.faults)

    def rows(self, key: str, like: str, noun: str = "") -> list[Table]:
        """The tables of a list under a key, each placed by its noun and number from 1."""
        value = self._value(key, like, False)
        if value is None:
            return []
        if not isinstance(value, list):
            self.fault(key, f"{quoted(value)} is not a list of tables; write {like}")
            return []
        tables = []
        for number, row in enumerate(value, 1):
            if isinstance(row, dict):
                tables.append(self.inner(row, f"{noun or key} {number}"))
            else:
                self.fault(key, f"entry {number}, {quoted(row)}, is not a table; write {like}")
        return tables

    def raw(self, key: str) -> object | None:
        """The value as it stands, for keys that may be of several kinds; None if left out."""
        return self._value(key, "", False)

    def done(self, noun: str) -> None:
        """Fault every key that nobody asked for; `noun` is what the table describes."""
        known = tuple(dict.fromkeys(self._asked))
        for key in self.values:
            if key not in known:
                hint = instead_of(key, known, f"{noun} has {', '.join(known)}")
                self.fault(key, f"no such key; {hint}")
