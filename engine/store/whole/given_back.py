"""A log made of a copy and of the rows that it lacks, which were kept elsewhere.

Nothing is written over: the new log is made beside the old one, looked through, and takes its place
only when it is whole; the old one is moved aside.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing, suppress
from pathlib import Path

from msgspec import Struct

from cartclock.engine.store import codec, schema
from cartclock.engine.store.chain import Progress, nobody
from cartclock.engine.store.codec import PrivateText
from cartclock.engine.store.history import path_beside
from cartclock.engine.store.log import Log
from cartclock.engine.store.restore import is_in_use, move_aside
from cartclock.engine.store.schema import Head
from cartclock.engine.store.whole.repair import sum_up
from cartclock.engine.store.whole_copy import copy_log, read_only
from cartclock.engine.trouble import Refused, StoreFault

_NOTHING = "Nothing was given back"
_COLUMNS = len(codec.COLUMNS)
_INSERT = f"INSERT INTO rows VALUES ({', '.join('?' * _COLUMNS)})"
_WALL = codec.COLUMNS.index("wall_us")
# How the chain calls what is wrong with rows of other logs, which nobody gives back here.
_ELSEWHERE = "installation "


class GivenBack(Struct, frozen=True):
    """What came of it.

    Fields:
        head: the newest row of the log now.
        rows: how many it was given.
        aside: where the log lies that was there before; None if there was none.
        lacks: what is still missing of other logs, sentences without full stop.
    """

    head: Head
    rows: int
    aside: Path | None
    lacks: tuple[str, ...]


def give_back(
    path: Path,
    origin: str,
    parts: Iterable[Sequence[codec.Stored]],
    private: Iterable[PrivateText] = (),
    told: Progress = nobody,
) -> GivenBack:
    """Puts a log that has these rows as well in the place of the one at `path`.

    Args:
        path: of a log whose origin is that one or that has no row, or where there is none yet.
        origin: whose rows they are.
        parts: the rows behind the newest one that is there, as stored, in their order; asked for
            one after the other.
        private: texts that rows refer to; one that is held is left.
        told: hears how far it is.

    Raises:
        Refused: a program has the log open, or it is another one's.
        StoreFault: the rows do not follow on, or the disk does not take it; nothing was changed.
    """
    if is_in_use(path):
        raise Refused(f"{_NOTHING}: a program has {path} open; quit it, then do this again.")
    made = path.with_name(f"{path.name}.given")
    try:
        schema.make_folder(path.parent)
        _clear(made)
        _begin(made, path, origin)
        rows, head = _written(made, origin, parts, private)
        with Log.open(made) as log:
            sum_up(log)
            broken = log.check(told)
            log.end_write_ahead()
        own = [one for one in broken if not one.startswith(_ELSEWHERE)]
        if own:
            raise StoreFault(f"{_NOTHING}: the rows do not make a whole log ({own[0]}).")
        aside = move_aside(path) if rows else None
        if rows:
            history = path_beside(path)
            for end in ("", "-wal", "-shm"):
                history.with_name(f"{history.name}{end}").unlink(missing_ok=True)
            made.rename(path)
            schema.sync_folder(path.parent)
        return GivenBack(head, rows, aside, tuple(broken))
    except (OSError, sqlite3.Error) as error:
        why = getattr(error, "strerror", None) or error
        raise StoreFault(f"{_NOTHING}: {why} ({path}).") from error
    finally:
        _clear(made)


def _clear(made: Path) -> None:
    for end in ("", "-wal", "-shm", "-head", ".part"):
        with suppress(OSError):
            made.with_name(f"{made.name}{end}").unlink(missing_ok=True)


def _begin(made: Path, path: Path, origin: str) -> None:
    """A copy of the log at `path`; an empty one of that origin where that has no row."""
    if path.exists():
        with closing(read_only(path)) as db:
            asked = "SELECT origin FROM rows WHERE origin = (SELECT origin FROM cart) LIMIT 1"
            found = db.execute(asked).fetchone()
            if found is not None and found[0] != origin:
                raise Refused(
                    f"{_NOTHING}: the log that is there is {found[0]}, the rows are of {origin}."
                )
            if found is not None:
                copy_log(db, made)
                return
    with closing(schema.connect(made)) as db:
        schema.migrate(db)
        # The instant is that of its first row, which comes later.
        db.execute("INSERT INTO cart VALUES (1, ?, 0)", (origin,))


def _written(
    made: Path,
    origin: str,
    parts: Iterable[Sequence[codec.Stored]],
    private: Iterable[PrivateText],
) -> tuple[int, Head]:
    """Writes rows and texts into the new log; answers how many rows, and the newest."""
    count = 0
    with closing(schema.connect(made)) as db:
        found = db.execute(
            "SELECT seq, digest FROM rows WHERE origin = ? ORDER BY seq DESC LIMIT 1", (origin,)
        ).fetchone()
        head = Head(*found) if found else Head()
        for part in parts:
            for line in part:
                _meet(line, origin, head)
                head = Head(line[1], line[-1])
            with schema.transaction(db):
                db.executemany(_INSERT, part)
                if part and not part[0][1]:
                    db.execute("UPDATE cart SET wall_us = ?", (part[0][_WALL],))
            count += len(part)
        with schema.transaction(db):
            db.executemany(
                "INSERT INTO private VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
                [(one.ref, one.salt, one.text) for one in private],
            )
    return count, head


def _meet(line: codec.Stored, origin: str, head: Head) -> None:
    """Raises StoreFault for a row that does not follow on."""
    told = line[0] == origin and line[1] == head.seq + 1 and line[-2] == head.digest
    if not told or codec.digest(line[:-1]) != line[-1]:
        raise StoreFault(
            f"{_NOTHING}: row {line[1]} of what came does not follow on row {head.seq}, or is not "
            "what its digest was reckoned over."
        )
