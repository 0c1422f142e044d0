"""The log on disk: what is written comes back, nothing is changed unnoticed, names can go."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts.events import (
    BreakEnded,
    BreakTaken,
    ClockedOn,
    DrinkTaken,
    NoteWritten,
    PackOpened,
    PackWeighed,
    PressMoved,
    PressRestored,
    PressStruck,
    Unknown,
    WaterTouched,
)
from cartclock.engine.facts.rows import Evidence, Row
from cartclock.engine.press import Press
from cartclock.engine.store import codec, schema
from cartclock.engine.store.log import Beat, Head, JobSummary, Log, Overtaken, ShiftSummary, seal
from cartclock.engine.trouble import StoreFault

HOUR_US = 3_600_000_000


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    with Log.open(tmp_path / "log.db") as opened:
        yield opened


def row(
    log: Log, event: Struct, *, seq: int = -1, press: int = -1, job: str = "", shift: str = "s1"
) -> Row:
    seq = log.head.seq + 1 if seq < 0 else seq
    press = seq if press < 0 else press
    at = HOUR_US + seq
    of = Press(log.origin, press)
    return Row(log.origin, seq, of, shift, job, "me", at, at, at, "b", seq, True, "worker", event)


def write(log: Log, event: Struct, **where: Any) -> Row:
    made = row(log, event, **where)
    log.append([made])
    return made


def raw(path: Path, *statements: str) -> None:
    """What somebody with another program and no scruples does to the file."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        for name in ("update", "delete", "replace"):
            db.execute(f"DROP TRIGGER IF EXISTS rows_no_{name}")
        for statement in statements:
            db.execute(statement)


def bytes_of(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in folder.iterdir())


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


# Opening.


def test_new_log_is_empty_and_keeps_its_origin(tmp_path: Path) -> None:
    path = tmp_path / "log.db"
    with Log.open(path, entropy=lambda size: b"\1" * size) as log:
        assert log.origin == "01010101-0101-4101-8101-010101010101"
        assert log.head == Head(-1, "")
        assert log.all_rows() == []
        assert log.check() == []
    with Log.open(path, entropy=lambda size: b"\2" * size) as log:
        assert log.origin == "01010101-0101-4101-8101-010101010101"


@pytest.mark.skipif(os.name != "posix", reason="file modes are a matter of POSIX systems")
def test_only_the_owner_may_look(tmp_path: Path) -> None:
    old = os.umask(0o022)
    try:
        with Log.open(tmp_path / "a" / "b" / "log.db") as log:
            write(log, DrinkTaken(250))
            log.backup(tmp_path / "copy.db")
            folder = tmp_path / "a" / "b"
            assert {path.name: mode(path) for path in folder.iterdir()} == {
                "log.db": 0o600,
                "log.db-head": 0o600,
                "log.db-wal": 0o600,
                "log.db-shm": 0o600,
            }
        assert (mode(tmp_path / "a"), mode(folder)) == (0o700, 0o700)
        assert mode(tmp_path / "copy.db") == 0o600
        assert os.umask(0o022) == 0o022
    finally:
        os.umask(old)


def test_other_programs_file_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE songs (name TEXT)")
        db.commit()
    before = path.read_bytes()
    with pytest.raises(StoreFault, match="belongs to another program"):
        Log.open(path)
    assert path.read_bytes() == before


def test_text_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("this is no database, only a long enough text\n" * 50)
    with pytest.raises(StoreFault, match="not a log"):
        Log.open(path)


def test_newer_log_is_refused(log: Log) -> None:
    log.close()
    raw(log.path, "PRAGMA user_version = 99")
    with pytest.raises(StoreFault, match=r"newer cartclock \(version 99"):
        Log.open(log.path)


def test_folder_in_the_way_is_told(tmp_path: Path) -> None:
    with pytest.raises(StoreFault, match="is no plain file"):
        Log.open(tmp_path)
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreFault, match="cannot be made"):
        Log.open(tmp_path / "file" / "log.db")


# Appending and reading.


