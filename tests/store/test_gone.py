"""A log that is replaced, moved or deleted under the running program takes no press silently."""

from __future__ import annotations

import shlex
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from cartclock.engine.facts.events import DrinkTaken
from cartclock.engine.facts.rows import Evidence, Row
from cartclock.engine.press import Press
from cartclock.engine.store.log import Log
from cartclock.engine.times import Instant
from cartclock.engine.trouble import StoreFault


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    (tmp_path / "cart").mkdir()
    with Log.open(tmp_path / "cart" / "log.db") as opened:
        for ml in (1, 2, 3):
            drink(opened, ml)
        yield opened


def drink(log: Log, ml: int) -> None:
    seq = log.head.seq + 1
    press, at = Press(log.origin, seq), Instant(seq)
    log.append(
        [Row(log.origin, seq, press, "s", "", "me", at, at, at, "b", 1, True, "worker", taken(ml))]
    )


def taken(ml: int) -> DrinkTaken:
    return DrinkTaken(ml)


def drunk(log: Log) -> list[int]:
    return [row.event.ml for row in log.all_rows()]


def replaced(path: Path) -> None:
    """What a folder kept the same on two computers does: a finished file is renamed over it."""
    other = path.with_name("other.db")
    with Log.open(other) as log:
        drink(log, 99)
    other.replace(path)


def moved(path: Path) -> None:
    path.rename(path.with_name("away.db"))


def folder_moved(path: Path) -> None:
    path.parent.rename(path.parent.with_name("away"))


def wal_deleted(path: Path) -> None:
    path.with_name("log.db-wal").unlink()


def wal_replaced(path: Path) -> None:
    wal = path.with_name("log.db-wal")
    shutil.copy(wal, wal.with_name("copy"))
    wal.with_name("copy").replace(wal)


GONE = [replaced, moved, Path.unlink, wal_deleted, wal_replaced]


@pytest.mark.parametrize("fault", GONE, ids=lambda fault: fault.__name__)
def test_a_press_into_a_file_that_has_gone_is_refused(
    log: Log, fault: Callable[[Path], None]
) -> None:
    fault(log.path)
    with pytest.raises(StoreFault, match=r"^Nothing was written: ") as caught:
        drink(log, 4)
    said = str(caught.value)
    assert said.count(": ") == 2 and "goes on from row 2" in said
    kept = Path(shlex.split(said.split("cartclock restore ")[1].split(", or ")[0])[0])
    assert log.head.seq == 2
    with Log.open(kept) as again:
        assert (again.origin, again.head) == (log.origin, log.head)
        assert again.check() == []
        drink(again, 5)
        assert drunk(again) == [1, 2, 3, 5]
    # A sign of life would go the same way.
    with pytest.raises(StoreFault, match=r"^Nothing was written"):
        log.beat(Instant(9), Evidence(Instant(9), "b", 9))
    if fault is replaced:
        log.close()
        with Log.open(log.path) as other:
            assert (drunk(other), other.check()) == ([99], [])


def test_the_same_refusal_twice_keeps_one_copy(log: Log) -> None:
    log.path.unlink()
    for _ in range(2):
        with pytest.raises(StoreFault, match="goes on from row 2"):
            drink(log, 4)
    assert len(list(log.path.parent.glob("log-kept-*.db"))) == 1


@pytest.mark.parametrize(
    ("fault", "back"),
    [
        (moved, lambda path: path.with_name("away.db").rename(path)),
        (folder_moved, lambda path: path.parent.with_name("away").rename(path.parent)),
    ],
    ids=["file", "folder"],
)
def test_a_file_put_back_goes_on(
    log: Log, fault: Callable[[Path], None], back: Callable[[Path], None]
) -> None:
    fault(log.path)
    with pytest.raises(StoreFault, match=r"put (it|the file) back"):
        drink(log, 4)
    back(log.path)
    drink(log, 4)
    log.close()
    with Log.open(log.path) as again:
        assert (drunk(again), again.check()) == ([1, 2, 3, 4], [])


def test_a_file_that_goes_in_the_midst_of_a_press_is_not_acknowledged(log: Log) -> None:
    class Late:
        """A connection whose file is moved away just before COMMIT."""

        def __init__(self, db: sqlite3.Connection) -> None:
            self.db = db

        def __getattr__(self, name: str) -> Any:
            return getattr(self.db, name)

        def execute(self, query: str, values: Any = ()) -> Any:
            if query == "COMMIT":
                moved(log.path)
            return self.db.execute(query, values)

    whole = log._db
    log._db = Late(whole)  # type: ignore[assignment]  # stands in for a connection
    with pytest.raises(StoreFault, match=r"^This was written, but not where it belongs: "):
        drink(log, 4)
    log._db = whole
    (kept,) = log.path.parent.glob("log-kept-*.db")
    with Log.open(kept) as again:
        assert drunk(again) == [1, 2, 3, 4]


def test_a_log_that_lies_where_it_was_is_not_asked_twice(log: Log) -> None:
    """Neither a checkpoint nor another program that opens and closes it moves the file."""
    log._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    drink(log, 4)
    with Log.open(log.path) as other:
        other.refresh()
    drink(log, 5)
    assert drunk(log) == [1, 2, 3, 4, 5]
