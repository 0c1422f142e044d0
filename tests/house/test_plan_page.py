"""The page about the plan file has every key that the reader asks for, and its lines are read.

With CARTCLOCK_WRITE_DOCS=1 in the environment its tables are written anew.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.store.plan_file.keys import PLAN_TABLES
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.store.plan_file.tables import Table
from tests.house.test_docs import between

PAGE = Path(__file__).parents[2] / "engine/store/plan_file/PLAN.md"
# A stage before the one with every key: its remedy does one again.
POLISH = '[[stage]]\nname = "Polish"\nsections = { %s }\n[[stage.step]]\nwork = "cut and finish"'
LAST = '[[stage.step]]\nwork = "buff off"'


def lines(table: str) -> list[str]:
    """The line of every key of a table that is no list of others."""
    return [key.like for key in PLAN_TABLES[table].keys.values() if not key.like.startswith("[[")]


def whole() -> str:
    """A plan file with every key there is."""
    parts = [
        lines("a plan"),
        ["[[product]]", *lines("a product")],
        ["[[tool]]", *lines("a tool")],
        [POLISH % ", ".join(lines("a body"))],
        ["[[stage]]", *lines("a stage")],
        ["[[stage.step]]", *lines("a work step")],
        ["[[stage.step]]", *lines("a wait step")],
        [LAST],
        ["[[aftercare]]", *lines("an aftercare line")],
    ]
    return "\n\n".join("\n".join(part) for part in parts)


def test_the_page_has_every_table_and_every_key() -> None:
    rows = []
    for table in PLAN_TABLES.values():
        rows += [f"### {table.where[:1].upper()}{table.where[1:]}", ""]
        rows += ["| key | what it means | like |", "|---|---|---|"]
        for name, key in table.keys.items():
            rows.append(f"| `{name}` | {key.said} | `{key.like}` |")
        rows.append("")
    assert not [row for row in rows if row.count("|") not in (0, 4)]
    between(PAGE, "<!-- keys:", "<!-- /keys -->", "\n".join(rows))
    between(PAGE, "<!-- whole:", "<!-- /whole -->", f"```toml\n{whole()}\n```")


def test_a_file_with_every_line_is_read_and_the_reader_asks_for_no_other_key(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: dict[str, set[str]] = {}
    there: dict[str, set[str]] = {}
    done = Table.done

    def noted(self: Table, noun: str) -> None:
        asked.setdefault(noun, set()).update(self._asked)
        there.setdefault(noun, set()).update(self.values)
        done(self, noun)

    monkeypatch.setattr(Table, "done", noted)
    plan = read_plan(whole(), "whole.toml")
    assert [stage.name for stage in plan.stages] == ["Polish", "Coat"]
    # A towel is written like a pad; sections of `covers` go by their own names.
    told = {noun: set(table.keys) for noun, table in PLAN_TABLES.items()}
    assert asked.pop("a towel") == told["a pad"]
    assert asked.pop("covers") == {"passenger side low"}
    assert asked == told
    # And each of them stands in that file.
    missing = {noun: told[noun] - there[noun] for noun in told}
    assert not any(missing.values()), missing
