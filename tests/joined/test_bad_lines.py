"""A line to the shop that is slow, stands still or breaks: the shop has rows from 0 on without a
hole, at least those that were acknowledged, and the next sending goes on behind them."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator

import psycopg
import pytest

from cartclock.engine.joined.faults import ShopFault
from cartclock.engine.joined.link import conninfo, linked
from cartclock.engine.joined.membership import Joined
from cartclock.engine.joined.sending import send
from cartclock.engine.store.codec import digested
from cartclock.engine.store.log import Log
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import PROGRAM, count, grown, sent, stored
from tests.kit.line import Line, line_to
from tests.kit.postgres import Postgres


@pytest.fixture
def line(server: Postgres) -> Iterator[Line]:
    """A line to the server that does what it should, so far."""
    with line_to(server.port) as one:
        yield one


def over(cart: Cart, line: Line) -> Cart:
    """The cart with its way to the shop over a line."""
    cart.joined = Joined(f"127.0.0.1:{line.port}", cart.name)
    cart.log_in(cart.day.path)
    return cart


def full(cart: Cart, rows: int) -> Cart:
    """The cart with so many rows more."""
    grown(cart.day.bench.log, rows, 100)
    return cart


def size(log: Log) -> int:
    """Bytes of its rows as they are sent."""
    return sum(len(digested(line[:-1])) + 1 for line in stored(log))


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """Some rows a statement."""
    monkeypatch.setattr("cartclock.engine.joined.sending.MOST_ROWS", 20)


@pytest.mark.long
def test_a_server_that_answers_nothing_is_given_up_after_five_seconds(
    cart: Carts, line: Line
) -> None:
    one = over(cart("half open"), line)
    assert conninfo(one.joined, one.day.path)["connect_timeout"] == 5
    line.hold()
    begun = time.monotonic()
    with pytest.raises(ShopFault, match="the line to it did not come about or broke"):
        sent(one)
    assert 4.5 < time.monotonic() - begun < 8


CUTS = [
    ("there", 0.05),
    *(pytest.param("there", part, marks=pytest.mark.long) for part in (0.3, 0.5, 0.8, 0.99)),
    # Taken, and the cart is not told so.
    ("back", 0.4),
    *(pytest.param("back", part, marks=pytest.mark.long) for part in (0.1, 0.7, 0.9)),
]


@pytest.mark.parametrize(("way", "part"), CUTS)
@pytest.mark.usefixtures("small")
def test_a_line_that_breaks_in_the_middle_leaves_no_hole(
    cart: Carts, owner: psycopg.Connection, line: Line, way: str, part: float
) -> None:
    one = over(full(cart("cut"), 200), line)
    log = one.day.bench.log
    whole = log.head.seq + 1
    acknowledged = []
    with pytest.raises(ShopFault, match="broke"), linked(one.joined, log.path) as link:
        if way == "there":
            line.cut_there = line.went + round(size(log) * part)
        else:
            # An answer is some 120 bytes, and there are as many as statements.
            line.cut_back = line.came + round(120 * whole / 20 * part) + 500
        send(log, link, PROGRAM, acknowledged.append)
    line.cut_there = line.cut_back = None
    rows, newest = count(owner, one)
    assert rows == (-1 if newest is None else newest) + 1 >= whole - min(acknowledged)
    assert rows < whole
    done = sent(one)
    assert (done.head, done.rows) == (whole - 1, whole - rows)
    assert count(owner, one) == (whole, whole - 1)


@pytest.mark.usefixtures("small")
def test_a_line_that_stands_still_is_waited_for_and_holds_nobody_up_once_it_is_cut(
    cart: Carts, owner: psycopg.Connection, line: Line
) -> None:
    one = over(full(cart("still"), 200), line)
    log = one.day.bench.log
    whole = log.head.seq + 1
    faults: list[ShopFault] = []

    def told(left: int) -> None:
        if left <= whole - 60:
            line.hold()

    def go() -> None:
        try:
            with Log.open_to_read(log.path) as opened, linked(one.joined, log.path) as link:
                send(opened, link, PROGRAM, told)
        except ShopFault as why:
            faults.append(why)

    sender = threading.Thread(target=go)
    sender.start()
    sender.join(0.5)
    # Both ends are answered, so neither of them can know.
    assert sender.is_alive()
    rows, newest = count(owner, one)
    assert 60 <= rows == newest + 1 < whole
    line.cut()
    sender.join(10)
    assert len(faults) == 1
    line.flow()
    rows, newest = count(owner, one)
    assert rows == newest + 1 < whole
    assert sent(one).rows == whole - rows
    assert count(owner, one) == (whole, whole - 1)


def test_sessions_of_dead_lines_lock_a_cart_out_no_longer_than_they_may_be_idle(
    cart: Carts, line: Line, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = full(cart("locked out"), 20)
    words = conninfo(one.joined, one.day.path)
    assert "idle_session_timeout=120s" in str(words["options"])
    monkeypatch.setattr(
        "cartclock.engine.joined.link._SESSION", "-c statement_timeout=60s"
        " -c idle_session_timeout=700ms",
    )  # fmt: skip
    dead = conninfo(Joined(f"127.0.0.1:{line.port}", one.name), one.day.path)
    lines = [psycopg.connect(**dead, autocommit=True) for _ in range(3)]  # type: ignore[arg-type]
    # They go, and the server is told nothing of it.
    line.silent = True
    line.hold()
    for each in lines:
        each.close()
    with pytest.raises(ShopFault, match="it has no room for another one; send again later"):
        sent(one)
    end = time.monotonic() + 10
    while True:
        try:
            assert sent(one).rows == one.day.bench.log.head.seq + 1
            break
        except ShopFault:
            assert time.monotonic() < end
            time.sleep(0.1)


@pytest.mark.parametrize(
    ("rows", "delay_s", "bytes_s"),
    [
        (100, 0.02, 200_000),
        pytest.param(2_000, 0.2, 80_000, marks=pytest.mark.long),
    ],
    ids=["a little slow", "200 ms and 80 kB/s"],
)
def test_a_slow_line_brings_everything_in_its_time(
    cart: Carts, owner: psycopg.Connection, line: Line, rows: int, delay_s: float, bytes_s: float
) -> None:
    one = over(full(cart("slow"), rows), line)
    log = one.day.bench.log
    line.delay_s, line.bytes_s = delay_s, bytes_s
    begun = time.monotonic()
    assert sent(one).rows == log.head.seq + 1
    took_s = time.monotonic() - begun
    assert count(owner, one) == (log.head.seq + 1, log.head.seq)
    # No sooner than the line carries it, and not much later: a few answers are waited for.
    least_s = size(log) / bytes_s
    assert least_s < took_s < 2 * least_s + 60 * delay_s
