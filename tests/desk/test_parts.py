"""A vehicle worked on from two carts as parts: its papers join them, and hours stay apart."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.copies import copies_of
from cartclock.engine.desk.exchange import export_job, import_job
from cartclock.engine.desk.parts import whole_vehicle
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.record.customer import customer_sheet
from cartclock.engine.record.record import Record
from cartclock.engine.record.whole_vehicle import WholeVehicle, joined_sheet, last_dates
from cartclock.engine.rules import holding, rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from cartclock.engine.trouble import Refused
from tests.kit.blank import bench_at
from tests.kit.day import PLANS, START_US
from tests.paper.test_sheets import is_golden

ZONE = "UTC"


class Parts:
    """Two carts at one vehicle: Anna coats it, Ben washes it and does the wheels; synthetic."""

    def __init__(self, folder: Path) -> None:
        self.benches = []
        self.jobs = []
        for seed, (who, plan) in enumerate((("anna", 0), ("ben", 1))):
            (folder / who).mkdir()
            bench = bench_at(
                folder / who / "log.db", HandClock(START_US), who, random.Random(seed).randbytes
            )
            job = bench.new_id()
            bench.do(
                rules.open_job,
                job,
                ev.JobOpened(PLANS[plan], "", 1 + seed, "bottle green estate", ZONE),
            )
            bench.do(rules.clock_on, ev.ClockedOn("carport"))
            self.benches.append(bench)
            self.jobs.append(job)
        self.benches[1].do(holding.say_part, self.jobs[1], self.jobs[0])

    def work(self, presses: int, at: int) -> None:
        """Presses of one of them, a minute and a bit apart; both clocks go on."""
        bench = self.benches[at]
        while presses:
            for one in self.benches:
                one.clock.wind(70)
            moves = [move for move in bench.moves() if move.act != "close"]
            if not moves:
                return
            try:
                bench.do(rules.take_up, moves[0], OVER)
            except Refused:
                continue
            presses -= 1

    def carried(self, at: int) -> bytes:
        """The job of one of them as a file."""
        bench = self.benches[at]
        return export_job(shop_of(bench), self.jobs[at], bench.now_us).content

    def exchange(self) -> None:
        """Each has the other's job as it stands."""
        files = [self.carried(0), self.carried(1)]
        for bench, content in zip(self.benches, reversed(files), strict=True):
            import_job(bench, content)

    def whole(self, at: int) -> WholeVehicle:
        bench = self.benches[at]
        return whole_vehicle(shop_of(bench), self.jobs[at], bench.now_us)

    def record(self, at: int) -> Record:
        """As its own cart tells it."""
        bench = self.benches[at]
        return shop_of(bench).record(self.jobs[at], bench.now_us)


OVER = dict.fromkeys(
    ("layer_early", "coat_gate", "reading_ends", "undone_before", "rest_in_wave", "first_use"),
    "said again",
)


def shop_of(bench: Bench) -> Shop:
    return Shop(bench.log, library=bench.library)


@pytest.fixture
def parts(tmp_path: Path) -> Parts:
    """Both have worked a while, in turns."""
    found = Parts(tmp_path)
    for leg in range(4):
        found.work(3, leg % 2)
    return found


def test_a_part_that_is_elsewhere_is_named_and_not_told(parts: Parts) -> None:
    whole = parts.whole(1)
    assert [part.job for part in whole.parts] == [parts.jobs[1]]
    assert whole.not_told == (parts.jobs[0],)
    assert not whole.whole
    # The cart of the whole has heard of no part yet.
    assert parts.whole(0).not_told == () and len(parts.whole(0).parts) == 1


def test_hours_of_the_parts_are_those_of_each_fold_and_never_mixed(parts: Parts) -> None:
    parts.exchange()
    own = [parts.record(at) for at in (0, 1)]
    names = [bench.log.origin[:8] for bench in parts.benches]
    for at in (0, 1):
        whole = parts.whole(at)
        assert [part.job for part in whole.parts] == parts.jobs
        assert [(part.cart, part.own) for part in whole.parts] == [
            (names[0], at == 0), (names[1], at == 1),
        ]  # fmt: skip
        told = {job: [one for one in whole.hours if one.job == job] for job in parts.jobs}
        for job, record, cart, who in zip(parts.jobs, own, names, ("anna", "ben"), strict=True):
            (hours,) = told[job]
            assert (hours.worker, hours.cart) == (who, cart)
            assert hours.all_us == record.own_us > 0
            hands = sum(s.length_us for s in record.shares if (s.job, s.kind) == (job, "hands"))
            assert hours.hands_us == hands > 0
        assert sum(one.all_us for one in whole.hours) == sum(record.own_us for record in own)


