"""The file in which a library keeps what it knows of a log: parts of views, as of one row.

It stands beside the log and nothing in it is evidence. It is thrown away and begun anew when
it was made by other views, or when the row it reaches is not in the log (a backup was put
back). Where no such file can be kept, because the folder is read-only or the disk refuses,
the same is kept in memory. Nothing here raises over that: what is lost is made again.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Collection, Iterable, Sequence
from contextlib import closing, suppress
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct

from cartclock.engine.facts.view import Of, TableLine, View
from cartclock.engine.store import schema
from cartclock.engine.store.log import Head, Log
from cartclock.engine.store.plain_file import not_plain
from cartclock.engine.store.whole_copy import read_only
from cartclock.engine.trouble import StoreFault

HistoryKept = Literal["beside", "memory", "copy"]
PartKey = tuple[Of, str]

# Tells this file from other SQLite files: the four letters "CClh".
HISTORY_ID = 0x43436C68

# How long opening waits for another program's transaction.
_OPENING_S = 0.5
# How long a write waits for it; then it is put off, so that no press waits.
_BUSY_MS = 50

_OWN = (
    f"PRAGMA application_id = {HISTORY_ID}",
    # How far the tables reach in the log of an origin.
    "CREATE TABLE reach (origin TEXT PRIMARY KEY, seq INTEGER NOT NULL, digest TEXT NOT NULL)"
    " STRICT, WITHOUT ROWID",
    # Which views the tables are of.
    "CREATE TABLE made (view TEXT PRIMARY KEY, version INTEGER NOT NULL) STRICT, WITHOUT ROWID",
    # Jobs, shifts and products whose parts are still to be made; no row behind `newest` is theirs.
    "CREATE TABLE todo (of TEXT NOT NULL, id TEXT NOT NULL, newest INTEGER NOT NULL,"
    " PRIMARY KEY (of, id)) STRICT, WITHOUT ROWID",
    "CREATE INDEX todo_newest ON todo (newest DESC)",
    "CREATE INDEX todo_of ON todo (of, newest)",
)

# Said where the letters of a forgotten text may still be in the file.
NOT_CLEAN = (
    "What is known of the log may still hold letters of it;"
    " forget it again when no other program reads the log."
)

_SCHEMA = "FROM main.sqlite_schema"


class Parts(Struct, frozen=True):
    """Parts to be written down: those of `keys` are exactly `lines`."""

    keys: Sequence[PartKey]
    lines: Sequence[TableLine]


def path_beside(log: Path) -> Path:
    """Where what is known of the log at `log` is kept."""
    return log.with_name("history.db" if log.stem == "log" else f"{log.stem}-history.db")


class History:
    """The parts of some views of one log, on the disk.

    Args:
        log: read only, to see whether the file fits it and to list what is to be made.
        views: every view there is; those of one file go together.
        kept: "beside" the log; in "memory", the file that is there being left alone; or as a
            "copy" of that file in memory, for which it is only read. Then sqlite3.Error is raised
            if it cannot be.
    """

    def __init__(
        self, log: Log, views: Collection[View[Any]], kept: HistoryKept = "beside"
    ) -> None:
        self._log = log
        self._views = tuple(views)
        self.path = path_beside(log.path)
        # True from when the file had to be given up until `moved` said so.
        self.given_up = False
        if kept == "beside":
            try:
                self._db = self._opened(self.path)
            except (sqlite3.Error, OSError):
                self._db = self._in_memory()
        else:
            self._db = self._in_memory(of=self.path if kept == "copy" else None)
        self._looked()

    @property
    def in_memory(self) -> bool:
        """True if nothing of it will be there at the next start."""
        return not self._db.execute("PRAGMA database_list").fetchone()[2]

    @property
    def connection(self) -> sqlite3.Connection:
        """The open file, to be read."""
        return self._db

    def close(self) -> None:
        """Lets go of the file; closing twice does nothing."""
        self._db.close()

    # Opening.

    def _opened(self, path: Path) -> sqlite3.Connection:
        if not_plain(path) is not None:
            raise OSError
        self._create(path)
        db = sqlite3.connect(path, timeout=_OPENING_S, isolation_level=None)
        try:
            self._tuned(db)
            self._begun(db)
            db.execute(f"PRAGMA busy_timeout = {_BUSY_MS}").fetchall()
        except sqlite3.Error as error:
            db.close()
            # Bytes that SQLite cannot read are moved out of the way; anything else is left alone.
            damaged = {sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT}
            if getattr(error, "sqlite_errorcode", 0) & 0xFF not in damaged:
                raise
            path.replace(path.with_name(f"{path.name}.damaged"))
            for end in ("-wal", "-shm"):
                path.with_name(f"{path.name}{end}").unlink(missing_ok=True)
            return self._opened(path)
        except BaseException:
            db.close()
            raise
        return db

    def _in_memory(self, of: Path | None = None) -> sqlite3.Connection:
        db = sqlite3.connect(":memory:", isolation_level=None)
        if of is not None:
            with closing(read_only(of)) as file:
                file.backup(db)
        self._begun(db)
        return db

    @staticmethod
    def _create(path: Path) -> None:
        # It names workers and vehicles: for its owner's eyes, like the log.
        with suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))

    @staticmethod
    def _tuned(db: sqlite3.Connection) -> None:
        # A transaction that is lost is made again from the log: nothing waits for a sync.
        for pragma in ("journal_mode = wal", "synchronous = 1", "secure_delete = 1"):
            db.execute(f"PRAGMA {pragma}").fetchall()

    def _begun(self, db: sqlite3.Connection) -> None:
        """Tables that fit the log, made anew if those that are there do not."""
        db.execute(
            "CREATE TEMP TABLE left_out (of TEXT, id TEXT, PRIMARY KEY (of, id)) WITHOUT ROWID"
        )
        if self._fits(db):
            return
        with schema.transaction(db):
            # Another program may have begun it meanwhile.
            if self._fits(db):
                return
            owner = db.execute("PRAGMA application_id").fetchone()[0]
            if self._tables(db) and owner != HISTORY_ID:
                raise sqlite3.OperationalError("this file belongs to another program")
            self._drop(db)
            self._make(db)

    def _drop(self, db: sqlite3.Connection) -> None:
        # An index of words takes the tables it is kept in with it.
        while tables := self._tables(db):
            db.execute(f'DROP TABLE "{tables[0]}"')

    def begin_anew(self) -> bool:
        """Throws away what is there: everything is still to be made. False as of `write`."""
        try:
            with schema.transaction(self._db):
                self._drop(self._db)
                self._make(self._db)
        except sqlite3.Error:
            return False
        self._looked()
        return True

    @staticmethod
    def _tables(db: sqlite3.Connection) -> list[str]:
        """The names of the tables, indexes of words first."""
        found = db.execute(
            f"SELECT name {_SCHEMA} WHERE type = 'table' ORDER BY sql NOT LIKE 'CREATE VIRTUAL%'"
        )
        return [name for (name,) in found]

    def _make(self, db: sqlite3.Connection) -> None:
        for statement in _OWN:
            db.execute(statement)
        for view in self._views:
            for statements in view.tables.values():
                for statement in statements:
                    db.execute(statement)
            db.execute("INSERT INTO made VALUES (?, ?)", (view.name, view.version))
        head = self._log.head
        db.execute("INSERT INTO reach VALUES (?, ?, ?)", (self._log.origin, head.seq, head.digest))
        for of, ids in self._log.newest_of_each().items():
            db.executemany("INSERT INTO todo VALUES (?, ?, ?)", [(of, id_, at) for id_, at in ids])

    def _fits(self, db: sqlite3.Connection) -> bool:
        if db.execute(f"SELECT name {_SCHEMA} WHERE name = 'made'").fetchone() is None:
            return False
        made = dict(db.execute("SELECT view, version FROM made"))
        found = db.execute(
            "SELECT seq, digest FROM reach WHERE origin = ?", (self._log.origin,)
        ).fetchone()
        wanted = {view.name: view.version for view in self._views}
        return made == wanted and found is not None and self._log.holds(*found)

    def _fall_back(self) -> None:
        """The file is of no use any more: all is made again, in memory."""
        self._db.close()
        self._db = self._in_memory()
        self._looked()
        self.given_up = True

    # Reading.

    @property
    def reach(self) -> int:
        """Number of the row as of which the tables speak, as last looked at; -1: of none."""
        return self._reach

    def moved(self) -> bool:
        """Looks whether another program wrote since; then `reach` and every answer are anew."""
        try:
            version = self._db.execute("PRAGMA data_version").fetchone()[0]
            if version == self._version:
                given_up, self.given_up = self.given_up, False
                return given_up
            if not self._fits(self._db):
                self._fall_back()
        except sqlite3.Error:
            self._fall_back()
        self._looked()
        self.given_up = False
        return True

    def _looked(self) -> None:
        self._version = self._db.execute("PRAGMA data_version").fetchone()[0]
        self._reach = self._stored_reach()

    def _stored_reach(self) -> int:
        found = self._db.execute(
            "SELECT seq FROM reach WHERE origin = ?", (self._log.origin,)
        ).fetchone()
        return -1 if found is None else int(found[0])

    def rows(self, query: str, *values: object) -> list[tuple[Any, ...]]:
        """The lines a query gives; it leaves out what is in the temporary table `left_out`.

        A file that cannot be read any more is given up: then the answer is that of one begun
        anew, with everything in `todo`.
        """
        try:
            return self._db.execute(query, values).fetchall()
        except sqlite3.DatabaseError:
            if self.in_memory:
                raise
            self._fall_back()
            return self._db.execute(query, values).fetchall()

    def todo(self, count: int) -> list[PartKey]:
        """So many jobs, shifts and products whose parts are still to be made, the newest first."""
        query = "SELECT of, id FROM todo ORDER BY newest DESC LIMIT ?"
        return [(of, id_) for of, id_ in self.rows(query, count)]

    def waiting(self, of: Of) -> list[str]:
        """Those of this kind that are still to be made and not left out."""
        query = (
            "SELECT id FROM todo WHERE of = ?"
            " AND id NOT IN (SELECT id FROM left_out WHERE of = todo.of)"
        )
        return [id_ for (id_,) in self.rows(query, of)]

    def left(self, of: Of | None = None, since_us: int | None = None) -> int:
        """How many are still to be made and not left out; those that may have a row since then."""
        query = (
            "SELECT count(*) FROM todo t WHERE of = ifnull(?, of) AND newest >= ifnull(?, newest)"
            " AND NOT EXISTS (SELECT 1 FROM left_out o WHERE o.of = t.of AND o.id = t.id)"
        )
        return int(self.rows(query, of, since_us)[0][0])

    # What is left out.

    def leave_out(self, of: Of, id_: str) -> None:
        """From now on no query sees the lines of this job, shift or product."""
        self.rows("INSERT OR IGNORE INTO left_out VALUES (?, ?)", of, id_)

    def leave_nothing_out(self) -> None:
        """Every line counts again."""
        self.rows("DELETE FROM left_out")

    # Writing.

    def write(self, made: Parts, to: Head | None = None) -> bool:
        """Writes parts down in one transaction, and that the tables reach `to` (None: as before).

        False, and nothing is written, if another program wrote since it was looked at, or holds
        the file, or the disk refuses.
        """
        try:
            with schema.transaction(self._db):
                version = self._db.execute("PRAGMA data_version").fetchone()[0]
                if version != self._version or not self._fits(self._db):
                    # Another program's parts are as good as these.
                    return False
                self._delete(made.keys)
                self._insert(made.lines)
                self._db.executemany("DELETE FROM todo WHERE of = ? AND id = ?", made.keys)
                if to is not None:
                    self._db.execute(
                        "UPDATE reach SET seq = ?, digest = ? WHERE origin = ?",
                        (to.seq, to.digest, self._log.origin),
                    )
        except sqlite3.Error:
            return False
        if to is not None:
            self._reach = to.seq
        return True

    def _insert(self, lines: Iterable[TableLine]) -> None:
        of: dict[str, list[Sequence[Any]]] = {}
        for table, values in lines:
            of.setdefault(table, []).append(values)
        for table, every in of.items():
            marks = ", ".join("?" * len(every[0]))
            self._db.executemany(f"INSERT INTO {table} VALUES ({marks})", every)

    def _delete(self, keys: Sequence[PartKey]) -> None:
        for view in self._views:
            mine = [(id_,) for of, id_ in keys if of == view.of]
            for table in view.tables:
                self._db.executemany(f"DELETE FROM {table} WHERE id = ?", mine)

    def unmake(self, keys: Sequence[PartKey]) -> bool:
        """Deletes parts, so that they are still to be made. False as of `write`."""
        try:
            with schema.transaction(self._db):
                if not self._fits(self._db):
                    return False
                self._delete(keys)
                lines = [(of, id_, self._reach) for of, id_ in keys]
                self._db.executemany("INSERT OR REPLACE INTO todo VALUES (?, ?, ?)", lines)
        except sqlite3.Error:
            return False
        return True

    def clean(self) -> None:
        """Takes the letters of what is not said any more out of the files.

        Raises StoreFault if that could not be done; doing it again cleans them.
        """
        try:
            # An index of words goes on holding what was deleted until it is written anew.
            self._db.execute("INSERT INTO words (words) VALUES ('optimize')")
            busy = self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
            self.path.with_name(f"{self.path.name}.damaged").unlink(missing_ok=True)
        except sqlite3.Error as error:
            raise schema.store_fault(error, NOT_CLEAN.rstrip(".")) from error
        if busy and not self.in_memory:
            raise StoreFault(NOT_CLEAN)
