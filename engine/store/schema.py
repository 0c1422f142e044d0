"""The tables of the log, how they came about, and the connection they are kept through.

A migration is a list of statements; its number, counted from 1, is kept in
`user_version`, which SQLite changes in the same transaction. So a log is always at a
whole version, and a newer program's log is known before anything is read from it.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from msgspec import Struct

from cartclock.engine.facts.rows import Evidence
from cartclock.engine.store.plain_file import not_plain
from cartclock.engine.times import Instant
from cartclock.engine.trouble import StoreFault

Migration = tuple[str, ...]

# Tells this program's files from other SQLite files: the four letters "CClk".
APPLICATION_ID = 0x43436C6B

# STRICT tables came with SQLite 3.37 (sqlite.org/stricttables.html).
_OLDEST_SQLITE = (3, 37, 0)

# How long a press waits for another program's transaction; those last milliseconds.
BUSY_SECONDS = 0.5

FIRST: Migration = (
    f"PRAGMA application_id = {APPLICATION_ID}",
    """
    CREATE TABLE rows (
        origin TEXT NOT NULL,
        seq INTEGER NOT NULL CHECK (seq >= 0),
        press INTEGER NOT NULL CHECK (press BETWEEN 0 AND seq),
        shift TEXT,
        job TEXT,
        worker TEXT NOT NULL,
        kind TEXT NOT NULL,
        v INTEGER NOT NULL,
        at_us INTEGER NOT NULL,
        entered_us INTEGER NOT NULL,
        wall_us INTEGER NOT NULL,
        boot TEXT NOT NULL,
        tick_us INTEGER NOT NULL,
        sure INTEGER NOT NULL CHECK (sure IN (0, 1)),
        by TEXT NOT NULL CHECK (by IN ('worker', 'machine')),
        body TEXT NOT NULL,
        prev TEXT NOT NULL,
        digest TEXT NOT NULL,
        PRIMARY KEY (origin, seq)
    ) STRICT
    """,
    "CREATE INDEX rows_job ON rows (job) WHERE job IS NOT NULL",
    "CREATE INDEX rows_shift ON rows (shift) WHERE shift IS NOT NULL",
    "CREATE INDEX rows_kind ON rows (kind)",
    "CREATE INDEX rows_press ON rows (press)",
    """
    CREATE TRIGGER rows_no_update BEFORE UPDATE ON rows
    BEGIN SELECT RAISE(ABORT, 'a row of the log is never changed'); END
    """,
    """
    CREATE TRIGGER rows_no_delete BEFORE DELETE ON rows
    BEGIN SELECT RAISE(ABORT, 'a row of the log is never deleted'); END
    """,
    # INSERT OR REPLACE deletes without asking the trigger above.
    """
    CREATE TRIGGER rows_no_replace BEFORE INSERT ON rows
    WHEN EXISTS (SELECT 1 FROM rows WHERE origin = NEW.origin AND seq = NEW.seq)
    BEGIN SELECT RAISE(ABORT, 'a row of the log is never replaced'); END
    """,
    "CREATE TABLE private (ref TEXT PRIMARY KEY, salt BLOB NOT NULL, text TEXT NOT NULL) STRICT",
    "CREATE TABLE plan_text (sha256 TEXT PRIMARY KEY, text TEXT NOT NULL) STRICT",
    """
    CREATE TABLE cart (
        one INTEGER PRIMARY KEY CHECK (one = 1),
        origin TEXT NOT NULL,
        wall_us INTEGER NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE heartbeat (
        one INTEGER PRIMARY KEY CHECK (one = 1),
        at_us INTEGER NOT NULL,
        wall_us INTEGER NOT NULL,
        boot TEXT NOT NULL,
        tick_us INTEGER NOT NULL
    ) STRICT
    """,
    "CREATE TABLE asking (one INTEGER PRIMARY KEY CHECK (one = 1), text TEXT NOT NULL) STRICT",
    """
    CREATE TABLE job_summary (
        job TEXT PRIMARY KEY,
        number INTEGER NOT NULL,
        vehicle TEXT NOT NULL,
        opened_us INTEGER NOT NULL,
        closed_us INTEGER,
        last_us INTEGER NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE shift_summary (
        shift TEXT PRIMARY KEY,
        worker TEXT NOT NULL,
        on_us INTEGER NOT NULL,
        off_us INTEGER
    ) STRICT
    """,
)
# Which rows are corrections, and the press that one means: NULL where this cannot be known. A
# query must say both in these very words to be answered by the index.
IS_CORRECTION = "kind IN ('PressStruck', 'PressRestored', 'PressMoved')"
CORRECTS = (
    "CASE WHEN v IN (1, 2) AND json_valid(body) AND json_type(body, '$.press') = 'integer' "
    "THEN json_extract(body, '$.press') END"
)
# A job's corrections were found by reading every correction there ever was.
CORRECTS_INDEX: Migration = (
    f"CREATE INDEX rows_corrects ON rows ({CORRECTS}) WHERE {IS_CORRECTION}",
)
# What is open, a number, a day and a worker's newest shift and press were found by a walk through
# every line.
LINES: Migration = (
    "CREATE INDEX job_summary_open ON job_summary (opened_us) WHERE closed_us IS NULL",
    "CREATE INDEX job_summary_number ON job_summary (number)",
    "CREATE INDEX job_summary_opened ON job_summary (opened_us)",
    "CREATE INDEX job_summary_closed ON job_summary (closed_us)",
    "CREATE INDEX shift_summary_worker ON shift_summary (worker, on_us)",
    "CREATE INDEX shift_summary_on ON shift_summary (on_us)",
    "CREATE INDEX rows_worker ON rows (worker, press) WHERE by = 'worker'",
)
# Which rows are of packs, and of which product; the words of the index, as above.
IS_PACK = "kind IN ('PackOpened', 'PackWeighed')"
PACK_PRODUCT = "CASE WHEN json_valid(body) THEN json_extract(body, '$.product') END"
# A product's packs were found by reading every pack there ever was.
PACKS_INDEX: Migration = (
    f"CREATE INDEX rows_pack ON rows ({PACK_PRODUCT}, entered_us) WHERE {IS_PACK}",
)
# Which rows say that a job was imported, and of which job; the words of the index, as above.
IS_IMPORT = "kind = 'JobImported'"
IMPORTED_JOB = "CASE WHEN json_valid(body) THEN json_extract(body, '$.job') END"
IMPORTS_INDEX: Migration = (
    f"CREATE INDEX rows_imported ON rows ({IMPORTED_JOB}) WHERE {IS_IMPORT}",
)
# How many logs an import tells of, and the head it tells of the first two of them, its origin in
# front of its number; hardly any job was worked on more carts. The words of the indexes, as above.
IMPORTED_LOGS = "CASE WHEN json_valid(body) THEN json_array_length(body, '$.parts') END"
IMPORTED_HEADS = tuple(
    f"CASE WHEN json_valid(body) THEN json_extract(body, '$.parts[{at}].origin') || ' ' || "
    f"json_extract(body, '$.parts[{at}].seq') END"
    for at in (0, 1)
)
# What an import before told of a log was found by reading every import there ever was.
HEADS_INDEX: Migration = (
    f"CREATE INDEX rows_logs ON rows ({IMPORTED_LOGS}) WHERE {IS_IMPORT}",
    *(
        f"CREATE INDEX rows_head_{at} ON rows ({head}) WHERE {IS_IMPORT}"
        for at, head in enumerate(IMPORTED_HEADS)
    ),
)
# The number that an imported job has on its own cart; the words of the index, as above.
IMPORTED_NUMBER = "CASE WHEN json_valid(body) THEN json_extract(body, '$.number') END"
# An imported job was found by its number by reading every import there ever was.
IMPORTED_NUMBERS_INDEX: Migration = (
    f"CREATE INDEX rows_imported_number ON rows ({IMPORTED_NUMBER}) WHERE {IS_IMPORT}",
)
MIGRATIONS: tuple[Migration, ...] = (
    FIRST, CORRECTS_INDEX, LINES, PACKS_INDEX, IMPORTS_INDEX, HEADS_INDEX, IMPORTED_NUMBERS_INDEX,
)  # fmt: skip

_BUSY = "another program holds the log; close it, then do this again"
_READ_ONLY = "the log is read-only; make the file and its folder yours to write, then do this again"
_REMEDIES = {
    sqlite3.SQLITE_BUSY: _BUSY,
    sqlite3.SQLITE_LOCKED: _BUSY,
    sqlite3.SQLITE_FULL: "the disk is full; free some space, then do this again",
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_PERM: _READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: "look whether its folder is there and yours to write to",
    sqlite3.SQLITE_IOERR: "the disk reports a fault; copy the log to another disk at once",
    sqlite3.SQLITE_CORRUPT: (
        "it is damaged; keep the file: cartclock check-log says where, cartclock restore FILE puts "
        "a backup back"
    ),
    sqlite3.SQLITE_NOTADB: "the file is not a log; move it away or name another one",
}


class Head(Struct, frozen=True):
    """The newest row: its seq (-1 while there is none) and digest ("" while there is none)."""

    seq: int = -1
    digest: str = ""


class JobSummary(Struct, frozen=True):
    """A job in one line, reckoned from its rows; times in job time, `closed_us` None if open.

    last_us: when its newest press was entered; nothing of the job speaks of a later time.
    """

    job: str
    number: int
    vehicle: str
    opened_us: Instant
    closed_us: Instant | None
    last_us: Instant


class ShiftSummary(Struct, frozen=True):
    """A shift in one line, reckoned from its rows; `off_us` None while on the clock."""

    shift: str
    worker: str
    on_us: Instant
    off_us: Instant | None


class Beat(Struct, frozen=True):
    """When the program was last alive: job time and what the clocks said."""

    at_us: Instant
    evidence: Evidence


def store_fault(error: Exception, begin: str) -> StoreFault:
    """What a database error means to the worker, as a whole sentence that begins with `begin`."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    what = _REMEDIES.get(code, "the log gave an answer nobody planned for")
    return StoreFault(f"{begin}: {what} ({error}).")


@contextmanager
def transaction(db: sqlite3.Connection) -> Iterator[None]:
    """All that is written inside is written together, or not at all if anything is raised."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        undo(db)
        raise


def undo(db: sqlite3.Connection) -> None:
    """Roll back where a transaction is still open.

    A failing rollback is not raised over the fault that made it necessary: SQLite has
    rolled back by itself then, or will when the file is next opened.
    """
    with suppress(sqlite3.Error):
        if db.in_transaction:
            db.execute("ROLLBACK")


def migrate(db: sqlite3.Connection, migrations: Sequence[Migration] = MIGRATIONS) -> int:
    """Bring the tables to the newest version, each migration in one transaction.

    Returns the version reached. Raises StoreFault for another program's or a newer
    version's file, sqlite3.Error if a migration fails: of that one nothing stays.
    """
    newest = len(migrations)
    for number, statements in enumerate(migrations, start=1):
        if _version(db, newest) < number:
            with transaction(db):
                # Read again under the write lock: two programs may begin at once.
                if _version(db, newest) < number:
                    for statement in statements:
                        db.execute(statement)
                    db.execute(f"PRAGMA user_version = {number}")
    return newest


def _version(db: sqlite3.Connection, newest: int) -> int:
    version: int = db.execute("PRAGMA user_version").fetchone()[0]
    owner: int = db.execute("PRAGMA application_id").fetchone()[0]
    tables: int = db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if owner != APPLICATION_ID and (version or tables):
        raise StoreFault("This file belongs to another program; move it away or name another one.")
    if version > newest:
        raise StoreFault(
            f"This log was written by a newer cartclock (version {version} of its tables, "
            f"known here up to {newest}); install that one."
        )
    return version


def connect(path: Path) -> sqlite3.Connection:
    """A connection whose commits are on the disk when they return.

    A file is made, for its owner's eyes, where there is none. Raises StoreFault if the
    file system or SQLite cannot give what the log needs.
    """
    if sqlite3.sqlite_version_info < _OLDEST_SQLITE:
        raise StoreFault(
            f"SQLite {sqlite3.sqlite_version} is too old; the log needs 3.37 or newer."
        )
    umask = os.umask(0o077)
    try:
        if (other := not_plain(path)) is not None:
            raise StoreFault(f"{other} is no plain file; move it away, then do this again.")
        _create(path)
        db = sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)
        try:
            # Before anything is set: another program's file is left as it is.
            _version(db, len(MIGRATIONS))
            _tune(db)
        except BaseException:
            db.close()
            raise
    except sqlite3.Error as error:
        raise store_fault(error, f"The log {path} cannot be opened") from error
    except OSError as error:
        raise StoreFault(
            f"The log {path} cannot be made: {error.strerror or error}; "
            "look whether its folder is yours to write to."
        ) from error
    finally:
        os.umask(umask)
    return db


def _create(path: Path) -> None:
    if path.exists():
        return
    make_folder(path.parent)
    # Another program may have made it meanwhile.
    with suppress(FileExistsError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    sync_folder(path.parent)


def make_folder(folder: Path) -> None:
    """Make a folder and those above it where they are not there, for the owner, their names on
    the disk."""
    new = [one for one in (folder, *folder.parents) if not one.exists()]
    # One by one: of those above the last `mkdir` takes what is usual here.
    for one in reversed(new):
        one.mkdir(mode=0o700, exist_ok=True)
        sync_folder(one.parent)
    folder.mkdir(exist_ok=True)


def sync_folder(folder: Path) -> None:
    """Put the names in a folder on the disk, where the system can (Windows cannot)."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _tune(db: sqlite3.Connection) -> None:
    wanted = {
        "journal_mode": "wal",
        # 2 is FULL: the write-ahead log is synced at every commit (sqlite.org/pragma.html).
        "synchronous": 2,
        "foreign_keys": 1,
        # On macOS a plain fsync leaves the data in the drive's cache (sqlite.org/pragma.html).
        "fullfsync": 1,
        # 2 is MEMORY: VACUUM puts no copy of private text into a temporary file.
        "temp_store": 2,
    }
    for name, value in wanted.items():
        db.execute(f"PRAGMA {name} = {value}").fetchall()
        got = db.execute(f"PRAGMA {name}").fetchone()[0]
        if got != value:
            raise StoreFault(
                f"The log cannot be kept here: {name} is {got}, not {value}; "
                "put it on a local disk."
            )
