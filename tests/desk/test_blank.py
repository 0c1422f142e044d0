"""What the kit copies is what a new log is."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from pathlib import Path

from cartclock.engine.desk.bench import Bench
from cartclock.engine.store.clock import HandClock
from tests.kit.blank import bench_at
from tests.kit.stage import START_US


def dump(path: Path) -> list[str]:
    """Everything in a file, but for the hour at which its log was made."""
    with closing(sqlite3.connect(path)) as db:
        if path.stem == "log":
            db.execute("UPDATE cart SET wall_us = 0")
        modes = [db.execute(f"PRAGMA {name}").fetchone() for name in ("journal_mode", "page_size")]
        versions = [db.execute(f"PRAGMA {name}_{end}").fetchone() for name, end in VERSIONS]
        return [*db.iterdump(), repr(modes), repr(versions)]


VERSIONS = (("user", "version"), ("application", "id"))


def test_a_copy_is_as_a_log_that_was_made(tmp_path: Path) -> None:
    said = []
    for folder, open_bench in (("made", Bench.open), ("first", bench_at), ("copied", bench_at)):
        path = tmp_path / folder / "log.db"
        path.parent.mkdir()
        bench = open_bench(path, HandClock(START_US), "me", random.Random(7).randbytes)
        seen = [bench.log.origin, bench.new_id(), repr(bench.log.head), bench.library.left()]
        seen += [(file.name, file.stat().st_mode) for file in sorted(path.parent.iterdir())]
        bench.close()
        said.append([*seen, *dump(path), *dump(path.with_name("history.db"))])
    made, *others = said
    assert others == [made, made]
