"""The tables of a shop's server, as SQL for its owner to run.

What carts tell there of jobs and shifts has the columns of their own history.db, so those are
taken from the views that make it.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from importlib.resources import files

from cartclock.engine.store.views.films import FILMS
from cartclock.engine.store.views.jobs import JOBS
from cartclock.engine.store.views.lessons import LESSONS
from cartclock.engine.store.views.shifts import ON_CLOCK, SHIFTS

TABLES_VERSION = 2
"""Of the tables that this program makes. Those of an earlier version take what they know of."""

_VIEWS = (JOBS, SHIFTS, LESSONS, FILMS)
# Of imported jobs, and what follows from lines that are told.
_NOT_TOLD = ("served_elsewhere", "taught", "panel_lesson", "seen")
FIGURE_TABLES = tuple(name for view in _VIEWS for name in view.tables if name not in _NOT_TOLD)
"""The tables of history.db of which a shop's server holds the lines of all carts."""

WINDOWS = "window_line"
"""The table of films that run, which a cart keeps in no file."""

CALLED_THERE = {"n": "pieces"}
"""Columns of history.db that are called otherwise at the shop, where `n` counts the lines."""

FILM_LINES = "film_line"
"""The table of films that were watched until ready."""

STOCK = "stock_line"
"""The table of what is on each cart."""

# As sqlite.org/stricttables.html names them, and what PostgreSQL calls the same.
_TYPES = {"TEXT": "text", "INTEGER": "bigint", "REAL": "double precision"}


def columns() -> dict[str, tuple[tuple[str, str], ...]]:
    """Table of `FIGURE_TABLES` -> its columns but the id: (name, type of SQLite)."""
    with closing(sqlite3.connect(":memory:")) as db:
        for view in _VIEWS:
            for statements in view.tables.values():
                for statement in statements:
                    db.execute(statement)
        return {
            table: tuple(
                (CALLED_THERE.get(name, name), kind)
                for _cid, name, kind, *_ in db.execute(f"PRAGMA table_info({table})")
                if name != "id"
            )
            for table in FIGURE_TABLES
        }


def tables_sql(nodes: bool = False) -> str:
    """Everything that makes a shop's server of an empty database. What an earlier program made
    stays, and what is missing there is added.

    nodes: for an engine that places the shops on several nodes; in an empty database alone.
    """
    told = columns()
    made = "".join(_table(table, told[table]) for table in FIGURE_TABLES)
    names = ", ".join(f"'{table}'" for table in (*FIGURE_TABLES, WINDOWS, STOCK))
    named = (
        "CREATE OR REPLACE FUNCTION figure_tables() RETURNS text[] LANGUAGE sql IMMUTABLE\n"
        f"    AS $$ SELECT ARRAY[{names}] $$;\n\n"
    )
    lengths = [name for name, _kind in told["shift_line"] if name.endswith("_time_us")]
    views = _text("views.sql")
    views = views.replace("{lengths}", ", ".join(f"sum({name}) AS {name}" for name in lengths))
    views = views.replace("{clock}", ON_CLOCK)
    rows = _text("rows.sql").replace("{version}", str(TABLES_VERSION))
    # What is placed needs no parts beside that.
    rows = rows.replace("{partitioned}", "" if nodes else " PARTITION BY HASH (shop)")
    # What carts ask before the views: behind those nobody may call what is not granted by name.
    figures = _text("figures.sql") + _text("stock.sql") + made
    asked = ("private.sql", "pull.sql", "holders.sql", "parts.sql", "lessons.sql")
    back = "".join(map(_text, asked))
    made = "\n".join((rows, figures, back, named + views))
    return f"{made}\n{_placed()}" if nodes else made


PLACED = ("rows", "told", "holders", "private_text", "private_told", WINDOWS, STOCK, *FIGURE_TABLES)
"""The tables that are placed by their shop, where the line of its cart in `heads` is."""


def _placed() -> str:
    placed = (
        f"SELECT create_distributed_table('cartclock.{table}', 'shop',"
        " colocate_with := 'cartclock.heads');"
        for table in PLACED
    )
    return _text("nodes.sql").replace("{placed}", "\n".join(placed))


def _text(name: str) -> str:
    return files(__package__).joinpath("sql", name).read_text(encoding="utf-8")


def _table(table: str, told: tuple[tuple[str, str], ...]) -> str:
    wide = [f'"{name}" {_TYPES[kind]}' for name, kind in told]
    added = ", ".join(f"ADD COLUMN IF NOT EXISTS {one}" for one in wide)
    return (
        f"CREATE TABLE IF NOT EXISTS {table} (\n"
        "    shop text NOT NULL, subject uuid NOT NULL, n int NOT NULL,\n"
        f"    {', '.join(wide)},\n    PRIMARY KEY (shop, subject, n));\n"
        # Of one that an earlier program made.
        f"ALTER TABLE {table} {added};\n"
    )
