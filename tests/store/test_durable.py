"""What append returned from is on the disk, and what it raised from is not."""

from __future__ import annotations

import random
import re
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from cartclock.engine.facts.events import DrinkTaken
from cartclock.engine.facts.rows import Evidence, Row
from cartclock.engine.press import Press
from cartclock.engine.store import schema
from cartclock.engine.store.log import Head, JobSummary, Log, seal
from cartclock.engine.trouble import StoreFault
from tests.kit.disk import PRESSING
from tests.kit.flaky import Flaky, spoil

ROOT = Path(__file__).parents[2]

# So many presses, each acknowledged on stdout once append has returned.
PRESSER = f"""{PRESSING}
if len(sys.argv) > 3:
    log._db.execute(sys.argv[3])
for _ in range(int(sys.argv[2])):
    press(log)
"""


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    with Log.open(tmp_path / "log.db") as opened:
        yield opened


def row(log: Log, ml: int = 250) -> Row:
    seq = log.head.seq + 1
    drink, press = DrinkTaken(ml), Press(log.origin, seq)
    return Row(log.origin, seq, press, "s", "", "me", 1, 1, 1, "b", 1, True, "worker", drink)


# Migrations.


def test_connection_keeps_its_promises(log: Log) -> None:
    def pragma(name: str) -> Any:
        return log._db.execute(f"PRAGMA {name}").fetchone()[0]

    assert (pragma("journal_mode"), pragma("synchronous")) == ("wal", 2)
    assert (pragma("foreign_keys"), pragma("busy_timeout")) == (1, 500)
    assert pragma("user_version") == len(schema.MIGRATIONS)


def test_file_system_that_breaks_a_promise_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Careless(sqlite3.Connection):
        def execute(self, query: str, values: Any = ()) -> sqlite3.Cursor:
            query = query.replace("synchronous = 2", "synchronous = 1")
            return super().execute(query, values)

    connect = sqlite3.connect
    monkeypatch.setattr(sqlite3, "connect", lambda *a, **k: connect(*a, **k, factory=Careless))
    with pytest.raises(StoreFault, match="synchronous is 1, not 2"):
        Log.open(tmp_path / "log.db")


def tables(path: Path) -> tuple[int, int, set[str]]:
    with closing(sqlite3.connect(path)) as db:
        version = db.execute("PRAGMA user_version").fetchone()[0]
        owner = db.execute("PRAGMA application_id").fetchone()[0]
        return version, owner, {name for (name,) in db.execute("SELECT name FROM sqlite_schema")}


BROKEN = ("CREATE TABLE half (one INTEGER)", "CREATE TABLE half (two INTEGER)")


def test_failing_first_migration_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "log.db"
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        with pytest.raises(sqlite3.OperationalError, match="already exists"):
            schema.migrate(db, ((*schema.FIRST, *BROKEN),))
        assert not db.in_transaction
    assert tables(path) == (0, 0, set())


def test_failing_later_migration_leaves_the_earlier(tmp_path: Path) -> None:
    path = tmp_path / "log.db"
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        schema.migrate(db)
        before = tables(path)
        with pytest.raises(sqlite3.OperationalError):
            schema.migrate(db, (*schema.MIGRATIONS, BROKEN))
        assert tables(path) == before
        newer = (*schema.MIGRATIONS, ("ALTER TABLE shift_summary ADD COLUMN place TEXT",))
        assert schema.migrate(db, newer) == len(schema.MIGRATIONS) + 1
        assert schema.migrate(db, newer) == len(schema.MIGRATIONS) + 1
        columns = [line[1] for line in db.execute("PRAGMA table_info(shift_summary)")]
    assert columns[-1] == "place"
    assert tables(path)[0] == before[0] + 1


# Killed and watched from outside.


@pytest.mark.parametrize("kills", [8, pytest.param(200, marks=pytest.mark.long)])
def test_acknowledged_rows_survive_kill(kills: int, tmp_path: Path) -> None:
    path = tmp_path / "log.db"
    chance = random.Random(20)
    for _ in range(kills):
        child = subprocess.Popen(
            [sys.executable, "-c", PRESSER, str(path), "100000"], cwd=ROOT, stdout=subprocess.PIPE
        )
        assert child.stdout is not None
        with child.stdout as told:
            lines = [told.readline() for _ in range(chance.randint(1, 40))]
            # A part of one press's time, so that the kill falls anywhere in it.
            time.sleep(chance.random() * 0.003)
            child.kill()
            lines += told.readlines()
        assert child.wait() != 0
        acknowledged = int([line for line in lines if line.endswith(b"\n")][-1].split()[1])
        with Log.open(path) as log:
            rows = log.all_rows()
            assert [row.seq for row in rows] == list(range(len(rows)))
            assert len(rows) > acknowledged
            assert len(rows) % 3 == 0
            assert log.check() == []


def unsynced(trace: str) -> list[str]:
    """Acknowledgements in a system call trace that no sync of the last log write precedes."""
    faults: list[str] = []
    written = synced = False
    for line in trace.splitlines():
        if re.search(r"\bpwrite64\(\d+<[^>]*log\.db-wal>", line):
            written, synced = True, False
        elif re.search(r"\bf(data)?sync\(\d+<[^>]*log\.db-wal>\) += 0", line):
            synced = True
        elif ack := re.search(r'\bwrite\(1<[^>]*>, "(written \d+)', line):
            if not (written and synced):
                faults.append(ack[1])
            written = synced = False
    return faults


