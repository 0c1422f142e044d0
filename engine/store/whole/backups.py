"""Copies of the log that are made without being asked for, beside it, the newest few."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from cartclock.engine.store import schema
from cartclock.engine.store.whole_copy import copy_log, read_only
from cartclock.engine.trouble import StoreFault

# Our own judgement: two weeks of a job and an evening each.
KEPT_BACKUPS = 28
_NAMED = re.compile(r"\d{4}-\d\d-\d\d-row-(\d+)\.db")


def backups_folder(log: Path) -> Path:
    """Where the copies of the log at `log` lie."""
    return log.with_name("backups")


def backups(log: Path) -> list[Path]:
    """The copies there are, the newest first."""
    found = backups_folder(log).glob("*.db")
    named = [path for path in found if _NAMED.fullmatch(path.name)]
    return sorted(named, key=_age, reverse=True)


def _age(path: Path) -> tuple[str, int]:
    named = _NAMED.fullmatch(path.name)
    return path.name[:10], int(named[1]) if named else -1


def back_up(log: Path, date: str) -> Path:
    """One more copy of the log at `log`, opened and found whole before it counts, and the oldest
    thrown away. Takes a connection of its own, so that nobody waits for it.

    date: of today, ISO 8601. Answers where the copy lies; one of the same row is not made twice.

    Raises StoreFault if there can be none; then no older one is thrown away.
    """
    try:
        schema.make_folder(backups_folder(log))
        with closing(read_only(log)) as db:
            newest = db.execute("SELECT max(rowid) FROM rows").fetchone()[0]
            made = backups_folder(log) / f"{date}-row-{newest or 0}.db"
            if not made.exists():
                copy_log(db, made)
        for old in backups(log)[KEPT_BACKUPS:]:
            old.unlink(missing_ok=True)
    except sqlite3.Error as error:
        raise schema.store_fault(error, "No backup was made") from error
    except OSError as error:
        raise StoreFault(
            f"No backup was made: {error.strerror or error} ({backups_folder(log)})."
        ) from error
    return made
