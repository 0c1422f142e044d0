"""How the carts of a shop are called, as this one has heard: a file beside the log, so that a paper
names them without a network."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import msgspec

from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.store.whole_file import replaced_file
from cartclock.engine.trouble import PlanFault


def carts_file(log: Path) -> Path:
    """Where they stand, as JSON: identity of a cart -> its login at the shop."""
    return log.with_name("shop-carts.json")


def carts_called(log: Path) -> dict[str, str]:
    """Those that are known; none where nothing can be read."""
    try:
        return msgspec.json.decode(plain_text(carts_file(log)), type=dict[str, str])
    except (OSError, UnicodeDecodeError, msgspec.DecodeError, PlanFault):
        return {}


def note_carts(log: Path, names: Mapping[str, str]) -> None:
    """Writes down how some are called. Raises OSError."""
    known = carts_called(log)
    if not names.items() <= known.items():
        replaced_file(carts_file(log), msgspec.json.encode({**known, **names}, order="sorted"))
