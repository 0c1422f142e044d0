"""Every block of the page for the owner of a shop, run in its order as it stands there."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from cartclock.engine.rules import holding, rules
from tests.house.test_docs import typed
from tests.kit.day import Day
from tests.kit.on_path import cartclock_on_path
from tests.kit.postgres import Postgres
from tests.kit.reckoner import SECOND_US

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "engine/joined/SHOP.md"
BLOCK = re.compile(r"(?m)^```(console|sql)\n(.*?)^```$", re.S)
# What is another one here: the host, and the name of the database, for one called shop is there.
HOST, DATABASE = "db.shop.example", "manual"
# And the numbers of the job and of the part of it on a third cart, the other cart, and the stick.
JOB, PART, OTHER, STICK = " 3", " 5", "4f1c", "/media/stick"


@pytest.fixture
def blank(server: Postgres) -> Iterator[Postgres]:
    """The server; the database and the logins of the page are taken away in the end."""
    yield server
    text = PAGE.read_text(encoding="utf-8")
    with server.owner("postgres") as owner:
        owner.execute(f"DROP DATABASE IF EXISTS {DATABASE} WITH (FORCE)".encode())
        for name in re.findall(r"CREATE ROLE (\S+)", text):
            owner.execute(f"DROP ROLE IF EXISTS {name}".encode())


@pytest.mark.long
@pytest.mark.skipif(
    not all(map(shutil.which, ("sh", "createdb", "psql"))), reason="no client of PostgreSQL is here"
)
def test_the_owner_of_a_shop_makes_it_by_these_blocks(blank: Postgres, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    # An hour ago by the clock that the commands go by.
    begun_us = time.time_ns() // 1000 - 3600 * SECOND_US
    day = Day(home, start_us=begun_us)
    day.take(60)
    # What is in hand keeps a job where it is.
    day.bench.do(rules.put_down)
    whole = day.job
    day.bench.close()
    away = tmp_path / "away"
    away.mkdir()
    other = Day(away, seed=1, start_us=begun_us)
    identity = other.bench.log.origin
    other.bench.close()
    beside = tmp_path / "beside"
    beside.mkdir()
    third = Day(beside, seed=2, start_us=begun_us)
    third.take(60)
    third.bench.do(holding.say_part, third.job, whole)
    of_part = third.bench.log.origin
    third.bench.close()
    (home / "settings.toml").write_text('worker = "Ines"\nzone = "UTC"\n')
    text = PAGE.read_text(encoding="utf-8")
    found = BLOCK.findall(text)
    assert {language for language, _block in found} == {"console", "sql"}
    assert text.count("\n```\n") == len(found)
    environment = {
        **os.environ,
        "PATH": cartclock_on_path(tmp_path),
        "CARTCLOCK_HOME": str(home),
        "PGHOST": "127.0.0.1",
        "PGPORT": str(blank.port),
        "PGUSER": "owner",
    }

    def run(words: list[str], given: str) -> str:
        done = subprocess.run(
            words, input=given, env=environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, (words, done.stdout, done.stderr)
        return done.stdout

    said = ""
    for language, block in found:
        if language == "sql":
            run(["psql", "-v", "ON_ERROR_STOP=1", DATABASE], block)
            continue
        for line in typed(block):
            here = re.sub(r"\b(createdb|psql .*) shop$", rf"\1 {DATABASE}", line)
            if HOST in here:
                here = here.replace(HOST, f"127.0.0.1:{blank.port}") + f" --database {DATABASE}"
            # Over the shop the job is taken back here; from the stick the other cart takes it.
            cart = away if "take --file" in here else beside if PART in here else home
            environment["CARTCLOCK_HOME"] = str(cart)
            here = here.replace(JOB, " 1").replace(PART, " 1").replace(OTHER, identity[:8])
            here = here.replace(STICK, str(tmp_path))
            (password,) = re.findall(r'"north-1" .*PASSWORD \'(.*?)\'', text)
            said += run(["sh", "-c", f"set -eu; {here}"], f"{password}\n")
    # Both papers of a vehicle have the part that came on the stick.
    for paper in ("VEHICLE RECORD", "FOR THE CUSTOMER, ALL PARTS"):
        assert f"The part on cart {of_part[:8]}" in said.partition(paper)[2]
    assert re.search(r"\d+ rows sent; the shop has \d+, all of this cart's log\.", said)
    # The login of the reader sees the cart, and nothing else of the server.
    reader = {"PGUSER": "office", "PGPASSWORD": "another one"}
    environment |= reader
    seen = run(["psql", "-At", DATABASE, "-c", "SELECT shop, cart FROM cartclock.carts_heard"], "")
    assert seen == "north|north-1\n"
