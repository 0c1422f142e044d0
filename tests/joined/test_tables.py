"""The SQL of a shop's tables: made once, run again by a newer program, and of other versions than
the cart's own."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.resources import files

import msgspec
import psycopg
import pytest

from cartclock.engine.joined.link import about_tables, linked
from cartclock.engine.joined.sending import send
from cartclock.engine.joined.tables import TABLES_VERSION, tables_sql
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import count, sent, worked
from tests.kit.postgres import Postgres

# Everything of the schema that a cart, a reader or an owner may notice.
_CATALOGUE = """
SELECT 'column', c.relname || '.' || a.attname, format_type(a.atttypid, a.atttypmod),
        a.attnotnull::text || coalesce(pg_get_expr(d.adbin, d.adrelid), '')
    FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0
        AND NOT a.attisdropped LEFT JOIN pg_attrdef d ON (d.adrelid, d.adnum) = (c.oid, a.attnum)
    WHERE c.relnamespace = 'cartclock'::regnamespace AND c.relkind IN ('r', 'p', 'v', 'c')
UNION ALL SELECT 'index', indexname, indexdef, '' FROM pg_indexes WHERE schemaname = 'cartclock'
UNION ALL SELECT 'view', viewname, definition, '' FROM pg_views WHERE schemaname = 'cartclock'
UNION ALL SELECT 'policy', tablename || '.' || policyname, roles::text, qual
    FROM pg_policies WHERE schemaname = 'cartclock'
UNION ALL SELECT 'function', oid::regprocedure::text, prosrc, coalesce(proacl::text, '')
    FROM pg_proc WHERE pronamespace = 'cartclock'::regnamespace
UNION ALL SELECT 'grant', relname, coalesce(relacl::text, ''), relrowsecurity::text
    FROM pg_class WHERE relnamespace = 'cartclock'::regnamespace AND relkind IN ('r', 'p', 'v')
UNION ALL SELECT 'trigger', tgrelid::regclass::text || '.' || tgname, '', ''
    FROM pg_trigger WHERE NOT tgisinternal
ORDER BY 1, 2, 3, 4
"""


@pytest.fixture
def another(server: Postgres) -> Iterator[psycopg.Connection]:
    """A line of the owner of an empty database on the server."""
    with server.owner("postgres") as first:
        first.execute("CREATE DATABASE another")
        with server.owner("another") as line:
            yield line
        first.execute("DROP DATABASE another WITH (FORCE)")


def run(line: psycopg.Connection) -> None:
    with line.transaction():
        line.execute(tables_sql().encode())


def test_run_again_it_adds_what_an_earlier_program_did_not_make(
    another: psycopg.Connection,
) -> None:
    run(another)
    made = another.execute(_CATALOGUE).fetchall()
    assert len(made) > 200
    another.execute("INSERT INTO cartclock.carts VALUES ('c', 'north')")
    run(another)
    assert another.execute(_CATALOGUE).fetchall() == made
    # As an earlier program left it: without a column, a view and a table of figures.
    another.execute("SET search_path = cartclock")
    another.execute("DROP VIEW job_work; DROP TABLE window_line, use_line CASCADE")
    another.execute("ALTER TABLE shift_line DROP COLUMN drinks_ml CASCADE")
    another.execute("UPDATE version SET tables = 1")
    assert another.execute(_CATALOGUE).fetchall() != made
    run(another)
    assert another.execute(_CATALOGUE).fetchall() == made
    assert another.execute("SELECT * FROM carts").fetchall() == [("c", "north")]
    assert another.execute("SELECT tables FROM version").fetchone() == (TABLES_VERSION,)


def test_an_older_program_changes_nothing_of_newer_tables(another: psycopg.Connection) -> None:
    run(another)
    another.execute("UPDATE cartclock.version SET tables = 99; DROP VIEW cartclock.job_work")
    with pytest.raises(psycopg.Error, match="made by a newer program: nothing was changed"):
        run(another)
    assert another.execute("SELECT to_regclass('cartclock.job_work')").fetchone() == (None,)


def test_nobody_may_call_what_is_not_granted(owner: psycopg.Connection) -> None:
    anybody = owner.execute(
        "SELECT proname FROM pg_proc WHERE pronamespace = 'cartclock'::regnamespace"
        " AND has_function_privilege('public', oid, 'execute')"
    ).fetchall()
    assert anybody == []
    unlocked = owner.execute(
        "SELECT relname FROM pg_class WHERE relnamespace = 'cartclock'::regnamespace"
        " AND relkind IN ('r', 'p') AND NOT relispartition AND NOT relrowsecurity"
        " AND (has_table_privilege('cartclock_cart', oid, 'select')"
        " OR has_table_privilege('cartclock_reader', oid, 'select'))"
    ).fetchall()
    assert unlocked == [("version",)]


def test_every_key_of_what_grows_begins_with_the_shop(owner: psycopg.Connection) -> None:
    keys = owner.execute(
        "SELECT conrelid::regclass::text, pg_get_constraintdef(oid) FROM pg_constraint"
        " WHERE contype = 'p' AND connamespace = 'cartclock'::regnamespace AND conparentid = 0"
    ).fetchall()
    other = {table for table, key in keys if not re.match(r"PRIMARY KEY \(shop[,)]", key)}
    assert {table.removeprefix("cartclock.") for table in other} == {"version", "carts", "readers"}


@pytest.mark.parametrize("version", [1, 99])
def test_tables_of_another_version_take_what_they_know(
    cart: Carts, owner: psycopg.Connection, version: int
) -> None:
    one: Cart = cart("versions")
    worked(one, 3)
    owner.execute("UPDATE cartclock.version SET tables = %s", (version,))
    try:
        assert sent(one).figures > 1
        with linked(one.joined, one.day.path) as line:
            said = about_tables(line)
    finally:
        owner.execute("UPDATE cartclock.version SET tables = %s", (TABLES_VERSION,))
    assert count(owner, one)[0] == one.day.bench.log.head.seq + 1
    assert said.startswith("The shop's tables are of version 1, this") == (version == 1)
    assert bool(said) == (version == 1)


# What the engine that places shops brings, as far as it can be told without it: who called which.
_PLACING = """
CREATE TABLE placed (made text, what text, by text);
CREATE FUNCTION create_reference_table(t regclass) RETURNS void LANGUAGE sql AS
    $$ INSERT INTO placed VALUES ('reference', t::text, '') $$;
