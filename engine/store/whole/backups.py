"""Copies of the log that are made without being asked for, beside it, thinned out by age."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing
from itertools import zip_longest
from pathlib import Path

from cartclock.engine.store import schema
from cartclock.engine.store.chain import Progress
from cartclock.engine.store.whole_copy import copy_log, read_only
from cartclock.engine.trouble import StoreFault

# So many of the newest days, weeks, months and rows with a copy keep their newest one, in words as
# they are told. A later copy holds every row of an earlier one, so an earlier one is only for what
# went wrong in between and was noticed late. Our own judgement, as are the room they may take and
# how many stay in any case.
_KEPT: tuple[tuple[int, str, Callable[[Path], object]], ...] = (
    (7, "7 days", lambda path: path.name[:10]),
    (4, "4 weeks", lambda path: dt.date.fromisoformat(path.name[:10]).isocalendar()[:2]),
    (12, "12 months", lambda path: path.name[:7]),
    (3, "three", lambda path: path),
)
KEPT_BYTES = 2_000_000_000
AT_LEAST = 3
_DAYS, _WEEKS, _MONTHS, _ROWS = (said for _count, said, _span in _KEPT)
WHAT_IS_KEPT = (
    f"Kept are the newest {_ROWS} and the newest of each of {_DAYS}, {_WEEKS} and {_MONTHS}, as far"
    f" as {KEPT_BYTES / 1e9:.0f} GB go, and {AT_LEAST} in any case."
)
# So much room is left to the log itself: a copy never fills the disk that the presses go to.
ROOM_LEFT = 20_000_000
_NAMED = re.compile(r"(\d{4}-\d\d-\d\d)-row-(\d+)\.db")


def backups_folder(log: Path) -> Path:
    """Where the copies of the log at `log` lie."""
    return log.with_name("backups")


def backups(log: Path) -> list[Path]:
    """The copies there are, the newest first."""
    return sorted(filter(_is_copy, backups_folder(log).glob("*.db")), key=_age, reverse=True)


def _is_copy(path: Path) -> bool:
    named = _NAMED.fullmatch(path.name)
    try:
        return named is not None and bool(dt.date.fromisoformat(named[1]))
    except ValueError:
        return False


def _age(path: Path) -> tuple[str, int]:
    named = _NAMED.fullmatch(path.name)
    assert named is not None
    return named[1], int(named[2])


def as_wanted(copies: Sequence[Path], made: Path) -> list[Path]:
    """Those of the copies that are worth keeping, in the order in which they are.

    The newest of the newest day, week, month and row come first, then those before them, and so on:
    wherever the room ends, from `AT_LEAST` on, the newest copy, the newest of any day before and
    that of any week before are among those that stay.

    copies: as `backups` lists them. made: the one that counts as the newest; one of a later date
    was made while the clock was wrong.
    """
    in_time = sorted(copies, key=lambda path: (_age(path) <= _age(made), _age(path)), reverse=True)
    places: list[list[Path]] = []
    for count, _said, span in _KEPT:
        newest_of: dict[object, Path] = {}
        for path in in_time:
            newest_of.setdefault(span(path), path)
        places.append(list(newest_of.values())[:count])
    ordered = (path for rank in zip_longest(*places) for path in rank if path is not None)
    return list(dict.fromkeys((made, *ordered)))


def thin_out(log: Path, made: Path) -> None:
    """Throws away what is not worth keeping, or finds no room."""
    found, kept, size = backups(log), set[Path](), 0
    for path in as_wanted(found, made):
        size += _size(path)
        if len(kept) >= AT_LEAST and size > KEPT_BYTES:
            break
        kept.add(path)
    for path in found:
        if path not in kept:
            path.unlink(missing_ok=True)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        # Another program thinned out as well.
        return 0


def back_up(log: Path, date: str, told: Progress | None = None) -> Path:
    """One more copy of the log at `log`, opened and found whole before it counts, and those that
    are not worth keeping beside it thrown away. Takes a connection of its own, so that nobody
    waits for it.

    date: of today, ISO 8601. told: hears how far it is. Answers where the copy lies; one of the
    same row is not made twice.

    Raises StoreFault if there can be none; then no older one is thrown away.
    """
    folder = backups_folder(log)
    try:
        schema.make_folder(folder)
        with closing(read_only(log)) as db:
            newest = db.execute("SELECT max(rowid) FROM rows").fetchone()[0]
            made = folder / f"{date}-row-{newest or 0}.db"
            if not made.exists():
                _leave_room(db, folder)
                copy_log(db, made, told)
        thin_out(log, made)
    except sqlite3.Error as error:
        raise schema.store_fault(error, "No backup was made") from error
    except OSError as error:
        raise StoreFault(f"No backup was made: {error.strerror or error} ({folder}).") from error
    return made


def broken_off_once(left: Callable[[], bool]) -> Progress:
    """Has a copy that tells it how far it is broken off, with a StoreFault, once that is so."""

    def told(_what: str, _part: float) -> None:
        if left():
            raise StoreFault("No backup was made: the program ends.")

    return told


def _leave_room(db: sqlite3.Connection, folder: Path) -> None:
    """Raises StoreFault if a copy would leave too little room on the disk for the log itself."""
    size = (
        db.execute("PRAGMA page_count").fetchone()[0] * db.execute("PRAGMA page_size").fetchone()[0]
    )
    if shutil.disk_usage(folder).free < size + ROOM_LEFT:
        raise StoreFault(
            "No backup was made: it would fill the disk; make room, or delete older ones"
            f" ({folder})."
        )
