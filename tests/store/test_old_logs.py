"""Logs that earlier versions wrote open and give what they gave. Their contents are synthetic.

`python -m tests.kit.every_kind VERSION` writes one more before a release; none is ever
written again.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.store import codec
from cartclock.engine.store.log import Log
from cartclock.engine.store.upcasts import newest_version
from tests.kit.every_kind import LOGS
from tests.kit.kept import KEPT

EMPTY: tuple[object, ...] = ("", None, [], {}, 0)

# Who said what happened to a section stands with it since.
ADDED = {"stages": "worker"}
# How long hands were on a section before it was put down is counted since, and which stages were
# begun is told, and which cart has the job since which of its rows.
COUNTED = ("hands_us", "begun", "holder", "taken_seq")
# Both are told in `dates`.
MOVED = {"fresh", "handover"}
# Rows tell the same in other words since.
SAID = {
    '"checked in"': '"said: I am well"',
    '"skipped': '"left out',
    '"split"': '"cut in two"',
    'is split"': 'is cut in two"',
    '"redone"': '"done again"',
    '"to be redone: ': '"to be done again: ',
}

VERSIONS = sorted(path.stem for path in LOGS.glob("*.db"))


@pytest.fixture(params=VERSIONS)
def version(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def log(version: str, tmp_path: Path) -> Iterator[Log]:
    with Log.open(Path(shutil.copy(LOGS / f"{version}.db", tmp_path))) as opened:
        yield opened


def test_the_first_version_is_kept() -> None:
    assert "0.1.0" in VERSIONS


@pytest.mark.parametrize("name", KEPT)
def test_an_old_log_gives_what_it_gave(log: Log, version: str, name: str) -> None:
    kept, found = (LOGS / version / f"{name}.txt").read_text(), KEPT[name](log)
    for then, since in SAID.items():
        kept = kept.replace(then, since)
    if name == "record":
        kept, found = without_moved(kept), of_then(found, kept)
    for counted in COUNTED:
        if name == "jobs" and f'"{counted}"' not in kept:
            told = [without(json.loads(line), counted) for line in found.splitlines()]
            found = "".join(json.dumps(one, ensure_ascii=False) + "\n" for one in told)
    assert found == kept


def without_moved(kept: str) -> str:
    """A record without the fields that stand under another name since; they said nothing."""
    lines = [(json.loads(line), line) for line in kept.splitlines(keepends=True)]
    moved = [value for (name, value), _line in lines if name in MOVED]
    assert all(value in EMPTY for value in moved)
    return "".join(line for (name, _value), line in lines if name not in MOVED)


def of_then(record: str, kept: str) -> str:
    """A record told field by field, without fields that were added since and say nothing, and
    without what was added to the fields of then (`ADDED`).
    """
    then = {json.loads(line)[0]: line for line in kept.splitlines()}
    lines = []
    for line in record.splitlines(keepends=True):
        name, value = json.loads(line)
        added = ADDED.get(name)
        if added is not None and f'"{added}"' not in then[name]:
            lines.append(json.dumps([name, without(value, added)], ensure_ascii=False) + "\n")
        elif name in then or value not in EMPTY:
            lines.append(line)
    return "".join(lines)


def without(value: Any, key: str) -> Any:
    """The same without a key, however deep it stands."""
    match value:
        case dict():
            return {name: without(one, key) for name, one in value.items() if name != key}
        case list():
            return [without(one, key) for one in value]
        case _:
            return value


def test_every_link_of_an_old_log_holds(log: Log) -> None:
    assert log.check() == []


def test_an_old_log_holds_a_row_of_every_kind_of_its_time(version: str) -> None:
    with closing(sqlite3.connect(f"file:{LOGS / version}.db?mode=ro", uri=True)) as db:
        kinds = {kind for (kind,) in db.execute("SELECT DISTINCT kind FROM rows")}
    # "Levitated" stands for a kind that no version knows.
    assert "Levitated" in kinds
    assert len(kinds) > 50


def test_every_row_of_an_old_log_is_read(log: Log) -> None:
    unread = [row.event for row in log.all_rows() if isinstance(row.event, ev.Unknown)]
    assert unread == [ev.Unknown("Levitated", 2, "{}")]


def test_every_field_of_an_old_body_is_read(log: Log) -> None:
    """A field that was renamed would be passed over, and its default read instead."""
    with closing(sqlite3.connect(log.path)) as db:
        rows = db.execute("SELECT kind, v, body FROM rows").fetchall()
    for kind, v, body in rows:
        tag, _v, found = newest_version(kind, v, json.loads(body))
        if tag in ev.KINDS:
            event = codec.decode(kind, v, body)
            assert holds(json.loads(codec.encode(event)[2]), found), (kind, body)


def holds(now: Any, then: Any) -> bool:
    """True if every value of an older body stands in the newer one, in its place."""
    if isinstance(then, dict):
        return isinstance(now, dict) and all(
            name in now and holds(now[name], value) for name, value in then.items()
        )
    if isinstance(then, list):
        # Fields of a tuple may be added at its end.
        return isinstance(now, list) and len(now) >= len(then) and all(map(holds, now, then))
    return bool(now == then)


def test_opening_an_old_log_leaves_its_rows_as_they_are(log: Log, version: str) -> None:
    columns = ", ".join(codec.COLUMNS)
    with (
        closing(sqlite3.connect(f"file:{LOGS / version}.db?mode=ro", uri=True)) as old,
        closing(sqlite3.connect(log.path)) as now,
    ):
        asked = f"SELECT {columns} FROM rows ORDER BY seq"
        assert old.execute(asked).fetchall() == now.execute(asked).fetchall()
