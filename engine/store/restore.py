"""A copy of the log put back in its place; what lay there is kept aside, whole.

The write-ahead file of a log fits that log alone: under another file of the same name it would
be played into it. So both are moved, under one dated name, before anything is put there.
"""

from __future__ import annotations

import errno
import os
import sqlite3
import stat
import time
from contextlib import closing, suppress
from pathlib import Path

from msgspec import Struct

from cartclock.engine.store import schema
from cartclock.engine.store.chain import Progress
from cartclock.engine.store.history import path_beside
from cartclock.engine.store.laptop.places import second_logs
from cartclock.engine.store.log import Head, Log
from cartclock.engine.store.whole_copy import copy_log, read_only
from cartclock.engine.trouble import Refused, StoreFault

_NOTHING = "Nothing was put back"
_NEWEST = (
    "SELECT r.origin, r.seq, r.digest FROM rows r JOIN cart c ON r.origin = c.origin"
    " ORDER BY r.seq DESC LIMIT 1"
)
_DMS_BYTE = 128
COMPANIONS = ("-wal", "-shm", "-journal", "-head")


class Restored(Struct, frozen=True):
    """What was put back.

    head: its newest row.
    aside: where the log lies that was there before; None if there was none.
    """

    head: Head
    aside: Path | None


def restore(
    source: Path,
    path: Path,
    over_newer: bool = False,
    damaged: bool = False,
    told: Progress | None = None,
) -> Restored:
    """Puts a copy of the log at `source` in the place of the log at `path`, synced.

    The source stays as it is.

    Args:
        over_newer: also where the log that is there has rows the copy has not.
        damaged: also a copy that lacks rows, as a repair saves what it could read.
        told: hears how far it is.

    Raises:
        Refused: the source is no whole log, or the log that is there has other or newer rows;
            nothing was changed.
        StoreFault: the disk does not take it.
    """
    if not _plain(source):
        raise Refused(f"{_NOTHING}: {source} is no plain file.")
    if path.exists() and source.samefile(path):
        raise Refused(f"{_NOTHING}: {source} is the log itself.")
    for there in (path, *second_logs(path)):
        if is_in_use(there):
            raise Refused(f"{_NOTHING}: a program has {there} open; quit it, then do this again.")
    made = path.with_name(f"{path.name}.restored")
    try:
        schema.make_folder(path.parent)
        with suppress(OSError):
            made.unlink()
        head, origin = _checked_copy(source, made, damaged, told)
        # What went on in the place of the log that is there goes with it.
        others = [path, *second_logs(path)]
        if not over_newer:
            for other in others:
                _compare(other, made, origin, head)
        moved = [move_aside(other) for other in others]
        aside = next((one for one in moved if one is not None), None)
        for other in others[1:]:
            # Made anew at any time, and of a log that is not in force any more.
            for end in ("", "-wal", "-shm"):
                history = path_beside(other)
                history.with_name(f"{history.name}{end}").unlink(missing_ok=True)
        made.rename(path)
        schema.sync_folder(path.parent)
    except OSError as error:
        raise StoreFault(f"{_NOTHING}: {error.strerror or error} ({path}).") from error
    finally:
        with suppress(OSError):
            made.unlink(missing_ok=True)
    return Restored(head, aside)


def is_in_use(path: Path) -> bool:
    """Whether another program has the log at `path` open; False where the system does not tell.

    Each one that does holds a shared lock on one byte of the index of the write-ahead file
    (UNIX_SHM_DMS in os_unix.c of SQLite, from memory; a test holds it). To be asked by who has
    not opened it.
    """
    if os.name != "posix":
        return False
    import fcntl

    try:
        with path.with_name(f"{path.name}-shm").open("r+b") as index:
            fcntl.lockf(index, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, _DMS_BYTE)
    except FileNotFoundError:
        return False
    except OSError as why:
        return why.errno in (errno.EACCES, errno.EAGAIN)
    return False


def _plain(path: Path) -> bool:
    try:
        return stat.S_ISREG(path.stat().st_mode)
    except (OSError, ValueError):
        return False


def _checked_copy(
    source: Path, made: Path, damaged: bool, told: Progress | None
) -> tuple[Head, str]:
    """A copy beside the log, checked; answers its newest row and its origin."""
    try:
        with closing(read_only(source)) as db:
            owner = db.execute("PRAGMA application_id").fetchone()[0]
            if owner != schema.APPLICATION_ID:
                raise Refused(f"{_NOTHING}: {source} is not a log.")
            copy_log(db, made, told)
    except sqlite3.Error as error:
        raise Refused(f"{_NOTHING}: {source} cannot be read as a log ({error}).") from error
    try:
        with Log.open(made) as copy:
            broken = copy.check(told)
            head, origin = copy.head, copy.origin
            if head.seq < 0:
                raise Refused(f"{_NOTHING}: {source} holds no row.")
            # Without companions, so that it can be given its name as it is.
            copy.end_write_ahead()
    except StoreFault as why:
        raise Refused(f"{_NOTHING}: {source} cannot be read: {why}") from why
    if broken and not damaged:
        raise Refused(
            f"{_NOTHING}: {source} is not whole ({broken[0]}); "
            "put back another copy; this one and the log that is there are as they were."
        )
    return head, origin


def _compare(path: Path, made: Path, origin: str, head: Head) -> None:
    """Raises Refused if the log that is there would lose rows; a damaged one is only moved."""
    if not path.exists():
        return
    try:
        # Opened for reading alone: what is odd about it is to be seen aside as it was.
        with closing(read_only(path)) as db:
            found = db.execute(_NEWEST).fetchone()
            if found is None:
                return
            newest, same = Head(*found[1:]), found[0] == origin
            newer = same and _holds(db, origin, head)
    except sqlite3.Error:
        return
    with closing(read_only(made)) as copy:
        if same and _holds(copy, origin, newest):
            return
    if newer:
        count = newest.seq - head.seq
        said = "a newer row" if count == 1 else f"{count} newer rows"
    else:
        said = "other rows" if same else "another cart's rows"
    raise Refused(
        f"{_NOTHING}: the log that is there holds {said}, up to row {newest.seq}; the copy ends "
        f"with row {head.seq}. --over-newer puts it back all the same; the log that is there "
        "is kept aside."
    )


def _holds(db: sqlite3.Connection, origin: str, head: Head) -> bool:
    asked = "SELECT 1 FROM rows WHERE origin = ? AND seq = ? AND digest = ?"
    return db.execute(asked, (origin, head.seq, head.digest)).fetchone() is not None


def move_aside(path: Path) -> Path | None:
    """Moves the log and what belongs to it under one dated name; None if there is nothing.

    Raises OSError.
    """
    files = [path, *(path.with_name(f"{path.name}{end}") for end in COMPANIONS)]
    there = [file for file in files if file.exists() or file.is_symlink()]
    if not there:
        return None
    aside = dated(path, "aside")
    # The log last: without it nothing would open what is left over.
    for file in reversed(there):
        file.rename(aside.with_name(aside.name + file.name.removeprefix(path.name)))
    return aside if aside.exists() else None


def dated(path: Path, word: str) -> Path:
    """A name beside the log that no file has, of this word and the time of day."""
    day = time.strftime("%Y-%m-%d-%H%M%S", time.localtime())
    found, count = path.with_name(f"{path.stem}-{word}-{day}.db"), 1
    while found.exists():
        count += 1
        found = path.with_name(f"{path.stem}-{word}-{day}-{count}.db")
    return found
