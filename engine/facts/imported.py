"""Rows of another cart's log, named by their numbers there."""

from __future__ import annotations

import re
from collections.abc import Iterable

from msgspec import Struct

# First and last of a run of numbers, ends included.
SeqRun = tuple[int, int]

# No number of a row has more digits.
_RUN = re.compile(r"([0-9]{1,18})(?:-([0-9]{1,18}))?")


class ImportedRows(Struct, frozen=True):
    """Which rows of one log were imported, and what they were.

    Fields:
        origin: of the log they were written to.
        seq, digest: that log's newest row as it was exported; none of the rows is newer.
        rows: their numbers there, as in "0-311,420": ascending, ends included.
        sha256: hex SHA-256 over their hex digests, in that order.
    """

    origin: str
    seq: int
    digest: str
    rows: str
    sha256: str

    @property
    def runs(self) -> tuple[SeqRun, ...]:
        """The numbers as runs; empty if the text is not one of numbers."""
        found: list[SeqRun] = []
        for text in self.rows.split(","):
            match = _RUN.fullmatch(text)
            if match is None:
                return ()
            found.append((int(match[1]), int(match[2] or match[1])))
        return tuple(found)

    def has(self, seq: int) -> bool:
        """Whether the row of that number is among them."""
        return any(first <= seq <= last for first, last in self.runs)


def runs_text(numbers: Iterable[int]) -> str:
    """Numbers, in any order, as `ImportedRows.rows` says them."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ",".join(f"{a}" if a == b else f"{a}-{b}" for a, b in runs)
