"""What a login of one shop can read and change of another: nothing, by table, view or function."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import psycopg
import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.joined.faults import ShopFault
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.sending import send
from cartclock.engine.rules.amending import amend
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import PROGRAM, worked
from tests.kit.postgres import Postgres

NAME = "Zephyrine Oddlington"
# Every function that a cart may call, called with what belongs to another shop: {job}, {origin} and
# {ref} are of that one, {own} is the log of who calls.
CALLS = {
    "cards_1(text,integer)": "'zephyrineoddlington', 9",
    "films_1(uuid)": "'{own}'",
    "forget_1(uuid[])": "'{{{ref}}}'",
    "forgotten_1()": "",
    "given_1(uuid)": "'{own}'",
    "holdings_1(uuid)": "'{job}'",
    "job_heads_1(uuid)": "'{job}'",
    "job_private_1(uuid)": "'{job}'",
    "jobs_there_1(text)": "'1'",
    "lessons_1(uuid)": "'{own}'",
    "my_logs_1()": "",
    "my_shop()": "",
    "my_shops()": "",
    "own_private_1(uuid)": "'{origin}'",
    "parts_1(uuid[])": "'{{{job}}}'",
    "private_told_1(uuid)": "'{origin}'",
    "pull_job_1(uuid)": "'{job}'",
    "pull_jobs_1(integer)": "9",
    "pull_packs_1(uuid,text[])": "'{job}', '{{fallout}}'",
    "pull_own_1(uuid,bigint,integer)": "'{origin}', -1, 99",
    "push_1(uuid,text,bigint,text)": "'{origin}', '', 0, '0'",
    "take_1(uuid,uuid,integer,boolean)": "'{job}', '{own}', 2, true",
    "tell_1(uuid,integer,bigint,jsonb,uuid[],bytea)": (
        '\'{own}\', 9, 999, \'[{{"id": "{job}", "digest": "00", "lines": {{}}}}]\', '
        "'{{{job}}}', ''"
    ),
    "tell_private_1(uuid,bigint,jsonb)": "'{origin}', 9, '[]'",
}


def may(line: psycopg.Connection, role: str) -> tuple[set[str], list[str]]:
    """Functions that a role may call, and tables and views that it may read."""
    functions = line.execute(
        "SELECT replace(oid::regprocedure::text, 'cartclock.', '') FROM pg_proc"
        " WHERE pronamespace = 'cartclock'::regnamespace"
        " AND has_function_privilege(%s, oid, 'execute')",
        (role,),
    ).fetchall()
    tables = line.execute(
        "SELECT relname FROM pg_class WHERE relnamespace = 'cartclock'::regnamespace"
        " AND relkind IN ('r', 'p', 'v', 'm', 'f') AND has_table_privilege(%s, oid, 'select')",
        (role,),
    ).fetchall()
    return {name for (name,) in functions}, sorted(name for (name,) in tables)


def everything(line: psycopg.Connection, shop: str) -> dict[str, Any]:
    """All that the server has of a shop, a digest a table."""
    tables = line.execute(
        "SELECT c.relname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid"
        " AND a.attname = 'shop' WHERE c.relnamespace = 'cartclock'::regnamespace"
        " AND c.relkind IN ('r', 'p') AND NOT c.relispartition"
    ).fetchall()
    return {
        table: line.execute(
            f"SELECT count(*), md5(coalesce(string_agg(t::text, '|' ORDER BY t::text), ''))"
            f" FROM cartclock.{table} t WHERE shop = %s".encode(),
            (shop,),
        ).fetchone()
        for (table,) in tables
    }


@pytest.fixture
def two(cart: Carts, shop: str) -> tuple[Cart, Cart, dict[str, str]]:
    """Carts of two shops with work on both, and what is to be kept from the second."""
    one, other = cart(shop), cart("curious")
    bench = one.day.bench
    job = next(iter(bench.jobs))
    bench.do(amend, job, ev.JobAmended("customer", bench.seal(NAME)))
    for each in (one, other):
        worked(each, 3)
        with linked(each.joined, each.day.path) as line:
            send(each.day.bench.log, line, PROGRAM, private=True)
    (ref,) = bench.log.refs_saying(NAME)
    shift = next(iter(bench.shifts))
    marks = {
        "origin": bench.log.origin, "job": job, "ref": ref, "shift": shift, "cart": one.name,
        "shop": shop,
    }  # fmt: skip
    return one, other, marks


def test_no_function_tells_or_changes_anything_of_another_shop(
    two: tuple[Cart, Cart, dict[str, str]], owner: psycopg.Connection, shop: str
) -> None:
    _one, other, marks = two
    functions, _tables = may(owner, "cartclock_cart")
    assert functions == CALLS.keys()
    before = everything(owner, shop)
    assert before["rows"][0] > 5 and before["private_text"][0] == 1
    given = {**marks, "own": other.day.bench.log.origin}
    for function, words in CALLS.items():
        asked = f"SELECT * FROM cartclock.{function.split('(')[0]}({words.format(**given)})"
        with linked(other.joined, other.day.path) as line:
            try:
                said = str(line.execute(asked.encode()).fetchall())
            except psycopg.Error as refused:
                # It names what was asked for, and nothing else.
                assert (refused.sqlstate or "").startswith("CC"), (function, refused)
                said = str(refused.diag.message_primary)
                said = said.replace(marks["origin"], "").replace(marks["job"], "")
        # A forgotten text is answered with the reference that was given.
        hidden = [mark for name, mark in marks.items() if name != "ref"]
        assert not [mark for mark in (*hidden, NAME) if mark in said], function
    assert everything(owner, shop) == before


@pytest.fixture
def reader(server: Postgres, owner: psycopg.Connection) -> Iterator[psycopg.Connection]:
    """A line of who may read the shop "curious" alone."""
    owner.execute("CREATE ROLE curious_reader LOGIN PASSWORD 'r' IN ROLE cartclock_reader")
    owner.execute("INSERT INTO cartclock.readers VALUES ('curious_reader', 'curious')")
    with psycopg.connect(
        f"host=127.0.0.1 port={server.port} dbname=shop user=curious_reader password=r",
        autocommit=True,
    ) as line:
        yield line
    owner.execute("DELETE FROM cartclock.readers WHERE role = 'curious_reader'")
    owner.execute("DROP ROLE curious_reader")


def test_no_table_or_view_shows_a_line_of_another_shop(
    two: tuple[Cart, Cart, dict[str, str]], owner: psycopg.Connection, reader: psycopg.Connection
) -> None:
    _one, other, _marks = two
    with linked(other.joined, other.day.path) as line:
        for role, login in (("cartclock_cart", line), ("cartclock_reader", reader)):
            _functions, tables = may(owner, role)
            assert {"rows", "heads", "job_line", "open_jobs", "hours_by_week"} <= set(tables)
            for table in tables:
                if table != "version":
                    shops = login.execute(f"SELECT DISTINCT shop FROM cartclock.{table}".encode())
                    assert set(shops.fetchall()) <= {("curious",)}, (role, table)


@pytest.mark.parametrize(
    "how",
    [
        pytest.param("ALTER ROLE {} VALID UNTIL '2000-01-01'", id="over", marks=pytest.mark.long),
        pytest.param("ALTER ROLE {} NOLOGIN", id="no login"),
    ],
)
def test_a_withdrawn_login_gets_in_nowhere_and_the_others_do(
    cart: Carts, owner: psycopg.Connection, how: str
) -> None:
    one, other = cart("withdrawn"), cart("withdrawn")
    owner.execute(how.format(f'"{one.name}"').encode())
    with (
        pytest.raises(ShopFault, match="does not let this cart in"),
        linked(one.joined, one.day.path),
    ):
        pass
    with linked(other.joined, other.day.path) as line:
        assert send(other.day.bench.log, line, PROGRAM).rows > 0


def test_a_login_without_a_shop_is_no_cart(cart: Carts, owner: psycopg.Connection) -> None:
    one = cart("struck off")
    owner.execute("DELETE FROM cartclock.carts WHERE role = %s", (one.name,))
    with (
        pytest.raises(ShopFault, match=f"no cart is called {one.name}"),
        linked(one.joined, one.day.path) as line,
    ):
        send(one.day.bench.log, line, PROGRAM)
