"""Several PostgreSQL servers that are one shop's: shops placed on nodes, and a standby."""

from __future__ import annotations

import os
import subprocess
import tempfile
import time
from pathlib import Path

import psycopg

from cartclock.engine.joined.tables import FIGURE_TABLES, STOCK, WINDOWS, tables_sql
from tests.kit.postgres import Postgres, free_port, system_bin, wheel_bin

# What grows with the rows; the lock of a push stays in front of the nodes.
ON_NODES = ("rows", *FIGURE_TABLES, WINDOWS, STOCK)


def bin_with(extension: str) -> Path | None:
    """The programs of the package, else those of the system, that bring an extension."""
    for programs in filter(None, (wheel_bin(), system_bin())):
        asked = [programs / "pg_config", "--sharedir"]
        shared = subprocess.run(asked, capture_output=True, text=True, check=True).stdout.strip()
        if Path(shared, "extension", f"{extension}.control").exists():
            return programs
    return None


class Nodes(Postgres):
    """A server in front, and behind it nodes on which the shops are placed: the partitions of what
    grows are foreign tables (PostgreSQL manual, F.36).

    Its nodes let in whoever the server in front does, as their owner: which shop is whose is
    decided in front. No commit goes over both, so it shows that nothing crosses shops, and no
    more.
    """

    def __init__(self, programs: Path, many: int) -> None:
        super().__init__(programs)
        self.nodes = [Postgres(programs) for _ in range(many)]
        with self.owner() as owner, owner.transaction():
            owner.execute("CREATE EXTENSION postgres_fdw; SET LOCAL search_path = cartclock")
            for at, node in enumerate(self.nodes):
                owner.execute(
                    f"CREATE SERVER node_{at} FOREIGN DATA WRAPPER postgres_fdw OPTIONS (host"
                    f" '127.0.0.1', port '{node.port}', dbname 'shop', batch_size '1000')".encode()
                )
                owner.execute(
                    f"CREATE USER MAPPING FOR PUBLIC SERVER node_{at}"
                    " OPTIONS (user 'owner', password_required 'false')".encode()
                )
            for table in ON_NODES:
                owner.execute(
                    f"CREATE TABLE anew (LIKE {table} INCLUDING DEFAULTS) PARTITION BY HASH (shop);"
                    f"DROP TABLE {table} CASCADE; ALTER TABLE anew RENAME TO {table}".encode()
                )
                for at in range(many):
                    owner.execute(
                        f"CREATE FOREIGN TABLE {table}_on_{at} PARTITION OF {table}"
                        f" FOR VALUES WITH (MODULUS {many}, REMAINDER {at}) SERVER node_{at}"
                        f" OPTIONS (schema_name 'cartclock', table_name '{table}')".encode()
                    )
            # Views, rights and row security, of the tables as they are now.
            owner.execute(tables_sql().encode())

    def close(self) -> None:
        super().close()
        for node in self.nodes:
            node.close()


class Standby(Postgres):
    """A copy of a server that follows it; what the server acknowledges is on the disk of both."""

    def __init__(self, primary: Postgres) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="standby-"))
        self._who, self._programs = primary._who, primary._programs
        if self._who is not None:
            os.chown(self.folder, self._who.pw_uid, self._who.pw_gid)
        self.port, self.data = free_port(), self.folder / "data"
        self._run("pg_basebackup", "-D", str(self.data), "-h", "127.0.0.1", "-p",
                  str(primary.port), "-U", "owner", "-R", "-c", "fast", "--no-sync")  # fmt: skip
        with (self.data / "postgresql.auto.conf").open("a") as file:
            # It waits for nobody once it is the one that is written to.
            file.write(f"port = {self.port}\nsynchronous_standby_names = ''\n")
        self.start()
        with primary.owner("postgres") as owner:
            owner.execute("ALTER SYSTEM SET synchronous_standby_names = '*'")
            owner.execute("SELECT pg_reload_conf()")
            self.wait(owner, "SELECT bool_or(sync_state = 'sync') FROM pg_stat_replication")

    def promote(self) -> None:
        """From here on it is the one that is written to."""
        with self.owner("postgres") as owner:
            owner.execute("SELECT pg_promote(true)")
            self.wait(owner, "SELECT NOT pg_is_in_recovery()")

    @staticmethod
    def wait(owner: psycopg.Connection, asked: str) -> None:
        """Asks until the answer is true; raises TimeoutError after twenty seconds."""
        end = time.monotonic() + 20
        while owner.execute(asked.encode()).fetchone() != (True,):
            if time.monotonic() > end:
                raise TimeoutError(asked)
            time.sleep(0.02)