def test_rows_come_back_in_order(log: Log) -> None:
    first = [
        row(log, BreakTaken("rest", 60), seq=0),
        row(log, WaterTouched("Coat", ("roof",)), seq=1, press=0, job="j1", shift=""),
    ]
    head = log.append(first)
    second = write(log, BreakEnded())
    assert head.seq == 1
    assert log.head.seq == 2
    with Log.open(log.path) as again:
        assert again.head == log.head
        assert again.all_rows() == [*first, second]
        assert again.rows_after(0) == [first[1], second]
        assert again.press_rows(Press(log.origin, 0)) == first
        assert again.press_rows(Press(log.origin, 7)) == []


def test_no_shift_and_no_job_are_null(log: Log) -> None:
    write(log, DrinkTaken(250), shift="")
    with closing(sqlite3.connect(log.path)) as db:
        assert db.execute("SELECT shift, job FROM rows").fetchall() == [(None, None)]


@pytest.mark.parametrize("seq", [0, 2])
def test_row_must_go_on_from_the_head(log: Log, seq: int) -> None:
    write(log, DrinkTaken(250))
    with pytest.raises(StoreFault, match="does not go on"):
        log.append([row(log, DrinkTaken(250), seq=seq)])
    assert len(log.all_rows()) == 1


def test_row_of_another_origin_is_refused(log: Log, tmp_path: Path) -> None:
    with Log.open(tmp_path / "other.db") as other, pytest.raises(StoreFault, match="go on"):
        log.append([row(other, DrinkTaken(250))])


def test_refused_row_leaves_the_others_unwritten(log: Log) -> None:
    good = row(log, DrinkTaken(250), seq=0)
    for bad in (
        row(log, PackWeighed("coat", float("nan")), seq=1),
        row(log, DrinkTaken(250), seq=1, press=2),
        Row(*["x"] * 13, DrinkTaken(1)),  # type: ignore[arg-type, call-arg] # nothing in it fits
    ):
        with pytest.raises(StoreFault):
            log.append([good, bad], shifts=[ShiftSummary("s1", "me", 1, None)])
        assert (log.all_rows(), log.shift_summaries(), log.head) == ([], [], Head())
    time = replace(row(log, BreakEnded()), at_us=2**70)
    with pytest.raises(StoreFault, match=r"^Nothing was written"):
        log.append([time])
    log.append([good])


def test_unknown_row_is_kept_as_it_stands(log: Log) -> None:
    written = write(log, Unknown("TeaTaken", 3, '{"cups": 2}'))
    assert log.all_rows() == [written]
    assert log.check() == []


def test_rows_of_brings_corrections_and_cart_rows_the_carts(log: Log) -> None:
    mine = write(log, WaterTouched("Coat", ("roof",)), job="j1")
    other = write(log, WaterTouched("Coat", ("roof",)), job="j2", shift="s2")
    ours = write(log, DrinkTaken(250), shift="s1")
    pack = write(log, PackOpened("coat", 50.0), shift="s2")
    strike_mine = write(log, PressStruck(mine.seq), shift="s2")
    strike_other = write(log, PressStruck(other.seq), shift="s2")
    restore = write(log, PressRestored(mine.seq), shift="s2")
    move = write(log, PressMoved(pack.seq, 5), shift="s2")
    strike_move = write(log, PressStruck(move.seq), shift="s3")
    unreadable = write(log, Unknown("PressStruck", 2, "{}"), shift="s3")
    damaged = write(log, Unknown("PressMoved", 1, '{"press":'), shift="s3")
    always = [unreadable, damaged]

    def found(*rows: Row) -> list[Row]:
        return sorted([*rows, *always], key=lambda row: row.seq)

    assert log.rows_of([], []) == found()
    assert log.rows_of(["j1"], []) == found(mine, strike_mine, restore)
    assert log.rows_of(["j2"], []) == found(other, strike_other)
    assert log.rows_of([], ["s1"]) == found(mine, ours, strike_mine, restore)
    assert log.rows_of(["j1", "j2"], ["s1", "s2", "s3"]) == log.all_rows()
    assert log.rows_of(["", "'; --"], [""]) == found()
    weighed = write(log, PackWeighed("coat", 20.0))
    assert log.cart_rows() == found(pack, move, strike_move, weighed)
    newer = write(log, PackOpened("coat", 30.0))
    assert log.cart_rows(1) == found(weighed, newer)
    assert log.corrections_of([]) == [unreadable, damaged]
    assert log.corrections_of([mine.press]) == [strike_mine, restore, unreadable, damaged]


