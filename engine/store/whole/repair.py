"""A damaged log read as far as it can be, into a new one.

The damaged files are only read, and stay. What is derived from rows (indexes, lines of jobs and
shifts, the history) is made anew; of rows and texts what can be read is taken over as it
stands. Where the chain is whole then, the new log takes the place of the old, which is moved
aside; where rows are missing it is left beside, for the worker to choose between it and a backup.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts.events import JobImported
from cartclock.engine.facts.refold import folded
from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.facts.view import View
from cartclock.engine.store import codec, schema
from cartclock.engine.store.chain import Progress, nobody
from cartclock.engine.store.history import path_beside
from cartclock.engine.store.log import Log, job_lines, shift_lines
from cartclock.engine.store.plain_file import not_plain
from cartclock.engine.store.restore import dated, is_in_use, move_aside
from cartclock.engine.store.whereabouts import head_path
from cartclock.engine.store.whole.audit import Audited, audit
from cartclock.engine.store.whole_copy import read_only
from cartclock.engine.times import Instant
from cartclock.engine.trouble import StoreFault

# table -> its columns; the rows come first. The sign of life is left behind: without it the
# newest press stands for one.
_TABLES = {
    "rows": codec.COLUMNS,
    "cart": ("one", "origin", "wall_us"),
    "private": ("ref", "salt", "text"),
    "plan_text": ("sha256", "text"),
    "asking": ("one", "text"),
}
# After so many numbers in a row behind which nothing can be read, there is nothing more.
_GIVE_UP = 4_000
# A header says at 16 how long a page is, at 18 how the file is written to, at 28 how many pages
# it has and at 32 which are free (sqlite.org/fileformat2.html, section 1.3).
_HEADER_BYTES = 100

_Lines = list[tuple[Any, ...]]


class Repaired(Struct, frozen=True):
    """What came of a repair.

    Fields:
        log: the new log; where it lies in the old one's place it is whole.
        aside: where the damaged log lies; None if it stays where it was.
        lost: what could not be read or is not what was written, sentences without full stop.
        rows: how many rows the new log has.
    """

    log: Path
    aside: Path | None
    lost: tuple[str, ...]
    rows: int


def repair(path: Path, views: Sequence[View[Any]], told: Progress = nobody) -> Repaired:
    """Makes a new log of what can be read of the one at `path`.

    Raises StoreFault if not one row can be read, or the disk does not take the new log; nothing
    is left then.
    """
    if is_in_use(path):
        raise StoreFault(
            f"Nothing was repaired: a program has {path} open; quit it, then do this again."
        )
    try:
        if (other := not_plain(path)) is not None:
            raise StoreFault(
                f"Nothing was repaired: {other} is no plain file; move it away, then do this again."
            )
        with tempfile.TemporaryDirectory(prefix=".repair-", dir=path.parent) as folder:
            made = Path(folder) / "new.db"
            kept = _read(path, Path(folder))
            lost = [*_write(made, kept), *_unread(path, made, views, told).faults]
            count = len(kept["rows"])
            _forget_history(path)
            aside = None
            to = path
            if lost:
                to = dated(path, "saved")
            else:
                aside = move_aside(path)
            made.rename(to)
            schema.sync_folder(path.parent)
            return Repaired(to, aside, tuple(lost), count)
    except (OSError, sqlite3.Error) as error:
        why = getattr(error, "strerror", None) or error
        raise StoreFault(f"Nothing was repaired: {why} ({path}).") from error


def _unread(path: Path, made: Path, views: Sequence[View[Any]], told: Progress) -> Audited:
    """What is wrong with the new log, and what the line beside the old one says it lacks."""
    beside = head_path(made)
    with suppress(FileNotFoundError):
        shutil.copyfile(head_path(path), beside)
    try:
        return audit(made, views, None, told)
    finally:
        beside.unlink(missing_ok=True)


def _forget_history(path: Path) -> None:
    """What is known of the log is made anew from it at the next start."""
    history = path_beside(path)
    for end in ("", "-wal", "-shm"):
        history.with_name(f"{history.name}{end}").unlink(missing_ok=True)


def _read(path: Path, folder: Path) -> dict[str, _Lines]:
    """Every line that can be read, by table. Raises StoreFault if that is not one row."""
    old = folder / "old.db"
    for mend in (_as_it_is, _header_mended, _first_page_mended, _first_page_mended_tight):
        shutil.copyfile(path, old)
        with suppress(FileNotFoundError):
            shutil.copyfile(path.with_name(f"{path.name}-wal"), old.with_name("old.db-wal"))
        try:
            mend(old)
            with closing(read_only(old)) as db:
                db.text_factory = lambda raw: raw.decode(errors="replace")
                kept = {
                    table: list(_lines(db, table, columns)) for table, columns in _TABLES.items()
                }
        except (sqlite3.Error, OSError):
            continue
        finally:
            for end in ("-wal", "-shm"):
                old.with_name(f"old.db{end}").unlink(missing_ok=True)
        if kept["rows"]:
            return kept
    raise StoreFault(
        f"Nothing was repaired: not one row of {path} can be read; put a backup back with "
        "cartclock restore FILE."
    )


def _as_it_is(_old: Path) -> None:
    """What SQLite knows as a log needs no mending of what it begins with."""


def _header_mended(old: Path) -> None:
    """The bytes that every log begins with are put back."""
    _mended(old, _HEADER_BYTES, tight=False)


def _first_page_mended(old: Path) -> None:
    """The first page, which says where every table begins, is put back as it was made."""
    _mended(old, 0, tight=False)


def _first_page_mended_tight(old: Path) -> None:
    """As above, as it is once texts were forgotten and the file was written anew for it."""
    _mended(old, 0, tight=True)


def _mended(old: Path, count: int, tight: bool) -> None:
    """Puts so many bytes of a fresh log in the place of a damaged one's; 0: its first page."""
    with tempfile.TemporaryDirectory(dir=old.parent) as folder:
        sample = Path(folder) / "sample.db"
        with Log.open(sample) as log:
            if tight:
                log.forget([])
            log.end_write_ahead()
        fresh = bytearray(sample.read_bytes())
    data = bytearray(old.read_bytes())
    page = int.from_bytes(fresh[16:18], "big")
    pages = len(data) // page
    fresh[18:20] = b"\2\2" if old.with_name(f"{old.name}-wal").exists() else b"\1\1"
    fresh[28:32] = pages.to_bytes(4, "big")
    # No list of free pages: what is on it is of no use here.
    fresh[32:40] = bytes(8)
    data[: count or page] = fresh[: count or page]
    old.write_bytes(data)


