"""The key from which the addresses of the second screen are made, in a file beside the log.

It is kept so that a page finds back to a program that was started again.
"""

from __future__ import annotations

import secrets
from pathlib import Path

from cartclock.engine.store.whole_file import new_file, replaced_file
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
    made = secrets.token_bytes(SHOW_KEY_BYTES)
    try:
        if anew:
            replaced_file(path, made)
            return made
        try:
            new_file(path, made)
        except FileExistsError:
            return _read(path)
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
