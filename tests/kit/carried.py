"""Two laptops: what the one tells of a job it exported, as the other should tell it."""

from __future__ import annotations

import random
import sqlite3
import tempfile
from collections.abc import Collection
from contextlib import closing
from pathlib import Path
from typing import Any

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.copies import Copies
from cartclock.engine.desk.exchange import Exported, export_job
from cartclock.engine.desk.past import Past
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.paper.papers import BINARY, PAPERS
from cartclock.engine.record.record import Record
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.log import Log
from cartclock.engine.store.settings import Settings
from cartclock.engine.store.views.films import FILMS
from cartclock.engine.store.views.products import PRODUCTS
from cartclock.engine.store.views.shifts import SHIFTS
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused
from tests.kit.blank import bench_at
from tests.kit.day import COAT, START_US
from tests.kit.plans import opening


def laptop(folder: Path, seed: int = 99) -> Bench:
    """Another laptop, whose worker goes by the same name and is on the clock with a job."""
    folder.mkdir(parents=True, exist_ok=True)
    clock = HandClock(START_US + 120_000_000)
    bench = bench_at(folder / "log.db", clock, "me", random.Random(seed).randbytes)
    bench.do(rules.open_job, bench.new_id(), opening(COAT))
    bench.do(rules.clock_on, ev.ClockedOn("yard"))
    bench.do(packs.open_pack, ev.PackOpened("coat", 30.0, lot="Z9"))
    return bench


def out(bench: Bench, handle: str, private: bool = False) -> Exported:
    """A job exported as the command does it."""
    shop = Shop(bench.log, library=bench.library)
    return export_job(shop, handle, bench.now_us, private)


def refs_of(db: sqlite3.Connection) -> set[str]:
    """References to the private texts that a log holds."""
    return {ref for (ref,) in db.execute("SELECT ref FROM private")}


def record_without(log: Log, job: str, now_us: Instant, held: Collection[str]) -> Record:
    """What a log tells of a job where of all private texts only those are held."""
    with tempfile.TemporaryDirectory() as folder:
        to = Path(folder) / "log.db"
        log.backup(to)
        with closing(sqlite3.connect(to)) as db:
            gone = refs_of(db) - set(held)
            db.executemany("DELETE FROM private WHERE ref = ?", [(ref,) for ref in gone])
            db.commit()
        with Log.open(to) as copy:
            return Shop(copy).record(job, now_us)


def forms_of(shop: Shop, folder: Path, handle: str, now_us: Instant) -> dict[str, bytes]:
    """Every paper of a job in every form that is text."""
    copies = Copies(shop, Settings(), folder, lambda: now_us)

    def copy(name: str, form: str) -> bytes:
        try:
            return copies.copy(name, handle, form)
        except Refused as no:
            return str(no).encode()

    return {
        f"{name}.{form}": copy(name, form)
        for name, paper in PAPERS.items()
        if paper.of == "job"
        for form in paper.forms
        if form not in BINARY
    }


def own_things(bench: Bench) -> list[Any]:
    """What a laptop says of its own hours, stock and learning."""
    shop, library = Shop(bench.log, library=bench.library), bench.library
    past = Past(library)
    return [
        dict(bench.jobs),
        dict(bench.shifts),
        bench.moves(),
        bench.questions(),
        bench.partition(),
        bench.now_us,
        shop.next_number(),
        shop.stock(),
        shop.day("2026-09-21", "UTC", bench.now_us),
        shop.acclimatization("me", bench.now_us, "UTC"),
        shop.recent("me", bench.now_us),
        shop.interrupted("me"),
        shop.lessons("me", "coat"),
        dict(FILMS.own(library, "me")),
        PRODUCTS.known(library),
        SHIFTS.by_week(library, "me", "2000-01-01", "2099-01-01"),
        SHIFTS.usual_hours(library, "me"),
        past.products("2000-01", "2099-12"),
        past.money(),
        past.stages("coat"),
        bench.newest_press("helper"),
    ]
