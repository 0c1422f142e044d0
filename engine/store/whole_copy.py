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
    from tempfile import TemporaryDirectory

_NO_COPY = "No backup was made"
# Of the newest row of every installation.
_HEADS = "SELECT origin, max(seq), digest FROM rows NOT INDEXED GROUP BY origin"


def copy_log(db: sqlite3.Connection, to: Path) -> None:
    """Copy the log behind a connection, as it stands, into one new file for the owner's eyes.

    The file has its name only once it is whole, on the disk, and was opened again and found to
    end with the same row. Raises StoreFault if there is a file of that name, or the disk would
    not take it; nothing is left then.
    """
    part = to.with_name(f"{to.name}.part")
    try:
        if to.exists() or to.is_symlink():
            raise StoreFault(f"{_NO_COPY}: {to} is there already; name another file.")
        _remove(part)
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        with closing(sqlite3.connect(part, isolation_level=None)) as copy:
            db.backup(copy)
            # One file without companions, so that it can be carried away as it is.
            copy.execute("PRAGMA journal_mode = DELETE").fetchall()
            heads = copy.execute(_HEADS).fetchall()
        _verify(part, heads)
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


def _verify(path: Path, heads: list[tuple[str, int, str]]) -> None:
    """Raises StoreFault unless the file opens anew, is whole and ends with these rows."""
    with closing(read_only(path)) as copy:
        sound = copy.execute("PRAGMA integrity_check(1)").fetchone()[0] == "ok"
        if not sound or copy.execute(_HEADS).fetchall() != heads:
            raise StoreFault(
                f"{_NO_COPY}: the log is damaged; cartclock check-log says where, keep the file "
                "as it is."
            )


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
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)


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
