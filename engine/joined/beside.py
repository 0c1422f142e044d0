"""Files beside a log that speak of its shop, for their owner's eyes."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path


def write_beside(file: Path, text: str) -> None:
    """Writes a file anew: what was there stays until all of it is on the disk. Raises OSError."""
    made = file.with_name(f"{file.name}.new")
    with suppress(FileNotFoundError):
        made.unlink()
    with os.fdopen(os.open(made, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())
    made.replace(file)
