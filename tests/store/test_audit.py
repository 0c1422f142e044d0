"""check-log sees everything that is wrong with a log, and changes nothing by looking."""

from __future__ import annotations

import random
import re
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.press import Press
from cartclock.engine.store.log import Log
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.whereabouts import head_path
from cartclock.engine.store.whole.audit import Audited, audit
from cartclock.tui.commands.group import commands
from tests.kit.damaged import changed, copied, dump, flips, killed_log

# Bits changed one at a time: so many by default, and in the long run.
FLIPS, MANY_FLIPS = 30, 2_000


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return killed_log(tmp_path_factory.mktemp("whole"))


@pytest.fixture
def log(whole: Path, tmp_path: Path) -> Path:
    return copied(whole, tmp_path / "cart")


def found(log: Path) -> Audited:
    return audit(log, VIEWS, log.parent / "papers")


def test_a_whole_log_is_whole_and_looking_changes_nothing(log: Path) -> None:
    before = {path.name: path.read_bytes() for path in log.parent.iterdir()}
    assert found(log).wrong == ()
    with Log.open(log) as opened:
        assert found(log).head == opened.head
    assert dump(log)["rows"] and dump(log)["asking"]
    shutil.rmtree(log.parent)
    log.parent.mkdir()
    for name, content in before.items():
        if not name.endswith("-shm"):
            (log.parent / name).write_bytes(content)
    found(log)
    # The index of the write-ahead file is made anew by whoever reads.
    after = {path.name: path.read_bytes() for path in log.parent.iterdir()}
    assert {n: c for n, c in after.items() if not n.endswith("-shm")} == {
        n: c for n, c in before.items() if not n.endswith("-shm")
    }


def _flipped(log: Path, count: int, seed: int) -> list[str]:
    """Every changed bit that nobody named and somebody would miss."""
    good = dump(log)
    # What comes behind the last press in the write-ahead file may be lost with it: a question is
    # asked again by the next press.
    less = {**good, "asking": []}
    return [
        what for what in flips(log, count, seed)
        if not found(log).wrong and dump(log) not in (good, less)
    ]  # fmt: skip


def test_a_changed_bit_is_named_or_changes_nothing(log: Path) -> None:
    assert _flipped(log, FLIPS, seed=11) == []


@pytest.mark.long
def test_many_changed_bits_are_named_or_change_nothing(log: Path) -> None:
    names = {path.name for path in log.parent.iterdir()}
    assert {"log.db", "log.db-wal", "log.db-head", "history.db"} <= names
    assert _flipped(log, MANY_FLIPS, seed=12) == []


