"""A log that is replaced, moved or deleted under the running program: the day goes on in a second
log, which holds every row and says behind which one it goes on."""

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
from cartclock.engine.store.laptop.places import log_path, second_log_said, second_logs
from cartclock.engine.store.log import Log
from cartclock.engine.store.restore import restore
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused, StoreFault


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
def test_the_day_goes_on_in_a_second_log(
    log: Log, fault: Callable[[Path], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    place = log.path
    fault(place)
    drink(log, 4)
    second = log.path
    # A line of the screen is 80 columns wide.
    assert log.went_on.endswith(f"the day goes on in {second.name}.") and len(log.went_on) <= 80
    assert second.name.startswith("log-goes-on-3-") and second_log_said(place) == ""
    assert shlex.split(second_log_said(second).split("cartclock restore ")[1])[0] == str(second)
    drink(log, 5)
    log.beat(Instant(9), Evidence(Instant(9), "b", 9))
    assert (drunk(log), log.check(), log.lost) == ([1, 2, 3, 4, 5], [], "")
    log.close()
    # The next start finds it, and restore puts it in its place; what lay there is kept.
    monkeypatch.setenv("CARTCLOCK_HOME", str(place.parent))
    assert log_path() == second
    restore(second, place, over_newer=fault is replaced)
    assert log_path() == place and second_logs(place) == []
    with Log.open(place) as again:
        assert (drunk(again), again.check()) == ([1, 2, 3, 4, 5], [])
    if fault is replaced:
        kept = list(place.parent.glob("log-aside-*.db"))
        with Log.open(kept[0]) as other:
            assert (drunk(other), other.check()) == ([99], [])


def test_what_went_on_is_not_lost_to_an_older_copy(log: Log) -> None:
    place = log.path
    log.backup(place.with_name("copy.db"))
    log.path.unlink()
    drink(log, 4)
    log.close()
    with pytest.raises(Refused, match=r"holds a newer row, up to row 3"):
        restore(place.with_name("copy.db"), place)


def test_it_may_go_twice(log: Log) -> None:
    place = log.path
    place.unlink()
    drink(log, 4)
    log.path.unlink()
    drink(log, 5)
    assert drunk(log) == [1, 2, 3, 4, 5]
    assert second_logs(place) == [log.path]


def test_where_there_is_no_folder_the_press_is_refused_until_it_is_back(log: Log) -> None:
    folder = log.path.parent
    folder.rename(folder.with_name("away"))
    with pytest.raises(StoreFault, match=r"^Nothing was written: .* put it back"):
        drink(log, 4)
    folder.with_name("away").rename(folder)
    drink(log, 4)
    log.close()
    with Log.open(log.path) as again:
        assert (drunk(again), again.check()) == ([1, 2, 3, 4], [])


def test_a_file_that_goes_in_the_midst_of_a_press(log: Log) -> None:
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

    log._db = Late(log._db)  # type: ignore[assignment]  # stands in for a connection
    drink(log, 4)
    assert "goes on in" in log.went_on
    with Log.open(log.path) as again:
        assert drunk(again) == drunk(log) == [1, 2, 3, 4]


def test_a_log_that_lies_where_it_was_is_not_asked_twice(log: Log) -> None:
    """Neither a checkpoint nor another program that opens and closes it moves the file."""
    log._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    drink(log, 4)
    with Log.open(log.path) as other:
        other.refresh()
    drink(log, 5)
    assert drunk(log) == [1, 2, 3, 4, 5]
