"""Packs on the disk: rows without shift and job survive, and the shop reads no more than is new."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from fractions import Fraction
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft, believed_rows
from cartclock.engine.facts.turn import Turn
from cartclock.engine.press import Press
from cartclock.engine.products.consumption import uses
from cartclock.engine.products.stock import pack_log, stock
from cartclock.engine.products.supply import stock_notices
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.codec import decode
from cartclock.engine.store.views.stocked import BLOCK_US
from cartclock.engine.trouble import Asks, Refused
from tests.kit.day import Day, from_scratch
from tests.kit.reckoner import SECOND_US
from tests.kit.viewed import make_all


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
    assert Shop(bench.log).stock().items["coat"].pack is None
    bench.restore(opened.press)
    bench.restore(weighed.press)
    assert Shop(day.again().log).stock().items["coat"] == before
    assert day.bench.log.check() == []


def test_a_pack_can_be_moved_in_time(day: Day) -> None:
    day.clock.wind(600)
    opened = day.bench.do(packs.open_pack, PACK)
    at_us = opened.rows[0].at_us
    day.bench.move(opened.press, at_us - 300 * SECOND_US)
    found, own = pack_log(believed_rows(day.again().log.cart_rows())), day.bench.log.origin
    assert found.lot_at("coat", at_us - 300 * SECOND_US, own) == "A17"
    assert found.lot_at("coat", at_us - 301 * SECOND_US, own) == ""


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
    shop, log = Shop(day.bench.log, library=day.bench.library), day.bench.log
    day.bench.do(packs.open_pack, PACK)
    for _ in range(6):
        shop.stock()
        day.take(60)
    whole: list[str] = []
    for name in ("rows_of", "all_rows", "cart_rows"):
        monkeypatch.setattr(log, name, lambda *_args, name=name, **_facts: whole.append(name))
    held = shop.stock()
    assert shop.stock() is held
    monkeypatch.undo()
    assert whole == []
    assert held.items == stock(log.all_rows()).items
    day.bench.undo()
    assert shop.stock().items == stock(log.all_rows()).items


@pytest.mark.parametrize("settled", [0, 1, 3, 7])
def test_however_much_is_settled_the_stock_is_the_same(day: Day, settled: int) -> None:
    shop, presses = Shop(day.bench.log, library=day.bench.library), []
    day.bench.do(packs.open_pack, PACK)
    acts = random.Random(settled)
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
        if settled and number % settled == 0:
            day.bench.library.settle()
        told = stock(day.bench.log.all_rows())
        assert shop.stock().items == told.items, number
    assert Shop(day.again().log, library=day.bench.library).stock().items == told.items


@pytest.mark.parametrize("settled", [1, 4, 1000])
def test_a_job_finds_the_packs_it_used_as_they_were_ever_told(day: Day, settled: int) -> None:
    """Packs are opened late, struck, restored and moved; a paper made earlier is made again."""
    log, acts, presses = day.bench.log, random.Random(7), []
    shop = Shop(log, library=day.bench.library)
    # Opened on the clock they would come along with their shift.
    day.bench.do(rules.clock_off)
    for lot in ("first", "second", "third"):
        presses.append(day.bench.do(packs.open_pack, replace(PACK, lot=lot)).press)
        day.clock.wind(600)
    day.bench.do(rules.clock_on, ev.ClockedOn("carport"))
    # What it uses comes from packs that were opened long before.
    later = day.open_job(1)
    for number in range(60):
        day.clock.wind(40)
        pack = replace(PACK, lot=f"lot {number}")
        one = acts.choice(presses[: acts.choice((3, 60))])
        with suppress(Refused, Asks):
            match acts.randrange(10):
                case 0:
                    presses.append(day.bench.do(packs.open_pack, pack).press)
                case 1:
                    done = day.bench.do_as(
                        "me", acts.randrange(2000) * SECOND_US, packs.open_pack, pack
                    )
                    presses.append(done.press)
                case 2:
                    day.bench.strike(one)
                case 3:
                    day.bench.restore(one)
                case 4:
                    to_us = day.bench.now_us - acts.randrange(300) * SECOND_US
                    day.bench.move(one, to_us)
                case 5 | 6:
                    day.bench.do(rules.note_job, later, ev.UseCorrected("coat", 1.0))
                case _:
                    presses.append(day.take(0))
        if number % settled == 0:
            day.bench.library.settle()
        if number % 6:
            continue
        rows = log.all_rows()
        found = {id_: shop.rows(id_, day.bench.now_us) for id_ in (day.job, later)}
        for end in {row.press.seq for row in rows}:
            then = [row for row in rows if row.seq < end]
            for id_, job in from_scratch(then)[0].items():
                told = pack_log(believed_rows([row for row in found[id_] if row.seq < end]))
                assert uses(job, told) == uses(job, pack_log(believed_rows(then))), (number, end)


def test_what_is_drawn_in_months_is_added_up_exactly(tmp_path: Path) -> None:
    """Weighed never, before all and in the middle; one job goes on through all of them."""
    day = Day(tmp_path)
    library, log = day.bench.library, day.bench.log
    shop = Shop(log, library=library)

    def used(job: str, amount: float) -> Press:
        use = ev.ProductUsed("Coat", ("bonnet left",), Turn(), {"coat": amount})
        day.clock.wind(60)
        return day.bench.do(lambda _scene: (Draft(use, job),)).press

    def same() -> None:
        for _ in range(2):
            assert shop.stock().items == stock(log.all_rows()).items
            library.settle()

    day.bench.do(packs.open_pack, PACK)
    weighings, uses_ = [], []
    for number in range(8):
        uses_.append(used(day.job, 10.5 + number))
        weighings.append(day.bench.do(packs.weigh, ev.PackWeighed("coat", 900.0 - number)).press)
        own = day.open_job(0)
        uses_ += [used(own, 0.1 * number + 3) for _ in range(3)]
        day.clock.wind(BLOCK_US * 3 // 5_000_000)
    same()
    blocks = library.rows("SELECT begins, ends FROM drawn_block")
    assert len({begins for begins, _ends in blocks}) > 3
    assert any(begins < ends for begins, ends in blocks)
    for press in (uses_[5], uses_[0], uses_[-1], *reversed(weighings)):
        day.bench.strike(press)
        same()
    for press in (weighings[2], uses_[0], weighings[5], uses_[5]):
        day.bench.restore(press)
        same()
    held = "SELECT product, unit, den, sum(num), sum(times) FROM {} GROUP BY 1, 2, 3"
    assert library.rows(held.format("drawn_block")) == library.rows(held.format("drawn"))
    day.bench.close()


def test_an_amount_too_fine_for_the_files_whole_numbers_is_added_exactly(day: Day) -> None:
    shop = Shop(day.bench.log, library=day.bench.library)
    day.bench.do(packs.weigh, ev.PackWeighed("coat", 21.5))
    assert shop.stock().items["coat"].left == Fraction(43, 2)
    fine = ev.UseCorrected("coat", 1.2345678901234567, "by the scale")
    day.bench.do(rules.note_job, day.job, fine)
    wanted = Fraction(43, 2) - Fraction("1.2345678901234567") / 20
    for settled in (False, True):
        assert shop.stock().items["coat"].left == wanted, settled
        day.bench.library.settle()


def test_while_jobs_are_still_to_be_read_nothing_is_said_of_what_is_left(day: Day) -> None:
    day.bench.do(packs.open_pack, PACK)
    day.bench.do(packs.weigh, ev.PackWeighed("coat", 21.5))
    for _ in range(4):
        day.take(60)
    told = stock(day.bench.log.all_rows()).items["coat"]
    day.bench.close()
    day.bench.library.history.path.unlink()
    shop = Shop(day.again().log, library=day.bench.library)
    found = shop.stock().items["coat"]
    assert (found.unread, found.left, found.pack) == (1, None, told.pack)
    assert stock_notices(shop.stock(), day.bench.jobs, day.bench.now_us) == ()
    assert day.bench.known_products is None
    make_all(day.bench.library)
    assert shop.stock().items["coat"] == told
    assert day.bench.known_products is not None


def test_a_late_entry_with_several_times_moves_as_a_whole(day: Day) -> None:
    """A press is moved by its first row, which need not be one that the stock speaks of."""
    from cartclock.engine.rules import changes

    day.clock.wind(3600)
    now_us = day.bench.now_us
    stretch = (now_us - 3000 * SECOND_US, now_us - 2400 * SECOND_US)
    filled = day.bench.do(changes.fill_in, day.job, "Fallout", ("left", "right"), *stretch)
    assert len({row.at_us for row in filled.rows}) > 1
    day.bench.move(filled.press, stretch[0] + 60 * SECOND_US)
    found = Shop(day.bench.log).stock()
    assert found.items == stock(day.bench.log.all_rows()).items


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