CREATE FUNCTION create_distributed_table(t regclass, by text, colocate_with text DEFAULT '')
    RETURNS void LANGUAGE sql AS $$ INSERT INTO placed VALUES ('table', t::text, by) $$;
CREATE FUNCTION create_distributed_function(f regprocedure, by text, colocate_with text,
    force_delegation boolean) RETURNS void LANGUAGE sql AS
    $$ INSERT INTO placed VALUES ('function', f::text, by) $$;
"""


def test_for_nodes_every_table_and_what_a_cart_writes_is_placed_by_its_shop(
    another: psycopg.Connection, server: Postgres, cart: Carts
) -> None:
    another.execute(f"CREATE SCHEMA engine; SET search_path = engine; {_PLACING}".encode())
    with another.transaction():
        # Behind the schema of the tables, as such an engine's own functions are.
        text = tables_sql(nodes=True)
        another.execute(
            text.replace(
                "SET search_path = cartclock;", "SET search_path = cartclock, engine;"
            ).encode()
        )
    placing = another.execute("SELECT * FROM engine.placed").fetchall()
    growing = {
        table
        for (table,) in another.execute(
            "SELECT relname FROM pg_class JOIN pg_attribute ON attrelid = pg_class.oid"
            " WHERE relnamespace = 'cartclock'::regnamespace AND relkind IN ('r', 'p')"
            " AND attname = 'shop' AND relname NOT IN ('carts', 'readers')"
        )
    }
    assert len(growing) > 9
    assert sorted(what for made, what, _by in placing if made == "table") == sorted(growing)
    assert {by for made, _what, by in placing if made == "table"} == {"shop"}
    assert {what for made, what, _by in placing if made == "reference"} == {
        "version", "carts", "readers"
    }  # fmt: skip
    assert {(what.split("(")[0], by) for made, what, by in placing if made == "function"} == {
        ("push_there_1", "p_shop"), ("tell_there_1", "p_shop")
    }  # fmt: skip
    # A cart sends as before, and names no other shop than its own.
    one = cart("on nodes")
    another.execute("INSERT INTO cartclock.carts VALUES (%s, 'on nodes')", (one.name,))
    joined = msgspec.structs.replace(one.joined, database="another")
    log = one.day.bench.log
    worked(one, 4)
    with linked(joined, log.path) as line:
        assert send(log, line, "0").rows == log.head.seq + 1
        worked(one, 2)
        assert send(log, line, "0").figures == 2
        for call in (
            "push_there_1('another', %s, '', 0, '0')",
            "tell_there_1('another', %s, 1, 1, '[]', '{}', '')",
        ):
            with pytest.raises(psycopg.Error, match="is not of shop another"):
                line.execute(f"SELECT cartclock.{call}".encode(), (log.origin,))
        with pytest.raises(psycopg.Error, match="permission denied"):
            line.execute("SELECT cartclock.push_here_1(%s, '', 0, '0')", (log.origin,))
    assert another.execute(
        "SELECT shop, count(*), max(seq) FROM cartclock.rows GROUP BY shop"
    ).fetchall() == [("on nodes", log.head.seq + 1, log.head.seq)]
    anybody = another.execute(
        "SELECT proname FROM pg_proc WHERE pronamespace = 'cartclock'::regnamespace"
        " AND has_function_privilege('public', oid, 'execute')"
    ).fetchall()
    assert anybody == []
    # What a cart may call is there as on one server, and what is done where is said of each.
    with server.owner() as plain:
        mine, there = of_a_cart(plain), of_a_cart(another)
    assert {name for name, *_said in there - mine} == {"push_there_1", "tell_there_1"}
    assert mine - there == set()
    page = files("cartclock.engine.joined").joinpath("NODES.md").read_text(encoding="utf-8")
    assert [name for name, *_said in sorted(there) if f"`{name}`" not in page] == []


def of_a_cart(line: psycopg.Connection) -> set[tuple[str, str, str]]:
    """The functions that a cart may call: name, words, and what each answers."""
    return set(
        line.execute(
            "SELECT proname, pg_get_function_arguments(oid), pg_get_function_result(oid)"
            " FROM pg_proc WHERE pronamespace = 'cartclock'::regnamespace"
            " AND has_function_privilege('cartclock_cart', oid, 'execute')"
        ).fetchall()
    )
