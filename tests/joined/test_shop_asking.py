"""What the owner of a shop asks: every view and every option, as typed, of the days of a demo."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cartclock.demo_sessions.session import play
from cartclock.engine.dates import local
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.partition import told_to_us
from cartclock.engine.joined.asking import SHOP_QUESTIONS
from cartclock.engine.record.exposure import exposure_record
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.clock import SystemClock
from cartclock.engine.store.log import Log
from cartclock.engine.vehicle.vehicle import price_of, vehicle_record
from tests.joined.test_shop_command import shop
from tests.kit.day import PLANS, from_scratch
from tests.kit.postgres import Postgres

pytestmark = pytest.mark.long

NAME = "dry_heat_estate"
# Fallout remover on a section, ml, by the plan of the open job.
SPRAYED = 60.0
Asks = Callable[..., list[dict[str, Any]]]


@pytest.fixture(scope="module")
def home(server: Postgres, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cart with the days of a demo and a job that was begun behind them, in its shop."""
    folder = tmp_path_factory.mktemp("asked")
    play(NAME, folder=folder)
    bench = Bench.open(folder / "log.db", SystemClock(), "Ines")
    bench.do(packs.open_pack, ev.PackOpened("fallout", 500.0, "ml", "L7", price="12.50"))
    bench.do(packs.weigh, ev.PackWeighed("fallout", 400.0))
    bench.do(rules.open_job, bench.new_id(), ev.JobOpened(PLANS[0], "", 90, "blue estate", "UTC"))
    bench.do(rules.clock_on, ev.ClockedOn("carport"))
    for _ in range(2):
        bench.do(rules.take_up, bench.moves()[0], {"first_use": "said again"})
    bench.close()
    (folder / "settings.toml").write_text('worker = "Ines"\nzone = "Europe/Madrid"\n')
    server.add_cart("asks-1", "asked as typed")
    where = ("--server", f"127.0.0.1:{server.port}", "--cart", "asks-1")
    assert shop(folder, "join", *where, typed="asks-1\n")[0] == 0
    assert shop(folder, "push")[0] == 0
    return folder


@pytest.fixture(scope="module")
def asks(home: Path) -> Asks:
    """Asks a question as it is typed, with --json."""

    def asked(name: str, *options: str) -> list[dict[str, Any]]:
        code, said, fault = shop(home, name, "--json", *options)
        assert (code, fault) == (0, "")
        found: list[dict[str, Any]] = json.loads(said)
        return found

    return asked


@pytest.mark.parametrize("name", SHOP_QUESTIONS)
def test_each_question_has_its_days_and_its_json(home: Path, asks: Asks, name: str) -> None:
    every = asks(name)
    columns = list(SHOP_QUESTIONS[name].columns)
    assert every and all([*one] == columns for one in every)
    first, last = "0001-01-01", "9999-12-31"
    assert asks(name, "--from", first, "--to", last) == every
    assert asks(name, "--from", last) == asks(name, "--to", first) == []
    code, said, _fault = shop(home, name)
    # A line a row behind the heads.
    assert (code, len(said.splitlines())) == (0, len(every) + 1)
    assert shop(home, name, "--from", last)[0] == 1
    for wrong in ("--from", "--to"):
        assert shop(home, name, wrong, "soon")[0] == 2


@pytest.fixture(scope="module")
def folds(home: Path) -> tuple[dict[str, Job], dict[str, Shift]]:
    """The jobs and shifts by all rows of the log, folded anew one by one."""
    with Log.open_to_read(home / "log.db") as log:
        return from_scratch(log.all_rows())


Folds = tuple[dict[str, Job], dict[str, Shift]]


def test_heat_is_that_of_the_shifts(asks: Asks, folds: Folds) -> None:
    jobs, shifts = folds
    told: dict[str, Counter[str]] = {}
    for shift in shifts.values():
        year, week, _day = local(shift.on_us, shift.on.zone).isocalendar()
        sums = told.setdefault(f"{shift.worker} {year:04}-W{week:02}", Counter())
        heat = exposure_record(shift, jobs, told_to_us(shift))
        sums["shifts"] += 1
        sums["drinks_ml"] += heat.drinks.ml
        for one in heat.band_times:
            sums[f"{one.band}_us"] += one.length_us
    found = {f"{one['worker']} {one['week']}": one for one in asks("heat")}
    assert found.keys() == told.keys()
    for key, sums in told.items():
        for column in ("shifts", "drinks_ml", "caution_us", "over_us"):
            assert found[key][column] == sums[column], (key, column)
    for column in ("drinks_ml", "caution_us"):
        assert sum(one[column] for one in found.values()) > 0, "a demo that shows nothing"


def test_products_and_money_are_those_of_the_jobs(asks: Asks, folds: Folds) -> None:
    jobs, _shifts = folds
    applied: Counter[str] = Counter()
    for job in jobs.values():
        for row in job.facts:
            if isinstance(row.event, ev.ProductUsed):
                applied.update(row.event.amounts)
            elif isinstance(row.event, ev.UseCorrected):
                applied[row.event.product] += row.event.by
    told: Counter[str] = Counter()
    for one in asks("products"):
        told[one["product"]] += one["applied"]
    assert +told == pytest.approx(+applied)
    closed = [job for job in jobs.values() if job.state == "closed"]
    price = asks("price")
    assert sum(one["jobs"] for one in price) == len(closed)
    money = [
        amount + vehicle_record(job).extras_total
        for job in closed
        if (amount := price_of(job.opened.price)) is not None
    ]
    assert money and sum(one["money"] or 0 for one in price) == round(100 * sum(money))
    assert sum(one["hands_us"] for one in asks("stages")) == sum(one["hands_us"] for one in price)
    for one in price:
        if one["money"] is not None and one["jobs"] == 1:
            assert one["an_hour"] == round(one["money"] * 3.6e9 / one["work_us"])


def test_what_is_open_and_left_is_told(home: Path, asks: Asks, folds: Folds) -> None:
    jobs, _shifts = folds
    (here,) = (job for job in jobs.values() if job.state == "open")
    (open_,) = asks("jobs")
    assert (open_["number"], open_["done"], open_["sections"]) == (90, 0, len(here.sections))
    assert [one["closes_us"] for one in asks("windows")] == sorted(
        window.closes_us for window in here.running
    )
    left = [one["left"] for one in asks("stock") if one["product"] == "fallout"]
    assert left == [400.0 - SPRAYED]
    with Log.open_to_read(home / "log.db") as log:
        rows = log.head.seq + 1
    ((cart, told),) = [(one["cart"], one["rows"]) for one in asks("carts")]
    assert (cart, told) == ("asks-1", rows)
