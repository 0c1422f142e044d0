"""Where finished papers lie, and how one gets there: whole or not at all, over no other file."""

from __future__ import annotations

import contextlib
import re
import unicodedata
from pathlib import Path

from cartclock.engine.store.schema import make_folder
from cartclock.engine.store.whole_file import new_file
from cartclock.engine.trouble import Refused, StoreFault

# What a folder's name has room for beside the number; our own judgement.
_SLUG_MOST = 40


def job_folder(number: int, vehicle: str) -> str:
    """The name of a job's folder: "job-0042-bottle-green-estate".

    Letters and digits of any script stay, everything else becomes a hyphen.
    """
    text = unicodedata.normalize("NFC", vehicle).lower()
    slug = re.sub(r"[\W_]+", "-", text)[:_SLUG_MOST].strip("-")
    return f"job-{number:04d}" + (f"-{slug}" if slug else "")


def revisions(folder: Path, stem: str) -> dict[int, tuple[Path, ...]]:
    """The files of a document in a folder by revision: "record-r2.pdf" is revision 2 of "record".

    Raises StoreFault if the folder cannot be read; one that is not there has none.
    """
    found: dict[int, tuple[Path, ...]] = {}
    try:
        paths = sorted(folder.iterdir()) if folder.exists() else []
    except OSError as why:
        raise StoreFault(f"{folder} cannot be read: {why.strerror or why}.") from None
    for path in paths:
        named = re.fullmatch(rf"{re.escape(stem)}-r(\d+)(?:\.\w+)+", path.name)
        if named is not None:
            revision = int(named[1])
            found[revision] = (*found.get(revision, ()), path)
    return found


def is_issued(path: Path) -> bool:
    """Whether a file is one that was issued, by its name."""
    return re.fullmatch(r".+-r\d+(?:\.\w+)+", path.name) is not None and path.is_file()


def place_beside(path: Path, content: bytes) -> None:
    """Writes a new file as `place_file` does, into a folder that must be there already.

    Raises Refused too if the folder is not there.
    """
    if not path.absolute().parent.is_dir():
        raise Refused(f"There is no folder {path.parent}; nothing was written.")
    place_file(path, content)


def place_file(path: Path, content: bytes) -> None:
    """Writes a new file, synced before it has its name, and its folder if that is not there.

    Raises:
        Refused: something of that name is there already; nothing was written.
        StoreFault: the disk does not take it; nothing is left under that name.
    """
    if path.is_symlink() or path.exists():
        raise Refused(f"{path} is there already; nothing was written.")
    try:
        make_folder(path.parent)
        try:
            new_file(path, content)
        except FileExistsError:
            raise Refused(f"{path} is there already; nothing was written.") from None
    except OSError as why:
        raise StoreFault(f"{path} cannot be written: {why.strerror or why}.") from None


def remove(path: Path) -> None:
    """Takes back a file that was placed a moment ago and is not to stand."""
    with contextlib.suppress(OSError):
        path.unlink()