def test_corrections_of_another_carts_press_are_not_this_carts(log: Log) -> None:
    mine = write(log, WaterTouched("Coat", ("roof",)), job="j1")
    theirs = Press("another cart", mine.seq)
    strike = write(log, PressStruck(theirs.seq, "seen twice", theirs.origin), shift="s2")
    assert log.rows_of(["j1"], []) == [mine]
    assert log.corrections_of([theirs]) == [strike]


def test_rows_of_does_not_walk_the_whole_log(log: Log) -> None:
    plans: list[str] = []

    class Asked(sqlite3.Connection):
        def execute(self, query: str, values: Any = ()) -> sqlite3.Cursor:
            plans.extend(line[3] for line in super().execute(f"EXPLAIN QUERY PLAN {query}", values))
            return super().execute(query, values)

    with closing(sqlite3.connect(log.path, factory=Asked)) as db:
        reader = Log(log.path, db, log.origin)
        reader.rows_of(["j1"], ["s1"])
        reader.corrections_of([Press(reader.origin, 4)])
        reader.press_rows(Press(reader.origin, 4))
        reader.presses_of("me", 4, 10)
        reader.cart_rows(10)
    indexes = {plan.split("INDEX ")[1].split()[0] for plan in plans if "SEARCH rows" in plan}
    assert indexes == {
        "rows_job",
        "rows_shift",
        "rows_kind",
        "rows_press",
        "rows_corrects",
        "rows_worker",
    }
    assert not [plan for plan in plans if "SCAN rows" in plan]


def test_summaries_and_texts_are_written_with_the_rows(log: Log) -> None:
    text = "format = 1\n"
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    open_job = JobSummary("j1", 1, "green estate", 10, None, 20)
    second = JobSummary("j2", 2, "white van", 15, None, 15)
    on = ShiftSummary("s1", "me", 5, None)
    log.append([row(log, ClockedOn())], plan_texts={sha256: text}, jobs=[second, open_job])
    log.append([row(log, DrinkTaken(1))], plan_texts={sha256: text}, shifts=[on])
    assert log.plan_text(sha256) == text
    assert log.plan_text("0" * 64) is None
    assert log.job_summaries() == [open_job, second]
    assert log.shift_summaries() == [on]
    closed = JobSummary("j1", 1, "green estate", 10, 40, 40)
    off = ShiftSummary("s1", "me", 5, 50)
    log.append([row(log, DrinkTaken(1))], jobs=[closed], shifts=[off])
    assert log.job_summaries() == [closed, second]
    assert log.shift_summaries() == [off]


def test_heartbeat_and_question_are_overwritten_and_survive(log: Log) -> None:
    assert (log.last_beat(), log.asked()) == (None, None)
    log.beat(1, Evidence(2, "boot-1", 3))
    log.beat(4, Evidence(5, "boot-2", 6))
    log.ask('{"rule":"gate"}')
    log.ask('{"rule":"gap"}')
    log.close()
    with Log.open(log.path) as again:
        assert again.last_beat() == Beat(4, Evidence(5, "boot-2", 6))
        assert again.asked() == '{"rule":"gap"}'
        again.ask(None)
        assert again.asked() is None


# Two programs.


def test_second_program_is_overtaken_then_goes_on(log: Log) -> None:
    with Log.open(log.path) as second:
        write(log, DrinkTaken(1))
        write(log, DrinkTaken(2))
        text = seal("Ana Quill")
        with pytest.raises(Overtaken, match="2 rows") as caught:
            second.append([row(second, DrinkTaken(3))], private=[text])
        assert caught.value.count == 2
        assert [r.seq for r in second.all_rows()] == [0, 1]
        assert second.private_text(text.ref) is None
        assert second.refresh() == log.head
        write(second, DrinkTaken(3))
        with pytest.raises(Overtaken) as caught:
            write(log, DrinkTaken(4))
        assert caught.value.count == 1
    assert log.refresh().seq == 2
    assert log.check() == []


