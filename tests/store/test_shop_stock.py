"""Packs on the disk: rows without shift and job survive, and the shop reads no more than is new."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from fractions import Fraction
from pathlib import Path

import pytest

import engine.shop
from engine.clock import HandClock
from engine.job import events as ev
from engine.job import packs, rules
from engine.job.stock import STOCK_EVENTS, stock
from engine.shop import Shop
from engine.store.codec import decode
from engine.trouble import Asks, Refused
from tests.kit.day import Day
from tests.kit.reckoner import SECOND_US


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    """A job of fallout and coat, and the worker clocked off again."""
    day = Day(tmp_path)
    yield day
    day.bench.close()


PACK = ev.PackOpened("coat", 30.0, "ml", "A17", "2027-03-31", "60.00", "Small bottle")


def test_packs_off_the_clock_survive_a_restart_and_can_be_struck(day: Day) -> None:
    day.bench.do(rules.clock_off)
    opened = day.bench.do(packs.open_pack, PACK)
    weighed = day.bench.do(packs.weigh, ev.PackWeighed("coat", 21.5))
    assert {(row.shift, row.job) for row in (*opened.rows, *weighed.rows)} == {("", "")}
    before = Shop(day.bench.log).stock().items["coat"]
    assert (before.left, before.called) == (Fraction(43, 2), "Small bottle")
    bench = day.again()
    assert [row.event for row in bench.rows if type(row.event) in ev.CART_EVENTS] == [
        PACK, ev.PackWeighed("coat", 21.5),
    ]  # fmt: skip
    assert Shop(bench.log).stock().items["coat"] == before
    assert day.whole()
    # Undo takes back the weighing, then the pack, over two restarts.
    assert bench.undo().rows[0].event == ev.PressStruck(weighed.press.seq)
    bench = day.again()
    assert Shop(bench.log).stock().items["coat"].left is None
    assert bench.undo().rows[0].event == ev.PressStruck(opened.press.seq)
    bench = day.again()
    assert Shop(bench.log).stock().items["coat"].packs == ()
    bench.restore(opened.press)
    bench.restore(weighed.press)
    assert Shop(day.again().log).stock().items["coat"] == before
    assert day.bench.log.check() == []


def test_a_pack_can_be_moved_in_time(day: Day) -> None:
    day.clock.wind(600)
    opened = day.bench.do(packs.open_pack, PACK)
    at_us = opened.rows[0].at_us
    day.bench.move(opened.press, at_us - 300 * SECOND_US)
    found = Shop(day.again().log).stock()
    assert found.lot_at("coat", at_us - 300 * SECOND_US) == "A17"
    assert found.lot_at("coat", at_us - 301 * SECOND_US) == ""


def test_a_pack_of_the_first_version_still_reads() -> None:
    body = '{"content":50.0,"lot":"A17","product":"coat","unit":"ml"}'
    assert decode("PackOpened", 1, body) == ev.PackOpened("coat", 50.0, "ml", "A17")


def test_a_plan_of_the_first_version_still_reads(day: Day) -> None:
    row = next(row for row in day.bench.rows if isinstance(row.event, ev.JobOpened))
    with closing(sqlite3.connect(day.path)) as db:
        (body,) = db.execute("SELECT body FROM rows WHERE seq = ?", (row.seq,)).fetchone()
    assert '"drops_per_ml":null,' in body
    assert decode("JobOpened", 1, body.replace('"drops_per_ml":null,', "")) == row.event


def test_the_shop_goes_on_where_it_was(day: Day, monkeypatch: pytest.MonkeyPatch) -> None:
    shop, log = Shop(day.bench.log), day.bench.log
    day.bench.do(packs.open_pack, PACK)
    for _ in range(6):
        shop.stock()
        day.take(60)
    whole = []
    monkeypatch.setattr(log, "presses_with", lambda kinds: whole.append(kinds))
    held = shop.stock()
    assert shop.stock() is held
    assert whole == []
    told = stock(log.all_rows())
    assert (held.items, held.uses, held.plans) == (told.items, told.uses, told.plans)
    assert held.uses[day.job]
    day.bench.undo()
    told = stock(log.all_rows())
    assert (shop.stock().items, shop.stock().uses) == (told.items, told.uses)
    assert whole == []


@pytest.mark.parametrize("tail", [0, 1, 3, 7, 400])
def test_however_much_is_settled_the_stock_is_the_same(
    day: Day, monkeypatch: pytest.MonkeyPatch, tail: int
) -> None:
    monkeypatch.setattr(engine.shop, "_TAIL", tail)
    shop, presses = Shop(day.bench.log), []
    day.bench.do(packs.open_pack, PACK)
    acts = random.Random(tail)
    for number in range(60):
        day.clock.wind(30)
        match acts.randrange(6):
            case 0:
                left = ev.PackWeighed("coat", float(number))
                presses.append(day.bench.do(packs.weigh, left).press)
            case 1:
                presses.append(day.bench.do(packs.open_pack, PACK).press)
            case 2 if presses:
                press = acts.choice(presses)
                with suppress(Refused):
                    day.bench.strike(press)
            case 3 if presses:
                with suppress(Refused):
                    day.bench.restore(acts.choice(presses))
            case 4:
                with suppress(Refused):
                    day.bench.undo()
            case _:
                with suppress(Refused, Asks):
                    if day.bench.moves():
                        presses.append(day.take(0))
        told = stock(day.bench.log.all_rows())
        held = shop.stock()
        assert (held.items, held.uses) == (told.items, told.uses), number


def test_an_undo_of_a_press_without_products_tells_nothing_anew(
    day: Day, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = Shop(day.bench.log)
    day.bench.do(packs.open_pack, PACK)
    shop.stock()
    told: list[int] = []
    monkeypatch.setattr(engine.shop, "stock", lambda rows: told.append(len(rows)))
    day.bench.do(rules.note_shift, ev.DrinkTaken(250))
    shop.stock()
    day.bench.undo()
    shop.stock()
    day.bench.undo()
    assert shop.stock().items["coat"].packs == ()
    assert told == []


def test_rows_of_other_kinds_are_not_kept(day: Day) -> None:
    shop = Shop(day.bench.log)
    for ml in range(1, 20):
        day.bench.do(rules.note_shift, ev.DrinkTaken(ml))
        shop.stock()
    assert all(isinstance(row.event, STOCK_EVENTS) for row in shop._stocked.rows)


def test_a_late_entry_with_several_times_moves_as_a_whole(day: Day) -> None:
    """A press is moved by its first row, which need not be one that the stock speaks of."""
    from engine.job import changes

    day.clock.wind(3600)
    now_us = day.bench.now_us
    stretch = (now_us - 3000 * SECOND_US, now_us - 2400 * SECOND_US)
    filled = day.bench.do(changes.fill_in, day.job, "Fallout", ("left", "right"), *stretch)
    assert len({row.at_us for row in filled.rows}) > 1
    day.bench.move(filled.press, stretch[0] + 60 * SECOND_US)
    found = Shop(day.bench.log).stock()
    assert (found.items, found.uses) == (
        stock(day.bench.log.all_rows()).items,
        stock(day.bench.log.all_rows()).uses,
    )


def test_the_record_has_lots_and_cost(day: Day) -> None:
    day.bench.do(packs.open_pack, ev.PackOpened("fallout", 1000.0, "ml", "A17", price="10"))
    for _ in range(3):
        day.take(60)
    (fallout,) = Shop(day.bench.log).record("1", day.bench.now_us).products
    assert (fallout.applied, fallout.cost) == (120, Fraction(6, 5))
    assert [lot.lot for lot in fallout.lots] == ["A17"]


def test_another_clock_changes_nothing(tmp_path: Path) -> None:
    day = Day(tmp_path)
    day.bench.do(packs.weigh, ev.PackWeighed("coat", 21.5))
    assert isinstance(day.clock, HandClock)
    day.clock.set_wall(-7200)
    day.clock.reboot("boot-2")
    bench = day.again()
    bench.do(packs.open_pack, PACK)
    assert Shop(bench.log).stock().items["coat"].left == Fraction(103, 2)
    bench.close()
