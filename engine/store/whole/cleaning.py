"""Sealed texts taken out of every other file of a log's folder: its backups, logs that were moved
aside or saved by a repair, and what was known of them."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterator
from contextlib import closing
from pathlib import Path

from cartclock.engine.store.history import HISTORY_ID, path_beside
from cartclock.engine.store.laptop.places import fault_file
from cartclock.engine.store.log import Log
from cartclock.engine.store.schema import APPLICATION_ID
from cartclock.engine.store.whole.backups import backups_folder
from cartclock.engine.store.whole_copy import read_only
from cartclock.engine.trouble import StoreFault


def clean_others(log: Path, refs: Collection[str]) -> list[str]:
    """Takes sealed texts out of every file in the folder of a log but it and its own history.

    Answers what may hold them still, a sentence each; doing it again cleans what was left.
    """
    found: list[str] = []
    for path in _others(log):
        try:
            kind = _kind(path)
            if kind == HISTORY_ID:
                # Made anew at any time, by who needs it.
                _remove(path)
            elif kind == APPLICATION_ID:
                with Log.open(path) as other:
                    other.forget(refs)
                    other.ask(None)
                    other.end_write_ahead()
        except (StoreFault, sqlite3.Error, OSError) as why:
            found.append(f"{path} could not be cleaned and may hold it still: {why}")
    return found


def _others(log: Path) -> Iterator[Path]:
    own = {log, path_beside(log)}
    for folder in (log.parent, backups_folder(log)):
        for path in sorted(folder.glob("*.db*")):
            if path in own or path.is_symlink() or not path.is_file():
                continue
            if path.name.endswith(".db.damaged"):
                _remove(path)
            elif path.name.endswith(".db"):
                yield path
    # What the first version wrote of a fault told words of the worker.
    fault_file(log).unlink(missing_ok=True)


def _kind(path: Path) -> int:
    with closing(read_only(path)) as db:
        return int(db.execute("PRAGMA application_id").fetchone()[0])


def _remove(path: Path) -> None:
    for end in ("", "-wal", "-shm"):
        path.with_name(f"{path.name}{end}").unlink(missing_ok=True)
