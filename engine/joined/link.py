"""The way to a shop's server: where it is, as which cart, and how the line is kept honest."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from cartclock.engine.joined.faults import ShopFault, shop_fault
from cartclock.engine.joined.tables import TABLES_VERSION

if TYPE_CHECKING:
    import psycopg

# Seconds; a line that is dead is told by one of them, common practice, no source.
_CONNECT_S = 5
_SESSION = (
    "-c statement_timeout=60s -c lock_timeout=10s -c idle_in_transaction_session_timeout=60s "
    "-c idle_session_timeout=120s"
)


class Joined(Struct, frozen=True):
    """The shop that a cart belongs to; as the setting `joined`.

    Fields:
        server: host name or address of the shop's PostgreSQL, with `:port` if it is not 5432; more
            of them, with commas between, are tried in turn, and the one that can be written to is
            taken.
        cart: the login of this cart there.
        database: its name there.
        every: minutes between two sendings while the screens are open; 0: only by command.
    """

    server: str = ""
    cart: str = ""
    database: str = "shop"
    every: int = 5

    @property
    def is_set(self) -> bool:
        """True if this cart belongs to a shop."""
        return bool(self.server and self.cart)


def passfile(log: Path) -> Path:
    """Where the password of the cart stands, in the format of PostgreSQL's password file, for its
    owner's eyes: the library that connects passes over a file that others may read."""
    return log.with_name("shop.pass")


def root_certificate(log: Path) -> Path:
    """Where the certificate is that vouches for the server, if it is not one of the system's."""
    return log.with_name("shop-root.pem")


def conninfo(joined: Joined, log: Path) -> dict[str, str | int]:
    """The words of a connection (PostgreSQL manual, 34.1.2). Raises ShopFault without a server."""
    if not joined.is_set:
        raise ShopFault("This cart belongs to no shop; the setting `joined` names its server.")
    hosts, ports = [], []
    for one in joined.server.split(","):
        host, _colon, port = one.strip().rpartition(":") if ":" in one else (one.strip(), "", "")
        hosts.append(host)
        ports.append(port or "5432")
    words: dict[str, str | int] = {
        "host": ",".join(hosts),
        "port": ",".join(ports),
        "dbname": joined.database,
        "user": joined.cart,
        "passfile": str(passfile(log)),
        "target_session_attrs": "read-write",
        "connect_timeout": _CONNECT_S,
        "keepalives_idle": 10,
        "keepalives_interval": 5,
        "keepalives_count": 3,
        "tcp_user_timeout": 15_000,
        "application_name": "cartclock",
        "options": _SESSION,
        # A server that asks for the password itself could keep it.
        "require_auth": "scram-sha-256",
    }
    if all(_is_here(host) for host in hosts):
        # Nothing leaves this computer.
        return {**words, "sslmode": "prefer"}
    root = root_certificate(log)
    return {
        **words,
        "sslmode": "verify-full",
        "sslrootcert": str(root) if root.exists() else "system",
        "channel_binding": "require",
    }


def _is_here(host: str) -> bool:
    """Whether it is this computer, as an address: a name could be made to mean another one."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


@contextmanager
def linked(joined: Joined, log: Path) -> Iterator[psycopg.Connection]:
    """An open line to the shop, each statement a transaction of its own. Raises ShopFault, also
    for what goes wrong while it is used."""
    words = conninfo(joined, log)
    # A quarter of a second of imports, for who sends alone.
    import psycopg

    try:
        with psycopg.connect(**words, autocommit=True) as line:  # type: ignore[arg-type]  # as named
            found = line.execute("SELECT tables FROM cartclock.version").fetchone()
            if found is None or found[0] < TABLES_VERSION:
                raise ShopFault(
                    "The shop's tables are older than this program; its owner runs "
                    "cartclock shop tables of this version."
                )
            yield line
    except psycopg.Error as error:
        raise shop_fault(error) from error
