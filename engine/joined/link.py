"""The way to a shop's server: where it is, as which cart, and how the line is kept honest."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING

from cartclock.engine.joined.faults import ShopFault, shop_fault
from cartclock.engine.joined.membership import Joined, passfile, root_certificate
from cartclock.engine.joined.tables import TABLES_VERSION

if TYPE_CHECKING:
    import psycopg

# Seconds; a line that is dead is told by one of them, common practice, no source.
_CONNECT_S = 5
_SESSION = (
    "-c statement_timeout=60s -c lock_timeout=10s -c idle_in_transaction_session_timeout=60s "
    "-c idle_session_timeout=120s"
)


def conninfo(joined: Joined, log: Path) -> dict[str, str | int]:
    """The words of a connection (PostgreSQL manual, 34.1.2)."""
    hosts = [host for host, _port in joined.hosts]
    words: dict[str, str | int] = {
        "host": ",".join(hosts),
        "port": ",".join(port for _host, port in joined.hosts),
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


def tables_version(line: psycopg.Connection) -> int:
    """Of which version the shop's tables are. Raises ShopFault where they do not say."""
    found = line.execute("SELECT tables FROM cartclock.version").fetchone()
    if found is None:
        raise ShopFault("The shop's tables are not whole; its owner runs cartclock shop tables.")
    version: int = found[0]
    return version


def about_tables(line: psycopg.Connection) -> str:
    """What does not go because the shop's tables are older than this program, a sentence; "" if
    they are not. Newer ones still know what this program asks of them."""
    version = tables_version(line)
    if version >= TABLES_VERSION:
        return ""
    return (
        f"The shop's tables are of version {version}, this program knows {TABLES_VERSION}: what "
        "they have no place for stays on this cart until their owner runs cartclock shop tables "
        "of this program."
    )


@contextmanager
def linked(joined: Joined, log: Path) -> Iterator[psycopg.Connection]:
    """An open line to the shop, each statement a transaction of its own. Raises ShopFault, also
    for what goes wrong while it is used."""
    words = conninfo(joined, log)
    # A quarter of a second of imports, for who sends alone.
    import psycopg

    try:
        with psycopg.connect(**words, autocommit=True) as line:  # type: ignore[arg-type]  # as named
            tables_version(line)
            yield line
    except psycopg.Error as error:
        raise shop_fault(error) from error