def test_exchanged_log_is_noticed(log: Log) -> None:
    write(log, DrinkTaken(1))
    write(log, DrinkTaken(2))
    raw(log.path, "DELETE FROM rows WHERE seq = 1")
    with pytest.raises(StoreFault, match="not the one that was opened") as caught:
        write(log, DrinkTaken(3))
    assert not isinstance(caught.value, Overtaken)
    with pytest.raises(StoreFault, match="row 1 is gone"):
        log.refresh()


# The chain.


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE rows SET worker = 'you'",
        "DELETE FROM rows",
        "INSERT OR REPLACE INTO rows SELECT * FROM rows",
        "UPDATE OR IGNORE rows SET seq = 5",
    ],
)
def test_rows_are_only_added(log: Log, statement: str) -> None:
    written = write(log, DrinkTaken(250))
    with (
        closing(sqlite3.connect(log.path)) as db,
        pytest.raises(sqlite3.IntegrityError, match="a row of the log is never"),
    ):
        db.execute(statement)
    assert log.all_rows() == [written]


TAMPERED = {
    "origin": "'other'",
    "seq": "77",
    "press": "0",
    "shift": "NULL",
    "job": "'j9'",
    "worker": "'you'",
    "kind": "'BreakEnded'",
    "v": "2",
    "at_us": "at_us + 1",
    "entered_us": "entered_us + 1",
    "wall_us": "wall_us + 1",
    "boot": "'b2'",
    "tick_us": "tick_us + 1",
    "sure": "0",
    "by": "'machine'",
    "body": """'{"ml": 3}'""",
    "prev": "digest",
    "digest": "prev",
}


@pytest.mark.parametrize("seq", [0, 2, 3], ids=["first", "middle", "last"])
@pytest.mark.parametrize("column", codec.COLUMNS)
def test_change_of_any_column_is_found(log: Log, column: str, seq: int) -> None:
    for _ in range(4):
        write(log, DrinkTaken(250))
    assert log.check() == []
    value = "1" if (column, seq) == ("press", 0) else TAMPERED[column]
    raw(log.path, f"UPDATE rows SET {column} = {value} WHERE seq = {seq}")
    faults = log.check()
    named = {"seq": "row 77:", "origin": f"installation other, row {seq}:"}
    assert any(fault.startswith(named.get(column, f"row {seq}:")) for fault in faults), faults


def test_damaged_letters_are_found(log: Log) -> None:
    for _ in range(3):
        write(log, DrinkTaken(250))
    raw(log.path, "UPDATE rows SET worker = CAST(x'ff' AS TEXT) WHERE seq = 1")
    assert log.check() == ["row 1: is not what was written, its digest differs"]
    with pytest.raises(StoreFault, match="cannot be read"):
        log.all_rows()


def test_row_written_anew_breaks_the_next(log: Log) -> None:
    for _ in range(3):
        write(log, DrinkTaken(250))
    with closing(sqlite3.connect(log.path)) as db:
        line = list(db.execute("SELECT * FROM rows WHERE seq = 1").fetchone())
    line[5] = "you"
    raw(
        log.path,
        f"UPDATE rows SET worker = 'you', digest = '{codec.digest(line[:-1])}' WHERE seq = 1",
    )
    assert log.check() == ["row 2: does not follow on the row before it"]


def test_missing_rows_are_named(log: Log) -> None:
    for _ in range(7):
        write(log, DrinkTaken(250))
    raw(log.path, "DELETE FROM rows WHERE seq IN (1, 3, 4)")
    assert log.check() == ["row 1: is missing", "rows 3 to 4: are missing"]


def test_rows_under_another_name_are_found(log: Log) -> None:
    write(log, DrinkTaken(250))
    log.close()
    raw(log.path, "DELETE FROM cart")
    with Log.open(log.path) as again:
        assert again.check() == [
            f"row 0: is missing, and every other row of installation {again.origin}"
        ]


@pytest.mark.parametrize("change", ["text = 'Ana Quilt'", "salt = x'00'"])
def test_changed_private_text_is_found(log: Log, change: str) -> None:
    write(log, DrinkTaken(250))
    text = seal("Ana Quill")
    log.append([row(log, NoteWritten(text.sealed), job="j1")], private=[text])
    assert log.check() == []
    raw(log.path, f"UPDATE private SET {change}")
    assert log.check() == [f"row 1: private text {text.ref} is not the one that was sealed"]


