"""What can happen to the files of a log while nothing runs: every command says one sentence, leaves
with its code, and check-log names it."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner

from cartclock.engine.desk.shop import Shop
from cartclock.engine.store import schema
from cartclock.engine.store.log import Log
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.whole.audit import audit
from cartclock.engine.trouble import StoreFault
from cartclock.tui.commands.door import BUG
from cartclock.tui.commands.group import commands
from tests.kit.damaged import changed, copied, killed_log
from tests.kit.terminal import terminal

pytestmark = pytest.mark.waits

ROOT = Path(__file__).parents[2]
COMMANDS = ("record 1", "now", "day", "backup OUT")


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return killed_log(tmp_path_factory.mktemp("whole"))


@pytest.fixture
def log(whole: Path, tmp_path: Path) -> Path:
    return copied(whole, tmp_path / "cart")


def folded_in(log: Path) -> None:
    """What is in the write-ahead file goes into the log."""
    with closing(sqlite3.connect(log)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()


def wal_gone(log: Path) -> None:
    log.with_name("log.db-wal").unlink()


def wal_of_another(log: Path) -> None:
    """As where a backup is copied over a log by hand: the old file is played into it."""
    with Log.open(log.with_name("other.db")) as other:
        other.ask("?")
        shutil.copy(log.with_name("other.db-wal"), log.with_name("log.db-wal"))
    for path in log.parent.glob("other.db*"):
        path.unlink()


def cut(log: Path) -> None:
    folded_in(log)
    os.truncate(log, log.stat().st_size // 8192 * 4096)


def header(log: Path) -> None:
    folded_in(log)
    log.write_bytes(b"noise" * 20 + log.read_bytes()[100:])


def page_of_noise(log: Path) -> None:
    folded_in(log)
    data = bytearray(log.read_bytes())
    at = data.index(b'"air_c"') // 4096 * 4096
    data[at : at + 4096] = random.Random(2).randbytes(4096)
    log.write_bytes(data)


def no_letter(log: Path) -> None:
    """In the text that says how a table is made stands a byte that is no letter."""
    folded_in(log)
    data = bytearray(log.read_bytes())
    data[data.index(b"TABLE shift_summary") + 1] = 0xC1
    log.write_bytes(data)


def emptied(log: Path) -> None:
    log.write_bytes(b"")
    log.with_name("log.db-wal").unlink()


def newer(log: Path) -> None:
    with closing(sqlite3.connect(log)) as db:
        db.execute(f"PRAGMA user_version = {len(schema.MIGRATIONS) + 1}")


def of_another_program(log: Path) -> None:
    log.with_name("log.db-wal").unlink()
    log.unlink()
    with closing(sqlite3.connect(log)) as db:
        db.execute("CREATE TABLE own (a)")


# fault -> whether every command can still read what is there.
FAULTS: dict[Callable[[Path], None], bool] = {
    wal_gone: True,
    wal_of_another: False,
    cut: False,
    header: False,
    page_of_noise: False,
    no_letter: False,
    emptied: False,
    newer: False,
    of_another_program: False,
}


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.__name__)
def test_one_sentence_and_a_code(
    log: Path, fault: Callable[[Path], None], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    fault(log)
    monkeypatch.setenv("CARTCLOCK_HOME", str(log.parent))
    before = log.read_bytes()
    codes = set()
    for line in COMMANDS:
        words = line.replace("OUT", str(tmp_path / "out.db")).split()
        done = CliRunner().invoke(commands, words)
        assert done.exception is None or isinstance(done.exception, SystemExit), line
        assert done.exit_code in {0, 1}, line
        if done.exit_code:
            assert done.stderr.count("\n") == 1 and done.stderr.endswith(".\n"), done.stderr
        codes.add(done.exit_code)
    assert (codes == {0}) is FAULTS[fault]
    found = audit(log, VIEWS)
    assert found.wrong
    checked = CliRunner().invoke(commands, ["check-log"])
    assert checked.exit_code == 1 and checked.stdout.count("\n") < 60
    # What is played into it by whoever opens it cannot be held up.
    if not FAULTS[fault] and fault not in (emptied, wal_of_another):
        assert log.read_bytes() == before


DAMAGE = {
    "rows gone": "DELETE FROM rows WHERE job IS NOT NULL",
    "the first row gone": "DELETE FROM rows WHERE seq = 0",
    "rows of another job": "UPDATE rows SET job = 'another' WHERE job IS NOT NULL",
    "no rows": "DELETE FROM rows",
    "a body of nothing": "UPDATE rows SET body = '{}'",
    "times of nothing": "UPDATE rows SET at_us = -9223372036854775808",
    "lines of nothing": "UPDATE job_summary SET last_us = -1, job = job || 'x'",
}


@pytest.mark.parametrize("statement", DAMAGE.values(), ids=DAMAGE)
def test_damage_that_a_paper_runs_into_is_told(
    log: Path, statement: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    changed(log, statement)
    monkeypatch.setenv("CARTCLOCK_HOME", str(log.parent))
    for line in ("record 1", "record 2", "sheet 1", "now", "history", "day 2026-09-21"):
        done = CliRunner().invoke(commands, line.split())
        assert done.exception is None or isinstance(done.exception, SystemExit), line
        assert done.exit_code in {0, 1}, (line, done.stderr)
        assert done.stderr.count("\n") == done.exit_code
    assert not log.with_name("fault.txt").exists()
    checked = CliRunner().invoke(commands, ["check-log"])
    assert checked.exit_code == 1 and checked.stdout


def test_damage_that_the_screens_run_into_is_told_once(log: Path) -> None:
    changed(log, DAMAGE["times of nothing"])
    with terminal(log.parent, "-m", "cartclock.tui.cli", warm=True) as child:
        assert child.ended() == 1
    assert child.wrote.count(f"The log {log} is damaged (".encode()) == 1
    assert not log.with_name("fault.txt").exists()


def test_a_bug_of_a_command_is_a_sentence_and_its_code(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(log.parent))
    monkeypatch.setattr(Shop, "find", lambda *_: 1 / 0)
    done = CliRunner().invoke(commands, ["record", "1"])
    file = log.with_name("fault.txt")
    assert (done.exit_code, done.stdout, done.stderr) == (
        BUG,
        "",
        f"That was a bug of cartclock. Every press it answered is in {log}, what went wrong in "
        f"{file}.\n",
    )
    assert "ZeroDivisionError" in file.read_text() and file.stat().st_mode & 0o77 == 0


def test_the_note_of_a_bug_names_nobody(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the fault says and whoever may read new files: types, places and lines alone."""

    def find(shop: Shop, handle: str) -> None:
        customer, plate = "Ada Quill", "QK 1234"
        raise KeyError(f"{customer}, {plate}") from ValueError(customer)

    monkeypatch.setenv("CARTCLOCK_HOME", str(log.parent))
    monkeypatch.setattr(Shop, "find", find)
    old = os.umask(0)
    try:
        done = CliRunner().invoke(commands, ["record", "1"])
    finally:
        os.umask(old)
    file = log.with_name("fault.txt")
    assert done.exit_code == BUG and file.stat().st_mode & 0o77 == 0
    said = file.read_text() + done.stderr
    assert "KeyError" in said and "ValueError" in said
    assert "Ada" not in said and "1234" not in said