@pytest.mark.long
def test_many_changed_bits_are_no_traceback_of_a_command(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What they say is a paper, or one sentence and exit code 1."""
    monkeypatch.setenv("CARTCLOCK_HOME", str(log.parent))
    lines = (["record", "1"], ["now"], ["history"], ["check-log"])
    for number, what in enumerate(flips(log, MANY_FLIPS, seed=13)):
        done = CliRunner().invoke(commands, lines[number % len(lines)])
        assert done.exit_code in {0, 1}, (what, done.stderr)
        assert bool(done.stderr) >= done.exit_code
        assert not log.with_name("fault.txt").exists()


CHANGES = {
    "DROP INDEX rows_job": "the index rows_job is missing",
    "DROP TRIGGER rows_no_delete": "the trigger rows_no_delete is missing",
    "CREATE TABLE own (a)": "the table own does not belong to a log",
    "DELETE FROM job_summary WHERE number = 2": "the line of job .* is missing",
    "UPDATE job_summary SET vehicle = 'white vam' WHERE number = 2": "job 2 .* is not what its",
    "UPDATE job_summary SET last_us = last_us + 1 WHERE number = 2": "job 2 .* is not what its",
    "UPDATE shift_summary SET off_us = on_us": "the line of shift .* is not what its rows say",
    "UPDATE heartbeat SET at_us = at_us + 60000000": "the heartbeat is not what its clocks said",
    "DELETE FROM rows WHERE seq = (SELECT max(seq) FROM rows)": "was there once and is not in",
    "DELETE FROM rows": "there is no row",
    "DELETE FROM cart": "the log does not say which cart it is of",
    "UPDATE private SET ref = ref || 'x' WHERE text = 'ZQ 4711'": "no row speaks of it",
    "UPDATE private SET text = 'ZQ 4712' WHERE text = 'ZQ 4711'": "is not the one that was sealed",
    "UPDATE plan_text SET text = text || ' '": "is not what was written, its digest differs",
    "UPDATE asking SET text = text || ' '": "the question that waits for an answer is not what",
}


@pytest.mark.parametrize(("statement", "said"), CHANGES.items())
def test_what_was_changed_is_named(log: Path, statement: str, said: str) -> None:
    if "TRIGGER" in statement:
        with closing(sqlite3.connect(log)) as db:
            db.execute(statement)
    else:
        changed(log, statement)
    assert [one for one in found(log).wrong if re.search(said, one)], found(log)


def test_what_is_known_of_all_jobs_is_compared(log: Path) -> None:
    with closing(sqlite3.connect(log.with_name("history.db"), isolation_level=None)) as db:
        db.execute("UPDATE drawn_block SET num = num + 1")
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    (said,) = found(log).derived
    assert said.startswith("history.db: drawn_block is not what the rows say, of coat")


def test_an_index_of_words_is_held_against_its_texts(log: Path) -> None:
    with closing(sqlite3.connect(log.with_name("history.db"), isolation_level=None)) as db:
        db.execute("INSERT INTO words (rowid, open, private) VALUES (7, 'zebra', '')")
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    assert [one for one in found(log).derived if "words is not the index of its texts" in one]


def test_a_write_ahead_file_that_is_gone_is_named(log: Path) -> None:
    log.with_name("log.db-wal").unlink()
    (said,) = found(log).faults
    assert re.fullmatch(r"row \d+: was there once and is not in this log", said)
    # Whoever opens it is told, until the next press; then the line that was there is kept.
    with Log.open(log) as opened:
        assert opened.lost.startswith("Row") and opened.lost.count(". ") == 0
        opened.append([])
        assert opened.lost
    assert len(head_path(log).read_bytes()) == 84


def test_a_row_that_says_what_cannot_be_is_named_and_every_paper_is_made(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As another program might write it: the chain holds, and no rule would have let it pass."""
    with Log.open(log) as opened:
        last = opened.all_rows()[-1]
        line = replace(opened.job_summaries()[0], last_us=last.entered_us)
        odd: list[tuple[str, Struct]] = [
            ("", ev.BreakEnded()),
            (line.job, ev.SectionSkipped("Coat", ("nowhere",), "none there")),
        ]
        for of, event in odd:
            seq = opened.head.seq + 1
            press = Press(opened.origin, seq)
            row = replace(last, seq=seq, press=press, job=of, event=event)
            opened.append([row], jobs=[line] if of else [])
        seq = opened.head.seq
    code, out, err = run(log, monkeypatch)
    *said, whole = out.splitlines()
    assert (code, err) == (0, "") and whole.startswith(f"{seq + 1} rows, every link holds.")
    assert len(said) == 2
    assert said[0].startswith(f"row {seq - 1}: is set aside, ")
    assert said[1].startswith(f"row {seq}: is set aside, ")
    for words in (["record", "1"], ["now"]):
        done = CliRunner().invoke(commands, words)
        assert (done.exit_code, done.stderr) == (0, ""), words


def test_papers_are_held_against_the_log(log: Path) -> None:
    with Log.open(log) as opened:
        head = opened.head
    folder = log.parent / "papers" / "job-0001-bottle-green-estate"
    folder.mkdir(parents=True)
    paper = folder / "record-r1.txt"
    paper.write_text(f"Made from a log of 3 rows; its newest row has the digest {head.digest}. ")
    (said,) = found(log).papers
    assert said.endswith("record-r1.txt: is not one that this log issued, or was changed since")
    paper.write_text(f"its newest row has the digest {head.digest[::-1]}.")
    assert len(found(log).papers) == 2
    assert found(log).wrong == found(log).papers
    paper.rename(folder / "photo of the roof.txt")
    assert found(log).papers == ()


# The command.


def run(log: Path, monkeypatch: pytest.MonkeyPatch, *words: str) -> tuple[int, str, str]:
    monkeypatch.setenv("CARTCLOCK_HOME", str(log.parent))
    done = CliRunner().invoke(commands, ["check-log", *words])
    return done.exit_code, done.stdout, done.stderr


def test_the_command_names_a_row_by_its_digest(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Log.open(log) as opened:
        head = opened.head
    assert run(log, monkeypatch)[:2] == (
        0,
        f"{head.seq + 1} rows, every link holds. Head: {head.digest}\n",
    )
    row = f"Row {head.seq} of this log.\n"
    assert run(log, monkeypatch, "--head", head.digest.upper() + ".") == (0, row, "")
    assert run(log, monkeypatch, "--head", head.digest[:12]) == (0, row, "")
    assert run(log, monkeypatch, "--head", "0" * 64) == (1, "", "Not in this log.\n")
    assert run(log, monkeypatch, "--head", "head")[0] == 2


def test_what_can_be_derived_is_made_anew(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    good = dump(log)
    changed(log, "DELETE FROM job_summary")
    changed(log, "DROP INDEX rows_job")
    code, out, err = run(log, monkeypatch)
    assert code == 1 and "index rows_job is missing" in out and "--repair" in err
    code, out, err = run(log, monkeypatch, "--repair")
    assert code == 0 and "rows, none is missing" in out and "log-aside-" in err
    assert found(log).wrong == ()
    assert {**dump(log), "heartbeat": good["heartbeat"]} == good
    assert run(log, monkeypatch, "--repair")[0] == 0


def header(data: bytearray) -> None:
    data[:40] = b"\x55" * 40


def first_page(data: bytearray) -> None:
    data[:4096] = bytes(random.Random(5).randbytes(4096))


@pytest.mark.parametrize("fault", [header, first_page], ids=lambda fault: fault.__name__)
def test_a_log_that_is_not_known_any_more_is_read(
    log: Path, fault: Callable[[bytearray], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    good = dump(log)
    with closing(sqlite3.connect(log)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    data = bytearray(log.read_bytes())
    fault(data)
    log.write_bytes(data)
    code, out, err = run(log, monkeypatch)
    assert code == 1 and out.count("\n") < 30 and err.count("\n") == 1
    assert run(log, monkeypatch, "--repair")[0] == 0
    assert {**dump(log), "heartbeat": good["heartbeat"]} == good
    assert found(log).wrong == ()


def test_what_is_missing_is_named_and_the_rest_saved(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with closing(sqlite3.connect(log)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    good = dump(log)
    data = bytearray(log.read_bytes())
    # The page that holds the reading.
    at = data.index(b'"air_c"') // 4096 * 4096
    data[at : at + 4096] = bytes(4096)
    log.write_bytes(data)
    before = log.read_bytes()
    code, out, err = run(log, monkeypatch, "--repair")
    assert code == 1 and "missing" in out and "restore --damaged" in err
    assert log.read_bytes() == before
    (saved,) = log.parent.glob("log-saved-*.db")
    kept = dump(saved)
    assert 0 < len(kept["rows"]) < len(good["rows"]) and set(kept["rows"]) < set(good["rows"])
    told = re.findall(r"rows? (\d+)(?: to (\d+))?: (?:is|are) missing", out)
    gone = {seq for first, last in told for seq in range(int(first), int(last or first) + 1)}
    # Of rows at the end the newest is named, which was there at the last press.
    gone |= {int(seq) for seq in re.findall(r"row (\d+): was there once", out)}
    assert gone >= {line[1] for line in good["rows"]} - {line[1] for line in kept["rows"]}
    monkeypatch.setenv("CARTCLOCK_HOME", str(log.parent))
    done = CliRunner().invoke(commands, ["restore", "--damaged", "--over-newer", str(saved)])
    assert done.exit_code == 0, done.stderr


def test_a_log_of_which_nothing_can_be_read(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log.write_bytes(random.Random(6).randbytes(log.stat().st_size))
    log.with_name("log.db-wal").unlink()
    code, _out, err = run(log, monkeypatch, "--repair")
    assert code == 1 and "not one row" in err and "cartclock restore FILE" in err
    assert not list(log.parent.glob("log-*")) and not list(log.parent.glob(".repair*"))