def _lines(db: sqlite3.Connection, table: str, columns: Sequence[str]) -> Iterator[tuple[Any, ...]]:
    """Every line that can be read, in the order of the table; page after page is tried."""
    asked = f"SELECT rowid, {', '.join(columns)} FROM {table} NOT INDEXED WHERE rowid"
    behind, misses = -1, 0
    # Raises where the table is not known: then no line of it is.
    db.execute(f"EXPLAIN {asked} = 0").fetchall()
    while misses < _GIVE_UP:
        try:
            for line in db.execute(f"{asked} > ? ORDER BY rowid", (behind,)):
                behind, misses = line[0], 0
                yield line[1:]
            break
        except (sqlite3.Error, OverflowError):
            pass
        # One that cannot be read ends the reading: those behind it are asked for one by one.
        while misses < _GIVE_UP:
            behind, misses = behind + 1, misses + 1
            try:
                found = db.execute(f"{asked} = ?", (behind,)).fetchone()
            except (sqlite3.Error, OverflowError):
                continue
            if found is not None:
                misses = 0
                yield found[1:]
                break


def _write(made: Path, kept: dict[str, _Lines]) -> list[str]:
    """Writes the lines into a new log; answers what it does not take."""
    lost: list[str] = []
    kept["rows"].sort(key=_in_order)
    if not kept["cart"]:
        # The rows say whose they are.
        kept["cart"] = [(1, _own(kept["rows"]), kept["rows"][0][10])]
    with closing(schema.connect(made)) as db:
        schema.migrate(db)
        with schema.transaction(db):
            for table, lines in kept.items():
                marks = ", ".join("?" * len(_TABLES[table]))
                for line in lines:
                    try:
                        db.execute(f"INSERT INTO {table} VALUES ({marks})", line)
                    except (sqlite3.Error, OverflowError, ValueError):
                        lost.append(f"a line of the table {table} that holds what it cannot")
    with Log.open(made) as log:
        sum_up(log)
        log.end_write_ahead()
    return lost


def _own(rows: _Lines) -> str:
    """The origin of the log itself: no import speaks of it. Rows by origin and number."""
    named = set()
    for line in rows:
        event = codec.decode(line[6], line[7], line[15])
        named |= {part.origin for part in event.parts} if isinstance(event, JobImported) else set()
    origins = [str(line[0]) for line in rows]
    return next((one for one in reversed(origins) if one not in named), origins[-1])


def _in_order(line: tuple[Any, ...]) -> tuple[str, int]:
    return str(line[0]), line[1] if isinstance(line[1], int) else -1


def sum_up(log: Log) -> None:
    """Writes the lines of jobs and shifts of a log, made anew from its rows. Raises StoreFault."""
    rows = log.all_rows()
    newest: dict[str, Instant] = {}
    for row in rows:
        if row.job:
            newest[row.job] = max(newest.get(row.job, row.entered_us), row.entered_us)
    shifts = {row.shift for row in rows if row.shift}
    # With what other carts did on jobs that were taken over.
    found = folded(believed_rows(log.rows_of(newest, shifts)), newest, shifts)
    lines = job_lines(found, Instant(0))
    jobs = [replace(line, last_us=newest[line.job]) for line in lines]
    log.append([], jobs=jobs, shifts=shift_lines(found))
