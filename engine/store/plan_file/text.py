"""The text of a plan file, from the disk and onto it."""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.store.laptop.paper_file import place_beside
from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.trouble import PlanFault, Refused, StoreFault


def read_text(path: Path) -> str:
    """The text of a plan file.

    Raises:
        Refused: there is none, or the disk does not give it.
        PlanFault: it is no UTF-8, no plain file, or too long.
    """
    try:
        return plain_text(path)
    except FileNotFoundError:
        raise Refused(f"There is no file {path}.") from None
    except UnicodeDecodeError:
        raise PlanFault((f"{path.name}: this is not UTF-8 text.",)) from None
    except OSError as why:
        raise Refused(f"{path} cannot be read: {why.strerror}.") from None


def write_text(path: Path, text: str) -> None:
    """Writes a new plan file, whole or not at all.

    Raises Refused: something of that name is there already, there is no such folder, or the disk
    does not take it.
    """
    try:
        place_beside(path, text.encode("utf-8"))
    except StoreFault as why:
        raise Refused(str(why)) from None
