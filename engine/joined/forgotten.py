"""Which private texts were forgotten on this cart, by reference, so that a shop forgets them too.

The list stands beside the log and is never made shorter: it is sent with every sending, so that a
shop whose server was put back from a backup forgets once more. A reference says nothing of its
text.
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

import msgspec

from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.store.whole_file import replaced_file
from cartclock.engine.trouble import StoreFault


def forgotten_file(log: Path) -> Path:
    """Where the list stands, a JSON array."""
    return log.with_name("forgotten.json")


def forgotten_here(log: Path) -> frozenset[str]:
    """References to what was forgotten on the cart whose log this is. Raises StoreFault if the list
    cannot be read."""
    file = forgotten_file(log)
    try:
        return frozenset(msgspec.json.decode(plain_text(file), type=list[str]))
    except FileNotFoundError:
        return frozenset()
    except (OSError, UnicodeDecodeError, msgspec.DecodeError) as why:
        raise StoreFault(f"{file} does not say what was forgotten on this cart ({why}).") from why


def note_forgotten(log: Path, refs: Collection[str]) -> None:
    """Adds references to the list. Raises StoreFault if it cannot be read or written."""
    known = forgotten_here(log)
    if known.issuperset(refs):
        return
    file = forgotten_file(log)
    try:
        replaced_file(file, msgspec.json.encode(sorted(known.union(refs))) + b"\n")
    except OSError as why:
        raise StoreFault(f"Nothing was forgotten: {file} cannot be written ({why}).") from why
