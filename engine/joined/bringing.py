"""What a sending brings back to the cart: what other carts of its shop taught."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import msgspec
from msgspec import Struct

from cartclock.engine.joined.known import ShopFilm, ShopKnown, ShopLesson, known_file
from cartclock.engine.store.log import Log
from cartclock.engine.store.whole_file import replaced_file

if TYPE_CHECKING:
    import psycopg

# It is asked for so often at most: what a shop usually needs changes by days.
FRESH_S = 3_600.0


def bring_known(log: Log, line: psycopg.Connection, fresh_s: float = FRESH_S) -> bool:
    """Brings what other carts taught, unless it is here and fresh; whether it did.

    Raises psycopg.Error as the line does, OSError if the disk does not take it.
    """
    file = known_file(log.path)
    try:
        if 0 <= time.time() - file.stat().st_mtime < fresh_s:
            return False
    except FileNotFoundError:
        pass
    there = line.execute("SELECT to_regproc('cartclock.lessons_1') IS NOT NULL").fetchone()
    if there != (True,):
        return False
    lessons = line.execute("SELECT * FROM cartclock.lessons_1(%s)", (log.origin,)).fetchall()
    films = line.execute("SELECT * FROM cartclock.films_1(%s)", (log.origin,)).fetchall()
    # As the cart reads it: names of fields, not places.
    known = {
        "lessons": _named(ShopLesson, lessons),
        "films": _named(ShopFilm, films),
    }
    replaced_file(file, msgspec.json.encode(msgspec.convert(known, ShopKnown)))
    return True


def _named(of: type[Struct], lines: Sequence[tuple[Any, ...]]) -> list[dict[str, Any]]:
    return [dict(zip(of.__struct_fields__, line, strict=True)) for line in lines]
