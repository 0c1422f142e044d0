"""The key from which the addresses of the second screen are made, in a file beside the log.

It is kept so that a page finds back to a program that was started again.
"""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from cartclock.engine.store.schema import sync_folder
from cartclock.engine.trouble import StoreFault

SHOW_KEY_BYTES = 32


def show_key_file(log: Path) -> Path:
    """Where it lies; it need not be there."""
    return log.with_name("show.key")


def show_key(log: Path, anew: bool = False) -> bytes:
    """`SHOW_KEY_BYTES` random bytes, for the owner's eyes; made if there are none.

    Args:
        log: beside which file they lie.
        anew: they are made anew, and addresses made of the old ones are none any more.

    Raises StoreFault if they cannot be read or written, or are cut.
    """
    path = show_key_file(log)
    try:
        if anew:
            path.unlink(missing_ok=True)
        try:
            handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        except FileExistsError:
            return _read(path)
        with os.fdopen(handle, "wb") as file:
            made = secrets.token_bytes(SHOW_KEY_BYTES)
            file.write(made)
            file.flush()
            os.fsync(file.fileno())
        sync_folder(path.parent)
    except OSError as error:
        why = error.strerror or error
        raise StoreFault(f"The key of the second screen, {path}, cannot be kept: {why}.") from error
    return made


def _read(path: Path) -> bytes:
    with path.open("rb") as file:
        found = file.read(SHOW_KEY_BYTES + 1)
    if len(found) != SHOW_KEY_BYTES:
        raise StoreFault(f"The key of the second screen, {path}, is cut; --anew makes another.")
    return found
