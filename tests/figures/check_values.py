"""The tables of check values beside these tests; the first line of each names its source."""

from __future__ import annotations

import csv
from pathlib import Path

VECTORS = Path(__file__).parent / "vectors"


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a table as text, by column name."""
    lines = (VECTORS / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source: ")
    found = list(csv.DictReader(lines[1:]))
    assert found
    return found


def numbers(name: str, *columns: str) -> list[tuple[float, ...]]:
    """The named columns of a table, row by row, as numbers."""
    return [tuple(float(row[column]) for column in columns) for row in rows(name)]


def spells(text: str) -> list[tuple[float, float]]:
    """Level and hours out of a cell such as "90:2;80:4"."""
    pairs = (item.split(":") for item in text.split(";"))
    return [(float(level), float(hours)) for level, hours in pairs]
