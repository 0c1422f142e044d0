"""Files that are written whole or not at all: on the disk before they have their name."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from cartclock.engine.store.schema import sync_folder

OWNERS = 0o600
"""For the owner's eyes alone."""


def new_file(path: Path, content: bytes) -> None:
    """Writes a file for its owner's eyes where there is none of that name.

    Raises FileExistsError if there is one, also one that came meanwhile; OSError if the disk does
    not take it. Nothing is written then.
    """
    with _written(path, content, OWNERS) as made:
        try:
            os.link(made, path)
        except FileExistsError:
            raise
        except OSError:
            _taken_first(made, path)
    sync_folder(path.parent)


def replaced_file(path: Path, content: bytes, mode: int = OWNERS) -> None:
    """Writes a file in the place of one of that name, or anew.

    mode: who may read and write it, whatever is usual here. Raises OSError if the disk does not
    take it; what was there stays then.
    """
    with _written(path, content, mode) as made:
        made.replace(path)
    sync_folder(path.parent)


@contextmanager
def _written(path: Path, content: bytes, mode: int) -> Iterator[Path]:
    """A file beside `path` under a name of chance, synced; nothing is left of it."""
    made = path.with_name(f".{path.name}.{os.urandom(4).hex()}")
    try:
        handle = os.open(made, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNERS)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            made.chmod(mode)
            os.fsync(handle)
        yield made
    finally:
        with suppress(OSError):
            made.unlink(missing_ok=True)


def _taken_first(made: Path, path: Path) -> None:
    """On a disk without hard links, such as a memory stick, the name is taken first, so that what
    another program puts there meanwhile is not replaced."""
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNERS))
    try:
        made.replace(path)
    except OSError:
        path.unlink()
        raise
