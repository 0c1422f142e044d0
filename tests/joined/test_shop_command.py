"""`cartclock shop` as its owner types it: joined, sent, asked, left; and what is refused."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from tests.kit.day import Day
from tests.kit.postgres import Postgres

Home = Path


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """The folder of a cart with a day's beginning on it, whose worker has a name."""
    day = Day(tmp_path)
    for _ in range(3):
        day.take(60)
    day.bench.close()
    (tmp_path / "settings.toml").write_text('worker = "Ines"\nzone = "UTC"\n')
    return tmp_path


def shop(home: Home, *words: str, typed: str = "") -> tuple[int, str, str]:
    """Exit code, stdout and stderr of `cartclock shop WORDS`."""
    done = subprocess.run(
        [sys.executable, "-m", "cartclock", "shop", *words],
        env={**os.environ, "CARTCLOCK_HOME": str(home)},
        input=typed,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout, done.stderr


def test_a_cart_joins_sends_asks_and_leaves(home: Home, server: Postgres) -> None:
    server.add_cart("typed-1", "typed")
    where = ("--server", f"127.0.0.1:{server.port}", "--cart", "typed-1")
    code, said, fault = shop(home, "join", *where, typed="typed-1\n")
    assert (code, fault) == (0, "")
    assert said.startswith("This cart belongs to the shop at 127.0.0.1:")
    for name in ("shop.pass", "shop.json"):
        assert stat.S_IMODE((home / name).stat().st_mode) == 0o600
    assert shop(home, "push")[1] == "8 rows sent; the shop has 8, all of this cart's log.\n"
    assert shop(home, "push")[1] == "0 rows sent; the shop has 8, all of this cart's log.\n"
    code, said, _fault = shop(home, "hours", "--json")
    (line,) = json.loads(said)
    assert (code, line["shop"], line["shifts"]) == (0, "typed", 1)
    code, said, _fault = shop(home, "carts")
    assert said.splitlines()[0].split() == ["shop", "cart", "rows", "heard", "skew", "s", "program"]
    assert said.splitlines()[1].split()[:3] == ["typed", "typed-1", "8"]
    assert shop(home, "hours", "--from", "2100-01-01")[0] == 1
    assert shop(home, "hours", "--from", "soon")[0] == 2
    assert shop(home, "leave")[1] == "This cart belongs to no shop any more.\n"
    assert not (home / "shop.pass").exists()
    code, _said, fault = shop(home, "push")
    assert (code, fault) == (
        1, "This cart belongs to no shop; cartclock shop join says to which it does.\n"
    )  # fmt: skip


def test_a_wrong_password_is_told_and_nothing_is_sent(home: Home, server: Postgres) -> None:
    server.add_cart("typed-2", "typed")
    where = ("--server", f"127.0.0.1:{server.port}", "--cart", "typed-2")
    code, said, fault = shop(home, "join", *where, typed="another\n")
    assert (code, said) == (1, "")
    assert fault.startswith("Nothing was sent to the shop: ")
    assert "typed-2" in fault


def test_a_worker_without_a_name_joins_no_shop(home: Home) -> None:
    (home / "settings.toml").unlink()
    code, _said, fault = shop(home, "join", "--server", "127.0.0.1", "--cart", "c", typed="p\n")
    assert code == 1
    assert fault.endswith('write the setting `worker` first, such as worker = "Ines".\n')


def test_the_tables_are_printed_for_their_owner() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "cartclock", "shop", "tables"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.startswith("-- The shop's side of cartclock")
    assert "CREATE TABLE IF NOT EXISTS job_line" in done.stdout
