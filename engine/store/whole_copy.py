"""Copies of a whole log: made while it is written to, and each looked at before it counts."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from cartclock.engine.store import schema
from cartclock.engine.store.plain_file import not_plain
from cartclock.engine.trouble import StoreFault

if TYPE_CHECKING:
    from collections.abc import Callable
    from tempfile import TemporaryDirectory

    from cartclock.engine.store.chain import Progress

_NO_COPY = "No backup was made"
# So many pages are copied and put on the disk at a time: a press that is written beside it waits
# for these 2 MB at most, where it would wait for the whole copy, taken by the disk at its end.
_PAGES = 500
# SQLite takes so many steps for each row when it looks a log over, measured: only to tell how far
# it is, as often as every so many steps.
_STEPS_A_ROW, _STEPS = 86, 500_000
# Of copying and looking the copy over together the former is about so much.
_COPYING = 0.3
# Of the newest row of every installation.
_HEADS = "SELECT origin, max(seq), digest FROM rows NOT INDEXED GROUP BY origin"


def copy_log(db: sqlite3.Connection, to: Path, told: Progress | None = None) -> None:
    """Copy the log behind a connection, as it stands, into one new file for the owner's eyes.

    The file has its name only once it is whole, on the disk, and was opened again and found to
    end with the same row. Raises StoreFault if there is a file of that name, or the disk would
    not take it; nothing is left then.

    told: hears how far it is.
    """
    if not to.name:
        raise StoreFault(f"{_NO_COPY}: name a file, not only its folder.")
    part = to.with_name(f"{to.name}.part")
    try:
        if to.exists() or to.is_symlink():
            raise StoreFault(f"{_NO_COPY}: {to} is there already; name another file.")
        _remove(part)
        file = os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600)
        try:
            with closing(sqlite3.connect(part, isolation_level=None)) as copy:
                _copied(db, copy, file, told)
                # One file without companions, so that it can be carried away as it is.
                copy.execute("PRAGMA journal_mode = DELETE").fetchall()
                heads = copy.execute(_HEADS).fetchall()
        finally:
            # Not before: closing it would let go of what SQLite has locked of the file.
            os.close(file)
        _verify(part, heads, told)
        part.rename(to)
        schema.sync_folder(to.parent)
    except sqlite3.Error as error:
        raise schema.store_fault(error, _NO_COPY) from error
    except (OSError, ValueError) as error:
        raise StoreFault(
            f"{_NO_COPY}: {to} cannot be made ({getattr(error, 'strerror', None) or error}); "
            "name another folder."
        ) from error
    finally:
        with suppress(OSError, ValueError):
            _remove(part)


def _copied(
    db: sqlite3.Connection, copy: sqlite3.Connection, file: int, told: Progress | None
) -> None:
    """Copies it a slice at a time, as it stands when the first one is. Raises sqlite3.Error."""

    def sliced(_status: int, left: int, pages: int) -> None:
        os.fsync(file)
        if told is not None and pages:
            told("Copying the log", _COPYING * (1 - left / pages))

    # What is read in one transaction stays as it is, and a press between two slices does not make
    # the copy begin again.
    db.execute("BEGIN")
    try:
        db.execute("SELECT 1 FROM sqlite_schema").fetchone()
        db.backup(copy, pages=_PAGES, progress=sliced)
    finally:
        schema.undo(db)


def _verify(path: Path, heads: list[tuple[str, int, str]], told: Progress | None) -> None:
    """Raises StoreFault unless the file opens anew, is whole and ends with these rows."""
    with closing(read_only(path)) as copy:
        if told is not None:
            rest = 1 - _COPYING
            tell_steps(copy, lambda part: told("Looking the copy over", _COPYING + rest * part))
        sound = copy.execute("PRAGMA integrity_check(1)").fetchone()[0] == "ok"
        if not sound or copy.execute(_HEADS).fetchall() != heads:
            raise StoreFault(
                f"{_NO_COPY}: the log is damaged; cartclock check-log says where, keep the file "
                "as it is."
            )


def tell_steps(db: sqlite3.Connection, told: Callable[[float], None]) -> None:
    """Has it told, 0 to 1, how far SQLite has looked over the file of a log, until its progress
    handler is another. Raises sqlite3.Error."""
    rows = db.execute("SELECT max(rowid) FROM rows").fetchone()[0] or 1
    steps = 0

    def stepped() -> None:
        nonlocal steps
        steps += _STEPS
        told(min(steps / (rows * _STEPS_A_ROW), 1))

    db.set_progress_handler(stepped, _STEPS)


def _remove(part: Path) -> None:
    for path in (part, part.with_name(f"{part.name}-journal")):
        path.unlink(missing_ok=True)


def read_only(path: Path) -> sqlite3.Connection:
    """A connection that writes nothing to the file. Raises sqlite3.Error."""
    try:
        other = not_plain(path)
    except OSError as error:
        raise sqlite3.OperationalError(error.strerror or str(error)) from error
    if other is not None:
        raise sqlite3.OperationalError(f"{other.name} is no plain file")
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?mode=ro",
        uri=True,
        timeout=schema.BUSY_SECONDS,
        isolation_level=None,
    )


def lent(path: Path) -> TemporaryDirectory[str] | None:
    """A folder of its owner's with a copy of the log, under its own name, where it lies on
    something that cannot be written to; None where it can be read as it lies there.

    Beside a log that is read, SQLite needs a file of its own. Raises OSError.
    """
    try:
        with closing(read_only(path)) as db:
            db.execute("SELECT 1 FROM sqlite_schema").fetchone()
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if code not in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY):
            return None
    else:
        return None
    # On use: nearly every log lies where it can be written to.
    import shutil
    from tempfile import TemporaryDirectory

    folder = TemporaryDirectory(prefix="cartclock-")
    try:
        for name in (path.name, f"{path.name}-wal", f"{path.name}-head"):
            with suppress(FileNotFoundError):
                shutil.copyfile(path.with_name(name), Path(folder.name) / name)
    except BaseException:
        folder.cleanup()
        raise
    return folder
