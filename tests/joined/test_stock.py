"""What is left of each product, on each cart and in the shop, is what the carts' folds say."""

from __future__ import annotations

import psycopg
import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.joined.asking import SHOP_QUESTIONS, shop_answer
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.tables import STOCK, tables_sql
from cartclock.engine.products.item import Item
from cartclock.engine.products.stock import stock
from cartclock.engine.rules import packs
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import sent, worked
from tests.kit.postgres import Postgres


def product_of(cart: Cart) -> str:
    (job,) = cart.day.bench.jobs.values()
    return job.opened.plan.products[0].id


def opened(cart: Cart, content: float, weighed: float | None = None) -> None:
    """A pack on a cart, and what was found to be left of it."""
    bench, product = cart.day.bench, product_of(cart)
    bench.do(packs.open_pack, ev.PackOpened(product, content, "ml", "L7", "2027-05-31", "12.50"))
    if weighed is not None:
        cart.day.clock.wind(1)
        bench.do(packs.weigh, ev.PackWeighed(product, weighed))


def of_fold(cart: Cart) -> Item:
    """What there is by all rows of a cart, folded anew."""
    return stock(cart.day.bench.log.all_rows()).items[product_of(cart)]


def left(cart: Cart) -> float:
    found = of_fold(cart).left
    assert found is not None
    return float(found)


def test_what_is_left_is_told_cart_by_cart_and_added_up(cart: Carts) -> None:
    carts = [cart("stocked"), cart("stocked"), cart("stocked")]
    opened(carts[0], 500.0, 400.0)
    opened(carts[1], 250.0, 101.5)
    # Nobody weighed it: it is not known to be left.
    opened(carts[2], 100.0)
    for one in carts:
        worked(one, 6)
        sent(one)
    with linked(carts[0].joined, carts[0].day.path) as line:
        found = shop_answer(line, "stock", "0001-01-01", "9999-12-31")
        assert shop_answer(line, "stock", "2100-01-01", "9999-12-31") == []
    assert [*found[0]] == [*SHOP_QUESTIONS["stock"].columns]
    by_cart = {one["cart"]: one for one in found}
    for one in carts[:2]:
        assert by_cart[one.name]["left"] == left(one), one.name
        assert by_cart[one.name]["in_shop"] == pytest.approx(left(carts[0]) + left(carts[1]))
        assert by_cart[one.name]["price"] == pytest.approx(
            1250 / {carts[0].name: 500, carts[1].name: 250}[one.name]
        )
    assert by_cart[carts[2].name]["left"] is None
    book = of_fold(carts[2]).book
    assert book is not None and by_cart[carts[2].name]["book"] == float(book)
    assert {(one["lot"], one["expires"], one["unit"]) for one in found} == {
        ("L7", "2027-05-31", "ml")
    }


def test_a_pack_that_was_never_opened_after_all_is_gone(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one = cart("unpacked")
    opened(one, 500.0)
    sent(one)
    asked = "SELECT content FROM cartclock.stock WHERE shop = 'unpacked'"
    assert owner.execute(asked.encode()).fetchall() == [(500.0,)]
    one.day.bench.undo()
    sent(one)
    assert owner.execute(asked.encode()).fetchall() == []


def test_what_older_tables_passed_over_is_told_once_they_are_newer(
    cart: Carts, owner: psycopg.Connection, server: Postgres
) -> None:
    one = cart("upgraded")
    opened(one, 500.0)
    with owner.transaction():
        owner.execute("UPDATE cartclock.version SET tables = 1")
        owner.execute("ALTER TABLE cartclock.stock_line RENAME TO not_yet")
        without = "array_remove(ARRAY(SELECT unnest(tables)), %s)"
        tables = owner.execute(
            f"SELECT {without} FROM (SELECT cartclock.figure_tables() AS tables) t", (STOCK,)
        ).fetchone()
        assert tables is not None
        owner.execute(
            "CREATE OR REPLACE FUNCTION cartclock.figure_tables() RETURNS text[] LANGUAGE sql"
            f" IMMUTABLE AS $$ SELECT ARRAY{tables[0]} $$".encode()
        )
    try:
        sent(one)
    finally:
        owner.execute("ALTER TABLE cartclock.not_yet RENAME TO stock_line")
        with owner.transaction():
            owner.execute(tables_sql().encode())
    asked = "SELECT count(*) FROM cartclock.stock WHERE shop = 'upgraded'"
    assert owner.execute(asked.encode()).fetchone() == (0,)
    sent(one)
    assert owner.execute(asked.encode()).fetchone() == (1,)
