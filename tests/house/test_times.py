"""Whoever reads a field knows whether it is an instant or a length of time."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from cartclock.engine.facts.rows import Evidence, Row

ROOT = Path(__file__).parents[2]
KINDS = {"Instant", "Length"}
# A module in which nothing begins like a field of these is not taken to pieces.
FIELD = re.compile(r"^\s+\w+_us\s*:", re.M)
# Ticks count from the start of the laptop, not of job time, and are compared only within a boot.
TICKS = {(kind.__name__, "tick_us") for kind in (Evidence, Row)}


def fields(source: str) -> Iterator[tuple[str, str, set[str]]]:
    """(class, field, names in its annotation) of every field that ends in `_us`."""
    if not FIELD.search(source):
        return
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ClassDef):
            for field in node.body:
                if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name):
                    name = field.target.id
                    if name.endswith("_us"):
                        parts = ast.walk(field.annotation)
                        yield node.name, name, {n.id for n in parts if isinstance(n, ast.Name)}


@pytest.mark.parametrize("room", ["engine", "tui"])
def test_every_field_in_microseconds_is_an_instant_or_a_length(room: str) -> None:
    seen = 0
    for path in (ROOT / room).rglob("*.py"):
        for owner, name, parts in fields(path.read_text()):
            seen += 1
            plain = (owner, name) in TICKS
            assert plain or len(parts & KINDS) == 1, f"{path}: {owner}.{name}"
    assert seen > 0


def test_a_plain_number_is_found() -> None:
    (found,) = fields("class Wait:\n    opens_us: int | None = None\n")
    assert found == ("Wait", "opens_us", {"int"})