def trace_of(folder: Path, *pragma: str) -> str:
    out = folder / "trace"
    calls = "trace=write,pwrite64,fsync,fdatasync"
    child = [sys.executable, "-c", PRESSER, str(folder / "log.db"), "5", *pragma]
    done = subprocess.run(
        ["strace", "-f", "-y", "-e", calls, "-o", str(out), *child],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
    )
    if "ptrace" in done.stderr and "not permitted" in done.stderr:
        pytest.skip("strace may not watch processes here")
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == [f"written {seq}" for seq in (2, 5, 8, 11, 14)]
    return out.read_text()


@pytest.mark.skipif(shutil.which("strace") is None, reason="strace is not installed")
def test_sync_comes_before_the_acknowledgement(tmp_path: Path) -> None:
    trace = trace_of(tmp_path)
    assert len(re.findall("written ", trace)) == 5
    assert unsynced(trace) == []


@pytest.mark.skipif(shutil.which("strace") is None, reason="strace is not installed")
def test_the_watcher_sees_a_missing_sync(tmp_path: Path) -> None:
    assert len(unsynced(trace_of(tmp_path, "PRAGMA synchronous = NORMAL"))) == 5


# Errors on the way to the disk.


def test_commit_that_reports_a_fault_but_wrote(log: Log) -> None:
    log.append([row(log)])
    spoil(log, does=True)
    written = row(log)
    head = log.append([written])
    assert (head.seq, log.head) == (1, head)
    with Log.open(log.path) as again:
        assert again.head == head
        assert again.all_rows()[-1] == written


def test_commit_that_did_not_write(log: Log) -> None:
    log.append([row(log)])
    head = log.head
    whole = spoil(log, does=False)
    text = seal("Ana Quill")
    with pytest.raises(StoreFault, match=r"^Nothing was written: .*\(disk I/O error\)\.$"):
        log.append([row(log)], private=[text], jobs=[JobSummary("j", 1, "van", 1, None, 1)])
    log._db = whole
    assert not whole.in_transaction
    assert (log.head, len(log.all_rows())) == (head, 1)
    assert (log.private_text(text.ref), log.job_summaries()) == (None, [])
    assert log.append([row(log)]).seq == 1


def test_commit_that_wrote_something_else(log: Log) -> None:
    with Log.open(log.path) as other:
        whole = log._db

        class Swapping(Flaky):
            def execute(self, query: str, values: Any = ()) -> Any:
                if query == "COMMIT":
                    self.db.execute("ROLLBACK")
                    other.append([row(other, ml=1)])
                return super().execute(query, values)

        log._db = Swapping(whole, does=False)  # type: ignore[assignment] # stands in
        with pytest.raises(StoreFault, match=r"^Nothing was written"):
            log.append([row(log, ml=2)])
        log._db = whole
        assert [r.event for r in log.all_rows()] == [DrinkTaken(1)]


def test_transaction_that_will_not_end_is_not_called_written(log: Log) -> None:
    whole = spoil(log, does=False, broken=("ROLLBACK",))
    with pytest.raises(StoreFault, match=r"^Nothing was written"):
        log.append([row(log)])
    assert log.head == Head()
    whole.execute("ROLLBACK")


def test_unknown_outcome_is_said_to_be_unknown(log: Log) -> None:
    spoil(log, does=True, broken=("SELECT origin, seq",))
    with pytest.raises(StoreFault, match=r"^It is not known whether this was written"):
        log.append([row(log)])


def test_write_that_the_system_refuses_at_commit(log: Log) -> None:
    resource = pytest.importorskip("resource", reason="file size limits are a POSIX matter")
    log.append([row(log)])
    wal = log.path.with_name("log.db-wal")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (wal.stat().st_size, hard))
    try:
        with pytest.raises(StoreFault, match=r"^Nothing was written: the disk"):
            log.append([row(log)])
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert len(log.all_rows()) == 1
    assert log.append([row(log)]).seq == 1
    assert log.check() == []


def test_full_disk(log: Log) -> None:
    pages = log._db.execute("PRAGMA page_count").fetchone()[0]
    log._db.execute(f"PRAGMA max_page_count = {pages}")
    big = {"0" * 64: "# a plan too long for what is left\n" * 5000}
    with pytest.raises(StoreFault, match=r"^Nothing was written: the disk is full; free some"):
        log.append([row(log)], plan_texts=big)
    assert (log.all_rows(), log.head) == ([], Head())
    log._db.execute("PRAGMA max_page_count = 1000000")
    assert log.append([row(log)], plan_texts=big).seq == 0


def test_read_only_log(log: Log) -> None:
    log._db.execute("PRAGMA query_only = ON")
    for write in (
        lambda: log.append([row(log)]),
        lambda: log.beat(1, Evidence(1, "b", 1)),
        lambda: log.ask("?"),
        lambda: log.forget(["x"]),
    ):
        with pytest.raises(StoreFault, match=r"^Nothing was written: the log is read-only; make"):
            write()
    assert log.all_rows() == []


def test_locked_log(log: Log) -> None:
    with closing(sqlite3.connect(log.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreFault, match=r"^Nothing was written: another program holds"):
            log.append([row(log)])
        assert log.all_rows() == []
        other.execute("ROLLBACK")
    assert log.append([row(log)]).seq == 0
