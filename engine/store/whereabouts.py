"""Whether the files a log was opened from still lie where they were, and hold what they held.

An open file outlives its name: what is written to one that was replaced, moved or deleted is
gone with the program that holds it. Folders that are kept the same on two computers replace
files so. A file is the same while device and inode of its path are.

The newest row stands in a line beside the log, written anew after every press. The chain cannot
show that rows were cut off at its end, as they are where a write-ahead file is lost or damaged;
this line can. It is no evidence, nothing waits for it to be on the disk, and a log without it is
whole. Where a log is opened that has lost the row it names, that line is kept behind the one
written from then on.
"""

from __future__ import annotations

import os
import re
from contextlib import suppress
from pathlib import Path

from cartclock.engine.store.plain_file import UNWAITED, first_bytes
from cartclock.engine.store.schema import Head
from cartclock.engine.trouble import StoreFault

_Identity = tuple[int, int]

# A line has always the same length, so that it is written over in place.
_LINE = "{0.seq:018d} {0.digest}\n"
_BYTES = 84
# So many lines are read: one, and one for each time rows were lost.
_MOST = 50


class Whereabouts:
    """Where the file of a log and its write-ahead file lay when they were last known to be right.

    Args:
        path: of the log.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._wal = path.with_name(f"{path.name}-wal")
        self._seen: dict[Path, _Identity] = {}
        self.look()

    def look(self) -> None:
        """The files that lie there are the ones that are open."""
        found = {path: _identity(path) for path in (self._path, self._wal)}
        self._seen = {path: one for path, one in found.items() if one is not None}

    @property
    def elsewhere(self) -> str:
        """What became of the files, half a sentence; "" while they lie where they were.

        Files are called by their names, for a line of the screen is short.

        Raises StoreFault if the system does not tell.
        """
        for path, seen in self._seen.items():
            found = _identity(path)
            if found is None:
                return f"{path.name} was moved or deleted"
            if found != seen:
                return f"{path.name} was replaced"
        return ""


def _identity(path: Path) -> _Identity | None:
    try:
        found = path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise StoreFault(
            f"Nothing was written: {path} cannot be looked at ({error.strerror or error}); look "
            "whether its disk is still there, then do this again."
        ) from error
    return found.st_dev, found.st_ino


def head_path(log: Path) -> Path:
    """Where the line of the log at `log` stands."""
    return log.with_name(f"{log.name}-head")


def heads_seen(log: Path) -> list[Head]:
    """What the lines say, the newest row first and then rows that were missing at some start; a
    line that cannot be read says nothing."""
    try:
        content = first_bytes(head_path(log), _BYTES * _MOST) or b""
    except OSError:
        return []
    text = content.decode("ascii", errors="replace")
    found = re.findall(r"^([0-9]{18}) ([0-9a-f]{64})$", text, re.MULTILINE)
    return [Head(int(seq), digest) for seq, digest in found]


class NewestSeen:
    """The line beside one log, held open once it was written.

    Args:
        log: path of the log.
    """

    def __init__(self, log: Path) -> None:
        self._path = head_path(log)
        self._handle: int | None = None
        seen = heads_seen(log)
        self.newest = seen[0] if seen else Head()
        # Set by who finds that the log has not this row any more.
        self.lost: Head | None = None

    def note(self, head: Head) -> None:
        """Writes the line anew. A disk that refuses it is none of a press's business, for the
        press is on the disk already."""
        if head.seq < 0:
            return
        with suppress(OSError):
            if self._handle is None:
                self._handle = os.open(self._path, os.O_CREAT | os.O_WRONLY | UNWAITED, 0o600)
            if self.lost is not None:
                end = max(_BYTES, os.lseek(self._handle, 0, os.SEEK_END))
                self._write(self.lost, end)
                self.lost = None
            self._write(head, 0)

    def _write(self, head: Head, at: int) -> None:
        assert self._handle is not None  # opened by who calls
        os.lseek(self._handle, at, os.SEEK_SET)
        os.write(self._handle, _LINE.format(head).encode("ascii"))

    def close(self) -> None:
        """Lets go of the file; twice does nothing."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None
