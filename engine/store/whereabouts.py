"""Whether the files a log was opened from still lie where they were.

An open file outlives its name: what is written to one that was replaced, moved or deleted is
gone with the program that holds it. Folders that are kept the same on two computers replace
files so. A file is the same while device and inode of its path are.
"""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.trouble import StoreFault

_Identity = tuple[int, int]


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

        Raises StoreFault if the system does not tell.
        """
        for path, seen in self._seen.items():
            found = _identity(path)
            if found is None:
                return f"{path} was moved or deleted"
            if found != seen:
                return f"another file lies in the place of {path}"
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