def test_changed_plan_text_is_found(log: Log) -> None:
    sha256 = hashlib.sha256(b"format = 1").hexdigest()
    log.append([], plan_texts={sha256: "format = 1"})
    assert log.check() == []
    raw(log.path, "UPDATE plan_text SET text = 'format = 2'")
    assert log.check() == [f"plan text {sha256}: is not what was written, its digest differs"]


# Private text.


def test_forgotten_text_is_in_no_file(log: Log) -> None:
    # Some builds of SQLite overwrite what they delete; it must not hang on that.
    log._db.execute("PRAGMA secure_delete = OFF")
    gone = [seal(f"Zephyrine Quillfeather {n}") for n in range(40)]
    kept = seal("Barnaby Thistlewick")
    log.append([row(log, NoteWritten(gone[0].sealed), job="j1")], private=gone)
    log.append([row(log, NoteWritten(kept.sealed), job="j1")], private=[kept])
    folder = log.path.parent
    assert b"Zephyrine" in bytes_of(folder)
    assert gone[0].salt in bytes_of(folder)
    log.forget([text.ref for text in gone])
    left = bytes_of(folder)
    assert b"Zephyrine" not in left
    assert not [text for text in gone if text.salt in left]
    assert b"Barnaby" in left
    assert (log.private_text(gone[0].ref), log.private_text(kept.ref)) == (None, kept.text)
    assert log.check() == []
    assert len(log.all_rows()) == 2
    write(log, DrinkTaken(250))


def test_forgetting_is_not_called_done_while_somebody_reads(log: Log) -> None:
    text = seal("Zephyrine Quillfeather")
    log.append([row(log, NoteWritten(text.sealed))], private=[text])
    with closing(sqlite3.connect(log.path, isolation_level=None)) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM rows").fetchone()
        with pytest.raises(StoreFault, match="forget it again"):
            log.forget([text.ref])
        assert log.private_text(text.ref) is None
        reader.execute("COMMIT")
    log.forget([text.ref])
    assert b"Zephyrine" not in bytes_of(log.path.parent)


# Backup.


def test_backup_is_a_whole_log_in_one_file(log: Log, tmp_path: Path) -> None:
    rows = [write(log, DrinkTaken(ml)) for ml in (1, 2, 3)]
    folder = tmp_path / "stick"
    folder.mkdir()
    log.backup(folder / "copy.db")
    assert [path.name for path in folder.iterdir()] == ["copy.db"]
    # 1 and 1: readable without a write-ahead log (sqlite.org/fileformat2.html, offset 18).
    assert (folder / "copy.db").read_bytes()[18:20] == b"\1\1"
    write(log, DrinkTaken(4))
    with Log.open(folder / "copy.db") as copy:
        assert (copy.origin, copy.all_rows(), copy.check()) == (log.origin, rows, [])


def test_backup_does_not_overwrite(log: Log, tmp_path: Path) -> None:
    (tmp_path / "copy.db").write_text("precious")
    with pytest.raises(StoreFault, match="is there already"):
        log.backup(tmp_path / "copy.db")
    assert (tmp_path / "copy.db").read_text() == "precious"
    with pytest.raises(StoreFault, match="name another folder"):
        log.backup(tmp_path / "nowhere" / "copy.db")


def test_damaged_log_is_told(log: Log) -> None:
    for _ in range(400):
        write(log, DrinkTaken(250))
    log.close()
    data = bytearray(log.path.read_bytes())
    data[4096 * 8 :] = b"\x55" * (len(data) - 4096 * 8)
    log.path.write_bytes(data)
    with pytest.raises(StoreFault, match="it is damaged; keep the file"):
        Log.open(log.path)


def test_tables_are_strict(log: Log) -> None:
    with closing(sqlite3.connect(log.path)) as db:
        tables = db.execute("SELECT name, strict FROM pragma_table_list WHERE schema = 'main'")
        strict = {name: flag for name, flag in tables if not name.startswith("sqlite_")}
    assert set(strict) == {
        "rows",
        "private",
        "plan_text",
        "cart",
        "heartbeat",
        "asking",
        "job_summary",
        "shift_summary",
    }
    assert set(strict.values()) == {1}
    assert len(schema.MIGRATIONS) >= 1
