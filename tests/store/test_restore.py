"""A copy put back takes the place of the log whole, and nothing that was there is lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner

from cartclock.engine.facts.events import DrinkTaken
from cartclock.engine.facts.rows import Row
from cartclock.engine.press import Press
from cartclock.engine.store import whole_copy
from cartclock.engine.store.log import Log
from cartclock.engine.store.restore import restore
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.whole.repair import repair
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused, StoreFault
from cartclock.tui.commands.group import commands


def drink(log: Log, *amounts: int) -> None:
    for ml in amounts:
        seq = log.head.seq + 1
        at, press = Instant(seq), Press(log.origin, seq)
        event = DrinkTaken(ml)
        log.append([Row(log.origin, seq, press, "s", "", "me", at, at, at, "b", 1, True,
                        "worker", event)])  # fmt: skip


def drunk(path: Path) -> list[int]:
    with Log.open(path) as log:
        assert log.check() == []
        return [row.event.ml for row in log.all_rows()]


@pytest.fixture
def cart(tmp_path: Path) -> Path:
    """A log of four drinks that was not closed, and a copy of its first two."""
    path = tmp_path / "cart" / "log.db"
    with Log.open(path) as log:
        drink(log, 1, 2)
        log.backup(tmp_path / "copy.db")
        drink(log, 3, 4)
        left = tmp_path / "left"
        shutil.copytree(path.parent, left)
    # As after a kill: rows only the write-ahead file has.
    shutil.rmtree(path.parent)
    left.rename(path.parent)
    assert path.with_name("log.db-wal").stat().st_size > 0
    return path


def test_newer_rows_are_not_lost_unasked(cart: Path) -> None:
    before = sorted(path.name for path in cart.parent.iterdir())
    with pytest.raises(Refused, match=r"holds 2 newer rows, up to row 3; the copy ends with row 1"):
        restore(cart.parent.parent / "copy.db", cart)
    assert sorted(path.name for path in cart.parent.iterdir()) == before
    assert drunk(cart) == [1, 2, 3, 4]


def test_what_lay_there_is_kept_whole_under_one_name(cart: Path) -> None:
    done = restore(cart.parent.parent / "copy.db", cart, over_newer=True)
    assert done.aside is not None and done.head.seq == 1
    # Under its old write-ahead file the copy would have got the rows that it has not.
    assert drunk(cart) == [1, 2]
    assert drunk(done.aside) == [1, 2, 3, 4]
    assert drunk(cart.parent.parent / "copy.db") == [1, 2]
    assert not list(cart.parent.glob("*.restored*"))


def test_a_longer_copy_goes_over_a_shorter_log(cart: Path) -> None:
    with Log.open(cart) as log:
        drink(log, 5)
        log.backup(cart.parent / "longer.db")
    restore(cart.parent.parent / "copy.db", cart, over_newer=True)
    assert restore(cart.parent / "longer.db", cart).head.seq == 4
    assert drunk(cart) == [1, 2, 3, 4, 5]


def test_a_fork_and_another_cart_are_not_written_over(cart: Path, tmp_path: Path) -> None:
    shutil.copy(tmp_path / "copy.db", tmp_path / "fork.db")
    with Log.open(tmp_path / "fork.db") as fork, Log.open(tmp_path / "other.db") as other:
        drink(fork, 7, 8, 9, 10)
        drink(other, 1)
    with pytest.raises(Refused, match="holds other rows, up to row 3"):
        restore(tmp_path / "fork.db", cart)
    with pytest.raises(Refused, match="holds another cart's rows"):
        restore(tmp_path / "other.db", cart)
    assert drunk(cart) == [1, 2, 3, 4]


def test_a_log_that_cannot_be_read_is_moved_and_replaced(cart: Path, tmp_path: Path) -> None:
    cart.write_bytes(b"noise" * 1000)
    cart.with_name("log.db-wal").unlink()
    done = restore(tmp_path / "copy.db", cart)
    assert drunk(cart) == [1, 2]
    assert done.aside is not None and done.aside.stat().st_size == 5000


def noise(path: Path) -> None:
    path.write_bytes(b"noise" * 2000)


def cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:9000])


def changed(path: Path) -> None:
    data = path.read_bytes()
    path.write_bytes(data.replace(b'{"ml":2}', b'{"ml":3}'))


def empty(path: Path) -> None:
    path.write_bytes(b"")


def fifo(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


@pytest.mark.parametrize("fault", [noise, cut, changed, empty, Path.unlink, fifo])
def test_a_copy_that_is_not_whole_is_not_put_back(
    cart: Path, tmp_path: Path, fault: Callable[[Path], None]
) -> None:
    fault(tmp_path / "copy.db")
    with pytest.raises((Refused, StoreFault), match=r"^(Nothing was put back|No backup was made)"):
        restore(tmp_path / "copy.db", cart, over_newer=True)
    assert drunk(cart) == [1, 2, 3, 4]
    assert not list(cart.parent.glob("*.restored*"))


def test_the_command_says_what_it_did(
    cart: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(cart.parent))
    refused = CliRunner().invoke(commands, ["restore", str(tmp_path / "copy.db")])
    assert (refused.exit_code, refused.stdout) == (1, "")
    assert "--over-newer" in refused.stderr
    done = CliRunner().invoke(commands, ["restore", "--over-newer", str(tmp_path / "copy.db")])
    assert done.exit_code == 0 and done.stdout.startswith("2 rows put back. Head: ")
    assert "What was there is kept" in done.stderr


def test_a_backup_that_fails_leaves_nothing(
    cart: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def lying(path: Path) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(whole_copy.schema, "sync_folder", lambda folder: None)
    with Log.open(cart) as log:
        monkeypatch.setattr(whole_copy, "_verify", lambda path, heads, told: lying(path))
        with pytest.raises(StoreFault, match=r"No backup was made: .*Input/output error"):
            log.backup(tmp_path / "new.db")
    assert not list(tmp_path.glob("new.db*"))


@pytest.mark.parametrize("table", ["rows", "rows_kind"])
def test_a_backup_of_a_damaged_log_is_none(cart: Path, tmp_path: Path, table: str) -> None:
    """Also where only an index is damaged, so that every row can still be read."""
    with Log.open(cart) as log:
        drink(log, *range(400))
    with closing(sqlite3.connect(cart)) as db:
        asked = "SELECT rootpage FROM sqlite_schema WHERE name = ?"
        (page,) = db.execute(asked, (table,)).fetchone()
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    data = bytearray(cart.read_bytes())
    # Not its first bytes: those say what kind of page it is.
    at = (page - 1) * 4096 + 16
    data[at : at + 4080] = b"\x55" * 4080
    cart.write_bytes(data)
    # Opening it looks at so few pages that it may go well.
    with pytest.raises(StoreFault, match=r"damaged"), Log.open(cart) as log:
        log.backup(tmp_path / "new.db")
    assert not list(tmp_path.glob("new.db*"))


HOLDER = """
import sys
from pathlib import Path
from cartclock.engine.store.log import Log
with Log.open(Path(sys.argv[1])) as log:
    print("open", flush=True)
    sys.stdin.read()
"""


def test_a_log_that_a_program_has_open_is_not_put_aside(
    cart: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(cart.parent))
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(cart)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as child:
        assert child.stdout is not None and child.stdout.readline() == b"open\n"
        with pytest.raises(Refused, match=r"has .*log.db open; quit it"):
            restore(tmp_path / "copy.db", cart, over_newer=True)
        with pytest.raises(StoreFault, match=r"has .*log.db open; quit it"):
            repair(cart, VIEWS)
        child.communicate(b"")
    assert drunk(cart) == [1, 2, 3, 4]
    restore(tmp_path / "copy.db", cart, over_newer=True)
    assert drunk(cart) == [1, 2]
