"""The tables of what is known of a log, line by line, for other programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cartclock.engine.store.library import Library
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.views.said import SAID
from cartclock.engine.trouble import Refused

# What was said of the jobs, sealed texts among it, stays where it can be forgotten.
TABLES = tuple(table for view in VIEWS if view is not SAID for table in view.tables)


def table_rows(library: Library, table: str) -> Iterator[dict[str, Any]]:
    """The lines of one of `TABLES` by column.

    Raises Refused for another table, and while parts are still to be made or another program holds
    the file.
    """
    # On use: few want it, and it takes a third of the time of a start.
    from sqlite_utils import Database

    if table not in TABLES:
        raise Refused(f"There is no table {table!r}. There are: {', '.join(TABLES)}.")
    if library.left() or not library.settle():
        raise Refused("Not everything is written down yet, or another program holds it; try again.")
    database = Database(library.history.connection, recursive_triggers=False)
    yield from database[table].rows
