"""The shop's tables with the shops placed on three nodes: the tests of one server, and that no
question of a shop leaves its node."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from inspect import signature

import psycopg
import pytest

from cartclock.engine.joined.asking import SHOP_QUESTIONS, shop_answer
from cartclock.engine.joined.faults import ShopFault
from cartclock.engine.joined.link import linked
from tests.joined import (
    test_figures,
    test_known,
    test_private,
    test_pulling,
    test_sending,
    test_shop_handing,
    test_stock,
)
from tests.joined.conftest import Carts
from tests.joined.test_figures import reader
from tests.joined.test_sending import sent, worked
from tests.kit.several import ON_NODES, Nodes, bin_with

pytestmark = pytest.mark.long

NODES = 3
__all__ = ["reader"]

# What is changed in front alone: tables under another name, a trigger that the nodes have as well.
_ELSEWHERE = {
    "test_what_older_tables_passed_over_is_told_once_they_are_newer",
    "test_rows_that_do_not_follow_on_are_not_taken",
}
for _module in (
    *(test_sending, test_figures, test_stock, test_private),
    *(test_known, test_pulling, test_shop_handing),
):
    for _name, _test in vars(_module).items():
        asks = _name.startswith("test_") and {"cart", "server"} & signature(_test).parameters.keys()
        if asks and _name not in _ELSEWHERE:
            globals()[_name] = _test


@pytest.fixture(scope="module")
def server() -> Iterator[Nodes]:
    """Three nodes and the server in front of them."""
    programs = bin_with("postgres_fdw")
    if programs is None:
        pytest.skip("no PostgreSQL here has the extension postgres_fdw")
    one = Nodes(programs, NODES)
    yield one
    one.close()


def shops_of(nodes: Nodes) -> list[dict[str, int]]:
    """Of each node its shops, with how many rows they have there."""
    found = []
    for node in nodes.nodes:
        with node.owner() as owner:
            found.append(
                dict(
                    owner.execute(
                        "SELECT shop, count(*) FROM cartclock.rows GROUP BY shop"
                    ).fetchall()
                )
            )
    return found


def test_each_shop_is_on_one_node_with_all_it_has(
    cart: Carts, server: Nodes, owner: psycopg.Connection
) -> None:
    carts = {f"placed {at}": cart(f"placed {at}") for at in range(8)}
    for one in carts.values():
        worked(one, 4)
        sent(one)
    nodes = shops_of(server)
    assert all(nodes), "a node without a shop shows nothing"
    for shop, one in carts.items():
        (at,) = (at for at, shops in enumerate(nodes) if shop in shops)
        assert nodes[at][shop] == one.day.bench.log.head.seq + 1
        for table in ON_NODES:
            for other, node in enumerate(server.nodes):
                with node.owner() as line:
                    many = line.execute(
                        f"SELECT count(*) FROM cartclock.{table} WHERE shop = %s".encode(), (shop,)
                    ).fetchone()
                    assert many is not None
                    assert other == at or many[0] == 0, (shop, table)
    # The same questions of all of them are answered in front.
    found = owner.execute(
        "SELECT shop, sum(clock_us) FROM cartclock.hours_by_week WHERE shop LIKE 'placed %'"
        " GROUP BY shop ORDER BY shop"
    ).fetchall()
    assert found == [
        (shop, sum(test_figures.of_fold([one]).values())) for shop, one in sorted(carts.items())
    ]


def test_no_question_of_a_shop_leaves_its_node(
    owner: psycopg.Connection, reader: psycopg.Connection
) -> None:
    del reader  # Its shop is there, and nobody else's is asked for.
    for table in ON_NODES:
        plan = owner.execute(
            f"EXPLAIN (COSTS OFF) SELECT * FROM cartclock.{table} WHERE shop = 'north'".encode()
        ).fetchall()
        scans = [line for (line,) in plan if "Foreign Scan" in line]
        assert len(scans) == 1, (table, plan)


def test_every_question_is_answered_to_a_cart(cart: Carts) -> None:
    one = cart("asked")
    worked(one, 3)
    sent(one)
    with linked(one.joined, one.day.path) as line:
        for name, question in SHOP_QUESTIONS.items():
            found = shop_answer(line, name, "0001-01-01", "9999-12-31")
            assert {line["shop"] for line in found} <= {"asked"}, name
            assert all([*line] == [*question.columns] for line in found)
        assert len(shop_answer(line, "hours", "0001-01-01", "9999-12-31")) == 1


def test_a_node_that_is_away_keeps_no_other_shop_from_sending(cart: Carts, server: Nodes) -> None:
    carts = [cart(f"away {at}") for at in range(8)]
    for one in carts:
        sent(one)
    away = {shop for shop in shops_of(server)[1] if shop.startswith("away ")}
    assert 0 < len(away) < len(carts)
    server.nodes[1].stop(signal.SIGQUIT)
    try:
        refused = set()
        for at, one in enumerate(carts):
            worked(one, 2)
            try:
                assert sent(one).head == one.day.bench.log.head.seq
            except ShopFault as why:
                assert "the node that this shop is on" in str(why)
                refused.add(f"away {at}")
        assert refused == away
    finally:
        server.nodes[1].start()
    for one in carts:
        assert sent(one).head == one.day.bench.log.head.seq
