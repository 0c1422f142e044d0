"""A connection to a log that reports a fault where a press is written."""

from __future__ import annotations

import sqlite3
from typing import Any

from cartclock.engine.store.log import Log


class Flaky:
    """A connection whose COMMIT reports a fault, before or after doing its work."""

    def __init__(self, db: sqlite3.Connection, *, does: bool, broken: tuple[str, ...] = ()) -> None:
        self.db, self.does, self.broken = db, does, broken

    def __getattr__(self, name: str) -> Any:
        return getattr(self.db, name)

    def execute(self, query: str, values: Any = ()) -> Any:
        if query.startswith(self.broken or ("nothing",)):
            raise sqlite3.OperationalError("the cable is out")
        if query == "COMMIT":
            if self.does:
                self.db.execute(query)
            raise sqlite3.OperationalError("disk I/O error")
        return self.db.execute(query, values)


def spoil(log: Log, **how: Any) -> sqlite3.Connection:
    whole = log._db
    log._db = Flaky(whole, **how)  # type: ignore[assignment] # stands in for a connection
    return whole
