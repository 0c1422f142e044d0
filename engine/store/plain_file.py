"""Plain files: a pipe would be waited for, and a device has no end."""

from __future__ import annotations

import os
import stat
from pathlib import Path

# A pipe is opened without waiting for whoever writes to it or reads it.
UNWAITED = getattr(os, "O_NONBLOCK", 0)
# What SQLite keeps beside a file.
_BESIDE = ("", "-wal", "-shm", "-journal")


def first_bytes(path: Path, most: int) -> bytes | None:
    """The first bytes of a file, at most so many; None if it is no plain one. Raises OSError."""
    handle = os.open(path, os.O_RDONLY | UNWAITED)
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            return None
        with os.fdopen(handle, "rb", closefd=False) as file:
            return file.read(most)
    finally:
        os.close(handle)


def not_plain(database: Path) -> Path | None:
    """Of a file of SQLite and of what it keeps beside it, the first that is there and is no plain
    file; None if there is none. Raises OSError."""
    for end in _BESIDE:
        path = database.with_name(f"{database.name}{end}")
        if path.exists() and not path.is_file():
            return path
    return None
