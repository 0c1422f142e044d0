"""The text of a plan file, from the disk and onto it."""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.trouble import PlanFault, Refused


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
    """Writes a new plan file.

    Raises Refused: something of that name is there already, or the disk does not take it.
    """
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise Refused(f"{path} is there already; nothing was written.") from None
    except OSError as why:
        raise Refused(f"{path} cannot be written: {why.strerror}.") from None