def test_sections_of_all_parts_stand_in_order_of_time_with_who_did_them(parts: Parts) -> None:
    parts.exchange()
    whole = parts.whole(0)
    assert parts.whole(1).sections == whole.sections
    times = [one.first_us for one in whole.sections]
    assert times == sorted(times) and {one.job for one in whole.sections} == set(parts.jobs)
    for record in (parts.record(0), parts.record(1)):
        applied = [
            (stage.stage, section.section, one.first_us, one.last_us, one.workers)
            for stage in record.stages
            for section in stage.sections
            for one in section.applied
        ]
        assert sorted(applied) == sorted(
            (one.stage, one.section, one.first_us, one.last_us, tuple(w for w, _cart in one.by))
            for one in whole.sections
            if one.job == record.job
        )


def test_a_part_still_open_elsewhere_is_said_to_be_so_until_its_close_is_here(
    parts: Parts,
) -> None:
    parts.exchange()
    before = parts.whole(0)
    (there,) = (part for part in before.parts if not part.own)
    assert there.may_be_behind and there.as_of_us == there.record.now_us
    parts.work(40, 1)
    parts.benches[1].do(rules.close_job, parts.jobs[1])
    # What was done there since is not known here.
    assert parts.whole(0).sections == before.sections
    parts.exchange()
    (there,) = (part for part in parts.whole(0).parts if not part.own)
    assert not there.may_be_behind and there.closed_us is not None
    assert parts.whole(0).sections != before.sections
    # A part that stands by itself again is none.
    parts.benches[1].do(holding.say_part, parts.jobs[1], "")
    parts.exchange()
    assert [part.job for part in parts.whole(0).parts] == parts.jobs[:1]


def test_dates_are_those_of_the_part_that_was_laid_last(parts: Parts) -> None:
    parts.exchange()
    own = [parts.record(at) for at in (0, 1)]
    dates = last_dates(own)
    for date in dates:
        every = [one.at_us for record in own for one in record.dates if one.about == date.about]
        assert date.at_us == (None if None in every else max(every))
    sheet = joined_sheet(parts.whole(0))
    assert {film.stage for film in sheet.laid} == {
        film.stage for record in own for film in customer_sheet(record).laid
    }


def test_each_form_says_the_same(parts: Parts) -> None:
    parts.exchange()
    bench = parts.benches[0]
    copies = copies_of(bench.log, bench.clock, Settings())
    text = copies.copy("vehicle", "1", "text").decode()
    is_golden("vehicle_parts", text)
    is_golden("together_parts", copies.copy("together", "1", "text").decode())
    cart = parts.benches[1].log.origin[:8]
    assert f"The part on cart {cart}, job 2, was open when it was told of" in " ".join(text.split())
    html = copies.copy("vehicle", "1", "html").decode()
    for said in (f"ben, cart {cart}", "anna, cart", "the vehicle"):
        assert said in text and said in html, said
    assert copies.copy("vehicle", "1", "pdf").startswith(b"%PDF")
    data = json.loads(copies.copy("vehicle", "1", "json"))
    assert data["totals"]["all_us"] == sum(
        one["hands_us"] + one["waits_us"] + one["other_us"] for one in data["vehicle"]["hours"]
    )
    sheet = copies.copy("together", "1", "text").decode()
    # The customer reads of no worker and no hours.
    assert "ben" not in sheet and "anna" not in sheet and "hands on" not in sheet
    for form in ("html", "pdf"):
        assert copies.copy("together", "1", form)
    (missing,) = json.loads(copies.copy("together", "1", "json"))["not_told"]
    assert missing.startswith(f"The part on cart {cart}, job 2, was open when it was told of")
    assert missing in " ".join(sheet.split())
