"""A log as a program leaves it that was killed, and what a disk can do to its files.

Everything in it is invented and synthetic. All chance comes from a seed.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from cartclock.engine.facts import events as ev
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.whole_copy import read_only
from tests.kit.films import Films, coat

# Of what the files hold, what somebody would miss. Of the heartbeat that is how far it is ahead of
# the newest press; and when a cart was begun is asked by nobody.
MISSED = {
    "rows": "*",
    "private": "*",
    "plan_text": "*",
    "job_summary": "*",
    "shift_summary": "*",
    "asking": "*",
    "cart": "origin",
    "heartbeat": "max(at_us, (SELECT max(entered_us) FROM rows NOT INDEXED))",
}
WHO = ("Zephyrine Quillfeather", "ZQ 4711", "+00 555 0199")


def killed_log(folder: Path) -> Path:
    """Puts a log into a folder, with its write-ahead file and its history, that nobody closed."""
    work = folder / "work"
    work.mkdir(parents=True)
    films = Films(work, coat(sections=("roof", "bonnet")))
    bench, clock, job = films.bench, films.clock, films.job
    text = "format = 1\n# the plan as it was typed\n"
    customer, plate, phone = (bench.seal(one) for one in WHO)
    opened = ev.JobOpened(
        bench.jobs[job].opened.plan, bench.keep_plan(text), 2, "white van ł",
        customer=customer, plate=plate, phone=phone,
    )  # fmt: skip
    bench.do(rules.open_job, bench.new_id(), opened)
    bench.do(packs.open_pack, ev.PackOpened("coat", 30, lot="A17"))
    films.read()
    films.film(45)
    bench.do(rules.note_job, job, ev.NoteWritten(bench.seal("swirls on the left"), private=True))
    bench.undo()
    films.film(50)
    bench.library.slice(60)
    bench.library.settle()
    bench.log._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    bench.do(rules.note_shift, ev.DrinkTaken(250))
    clock.wind(60)
    bench.tick()
    bench.beat()
    bench.do(rules.note_shift, ev.DrinkTaken(100))
    clock.wind(45)
    bench.log.ask('{"rule_id":"gate"}')
    left = folder / "cart"
    shutil.copytree(work, left)
    bench.close()
    shutil.rmtree(work)
    return left / "log.db"


def copied(log: Path, to: Path) -> Path:
    """The log with all that lies beside it, in another folder; where it is then."""
    shutil.rmtree(to, ignore_errors=True)
    shutil.copytree(log.parent, to)
    return to / log.name


def dump(log: Path) -> dict[str, list[tuple[Any, ...]]]:
    """What somebody would miss, as it can be read. Raises sqlite3.Error."""
    with closing(read_only(log)) as db:
        return {
            table: sorted(db.execute(f"SELECT {columns} FROM {table} NOT INDEXED"), key=repr)
            for table, columns in MISSED.items()
        }


def flips(log: Path, count: int, seed: int) -> Iterator[str]:
    """Changes one bit after the other of the files beside a log, each time of whole ones.

    Yields what was changed; the bit is as it was when the next is asked for.
    """
    chance = random.Random(seed)
    files = [path for path in sorted(log.parent.iterdir()) if not path.name.endswith("-shm")]
    whole = {path: path.read_bytes() for path in log.parent.iterdir()}
    for number in range(count):
        # Each file as often as the others: the large one would have nearly all.
        path = files[number % len(files)]
        bit = chance.randrange(8 * len(whole[path]))
        data = bytearray(whole[path])
        data[bit // 8] ^= 1 << bit % 8
        path.write_bytes(data)
        yield f"bit {bit % 8} of byte {bit // 8} of {path.name}"
        for other in log.parent.iterdir():
            if other not in whole:
                other.unlink()
        for other, content in whole.items():
            other.write_bytes(content)


def changed(log: Path, statement: str) -> None:
    """Changes the log as nobody may, its triggers left out."""
    with closing(sqlite3.connect(log, isolation_level=None)) as db:
        triggers = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
        kept = triggers.fetchall()
        for name, _sql in kept:
            db.execute(f"DROP TRIGGER {name}")
        db.execute(statement)
        for _name, sql in kept:
            db.execute(sql)