def test_rows_that_went_are_told_at_the_start(log: Path) -> None:
    wal_gone(log)
    with Log.open(log) as opened:
        assert "not in the log any more" in opened.lost
        assert opened.lost.endswith(".")


@pytest.mark.skipif(
    os.name != "posix" or (os.geteuid() == 0 and shutil.which("setpriv") is None),
    reason="whoever runs the tests may write anywhere",
)
@pytest.mark.parametrize("left", [True, False], ids=["with its write-ahead file", "without"])
def test_what_cannot_be_written_to_is_read(log: Path, left: bool) -> None:
    """On a disk that takes nothing: papers, now and check-log as ever; a press is refused."""
    if not left:
        folded_in(log)
        for end in ("-wal", "-shm"):
            log.with_name(f"log.db{end}").unlink(missing_ok=True)
    log.with_name("log.db-shm").unlink(missing_ok=True)
    for path in log.parent.iterdir():
        path.chmod(0o444)
    log.parent.chmod(0o555)
    # Who may do anything is let do what anybody may.
    plain = ["setpriv", "--bounding-set=-dac_override,-fowner"] if os.geteuid() == 0 else []
    try:
        said = {
            line: subprocess.run(
                [*plain, sys.executable, "-m", "cartclock.tui.cli", *line.split()],
                cwd=ROOT,
                env={**os.environ, "CARTCLOCK_HOME": str(log.parent)},
                capture_output=True,
                text=True,
                check=False,
            )
            for line in ("record 1", "now", "check-log", "record 1 --folder")
        }
    finally:
        log.parent.chmod(0o755)
    for line in ("record 1", "now", "check-log"):
        assert (said[line].returncode, said[line].stderr) == (0, ""), line
    assert "every link holds" in said["check-log"].stdout
    refused = said["record 1 --folder"]
    assert refused.returncode == 1 and "yours to write" in refused.stderr


