"""`cartclock shop` as its owner types it: joined, sent, asked, left; and what is refused."""

from __future__ import annotations

import json
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.rules.amending import amend
from cartclock.engine.store.clock import SystemClock
from cartclock.tui.commands.group import commands
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
    return cartclock(home, "shop", *words, typed=typed)


def cartclock(home: Home, *words: str, typed: str = "") -> tuple[int, str, str]:
    """Exit code, stdout and stderr of `cartclock WORDS`."""
    done = CliRunner().invoke(commands, list(words), input=typed, env={"CARTCLOCK_HOME": str(home)})
    return done.exit_code, done.stdout, done.stderr


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
    assert not [*home.glob("shop*")]
    code, _said, fault = shop(home, "push")
    assert (code, fault) == (
        1, "This cart belongs to no shop; cartclock shop join says to which it does.\n"
    )  # fmt: skip


def test_private_text_is_shared_found_and_forgotten_on_both_carts(
    home: Home, server: Postgres, tmp_path: Path
) -> None:
    bench = Bench.open(home / "log.db", SystemClock(), "Ines")
    job = next(iter(bench.jobs))
    bench.do(amend, job, ev.JobAmended("customer", bench.seal("Zephyrine Oddlington")))
    number = bench.jobs[job].opened.number
    bench.close()
    server.add_cart("shares-1", "shares")
    where = ("--server", f"127.0.0.1:{server.port}", "--cart", "shares-1")
    assert shop(home, "join", *where, "--private", typed="shares-1\n")[0] == 0
    assert shop(home, "push")[1].splitlines()[1:] == ["1 private text sent."]
    code, said, _fault = shop(home, "card", "zephyrine")
    assert (code, said.splitlines()[1]) == (0, "    customer: Zephyrine Oddlington")
    assert f"job {number} of cart shares-1, open, hands " in said.splitlines()[0]
    (card,) = json.loads(shop(home, "card", "ZEPH", "--json")[1])
    assert card["private"] == [["customer", "Zephyrine Oddlington"]]
    assert shop(home, "card", "ze")[0] == 2
    # The same log on another computer, with the text in it.
    other = tmp_path / "other"
    other.mkdir()
    for name in ("log.db", "shop.json", "shop.pass", "settings.toml"):
        shutil.copy2(home / name, other / name)
    assert shop(other, "forget", "--yes")[1] == (
        "Nothing that was forgotten in the shop is held here.\n"
    )
    # Without the shop it is forgotten here, and said that it is not yet forgotten there.
    members = (home / "shop.json").read_text()
    (home / "shop.json").write_text(members.replace(f":{server.port}", ":1"))
    code, said, fault = cartclock(home, "forget", str(number), "--yes")
    assert (code, said.split(".")[0]) == (1, "Forgotten")
    assert "The shop may hold it still and forgets it with the next sending." in fault
    (home / "shop.json").write_text(members)
    assert json.loads(shop(home, "card", "ZEPH", "--json")[1]) != []
    assert "The shop forgot 1 of the private texts" in shop(home, "push")[1]
    assert json.loads(shop(home, "card", "ZEPH", "--json")[1]) == []
    assert shop(home, "card", "ZEPH")[0] == 1
    assert shop(other, "forget") == (
        1, "", "Nothing was forgotten; --yes does it without a question.\n"
    )  # fmt: skip
    assert b"Oddlington" in (other / "log.db").read_bytes()
    assert shop(other, "forget", "--yes")[1].startswith("1 private text forgotten. ")
    assert b"Oddlington" not in (other / "log.db").read_bytes()


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