def test_a_lock_refuses_a_press_and_goes_by(log: Path) -> None:
    """However long another program holds the log, a press waits half a second and is refused."""
    with (
        closing(sqlite3.connect(log, isolation_level=None)) as other,
        Log.open(log) as opened,
    ):
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreFault, match="another program holds the log"):
            opened.append([], plan_texts={"0" * 64: "x"})
        other.execute("ROLLBACK")
        opened.append([], plan_texts={"0" * 64: "x"})
        assert opened.plan_text("0" * 64) == "x"


def test_what_another_program_keeps_to_itself_is_said_to_be_held(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Held so that nobody can even read it; afterwards everything is as ever."""
    monkeypatch.setenv("CARTCLOCK_HOME", str(log.parent))
    lines = ("now", "check-log", "check-log --head 01234567")
    with closing(sqlite3.connect(log, isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode = EXCLUSIVE").fetchall()
        other.execute("BEGIN IMMEDIATE")
        for line in lines:
            done = CliRunner().invoke(commands, line.split())
            assert (done.exit_code, done.stdout) == (1, ""), line
            assert "another program holds the log" in done.stderr, done.stderr
            assert done.stderr.count("\n") == 1
        other.execute("ROLLBACK")
    assert CliRunner().invoke(commands, ["check-log"]).exit_code == 0


@pytest.mark.long
def test_a_lock_of_half_a_minute(log: Path) -> None:
    """Every press meanwhile is refused in about half a second, and then one is taken."""
    hold = "import sqlite3, sys; db = sqlite3.connect(sys.argv[1], isolation_level=None); "
    hold += "db.execute('BEGIN IMMEDIATE'); print('held', flush=True); sys.stdin.read()"
    refused = 0
    with (
        subprocess.Popen(
            [sys.executable, "-c", hold, str(log)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
        ) as other,
        Log.open(log) as opened,
    ):
        assert other.stdin is not None and other.stdout is not None
        assert other.stdout.readline() == b"held\n"
        ends_at = time.monotonic() + 30
        while time.monotonic() < ends_at:
            began = time.monotonic()
            with pytest.raises(StoreFault, match="another program holds the log"):
                opened.append([], plan_texts={"0" * 64: "x"})
            assert time.monotonic() - began < 5
            refused += 1
        other.stdin.close()
        other.wait()
        opened.append([], plan_texts={"0" * 64: "x"})
        assert opened.plan_text("0" * 64) == "x" and refused > 10
