"""A job begun on one cart goes on on another as if it had been one cart."""

from __future__ import annotations

import random
from contextlib import suppress
from fractions import Fraction
from pathlib import Path

import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.exchange import export_job
from cartclock.engine.desk.holding import go_on, take_by_file
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.refold import folded
from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.hours.partition import sums
from cartclock.engine.products.stock import stock
from cartclock.engine.rules import holding, packs, rules
from cartclock.engine.trouble import Asks, Refused
from tests.kit.day import PLANS
from tests.kit.two_carts import (
    OVER,
    SECOND_US,
    WHO,
    TwoCarts,
    given,
    hands_us,
    refuses,
    shape,
)


def played(folder: Path, seed: int) -> int:
    """A random plan with hand-overs, compared with one cart; how many hand-overs."""
    drawn = random.Random(seed)
    play = TwoCarts(folder, seed, drawn.randrange(3))
    handed = 0
    for _leg in range(drawn.randint(2, 5)):
        for _ in range(drawn.randint(1, 7)):
            if not play.work(drawn.randint(3, 120)):
                play.wind(30)
            elif drawn.random() < 0.1:
                play.take_back()
        if play.here.jobs[play.job].state == "closed":
            break
        play.hand_over()
        handed += 1
    assert shape(play.here.jobs[play.job]) == shape(play.one.jobs[play.same])
    assert play.here.jobs[play.job].odd == []
    for bench, who in zip(play.carts, WHO, strict=True):
        assert hands_us(bench, who) == hands_us(play.one, who)
    for bench in (*play.carts, play.one):
        bench.close()
    return handed


def test_random_plans_with_hand_overs_equal_one_cart(tmp_path: Path) -> None:
    assert sum(played(tmp_path, seed) for seed in range(4)) > 6


@pytest.mark.long
def test_many_random_plans_with_hand_overs_equal_one_cart(tmp_path: Path) -> None:
    assert sum(played(tmp_path, seed) for seed in range(4, 2_004)) > 4_000


def lost(folder: Path, seed: int) -> int:
    """A cart whose job was taken while it knew nothing goes on with it, and gets it back: what it
    pressed meanwhile counts for its hours and for nothing else; how many rows were set aside."""
    drawn = random.Random(seed)
    play = TwoCarts(folder, seed, drawn.randrange(3))
    one, other = play.carts
    for _ in range(drawn.randint(1, 8)):
        worked(play, drawn)
    shop = Shop(one.log, library=one.library)
    content = export_job(shop, play.job, one.now_us).content
    before = one.log.head.seq
    for _ in range(drawn.randint(1, 6)):
        worked(play, drawn)
    if drawn.random() < 0.5:
        # A press from before the other cart took it is struck too late to count.
        one.undo()
        with suppress(Refused):
            one.undo()
    late = [row for row in one.log.rows_after(before) if row.job == play.job]
    known, hours = one.jobs[play.job], sums(one.partition())
    assert go_on(other, content, silent=True).written
    other.clock.wind(60)
    for _ in range(drawn.randint(1, 5)):
        if other.moves() and other.moves()[0].act != "close":
            with suppress(Asks, Refused):
                other.do(rules.take_up, other.moves()[0], OVER)
        other.clock.wind(drawn.randint(3, 120))
    back = given(other, play.job, one.log.origin)
    shift = one.shift()
    if shift is not None and shift.state == "hands":
        one.do(rules.put_down)
    one.clock.wind((other.now_us - one.now_us) / SECOND_US)
    one.do(rules.take_break, "away")
    pieces = sums(one.partition())
    done = take_by_file(one, back)
    assert done.written and done.job.odd == [] and done.job.tenure == 3
    # Not a second of the shift is another.
    assert sums(one.partition()) == pieces
    assert {key: us for key, us in hours.items() if key[0] == "hands"}.items() <= pieces.items()
    # What was used while another cart had the job left this cart's packs.
    assert sorted(row.seq for row in done.aside) == sorted(row.seq for row in done.job.late)
    assert Shop(one.log, library=one.library).stock() == Shop(one.log).stock()
    # Both carts, and whoever has both logs, tell the same job, in whatever order the rows come.
    there = other.jobs[play.job]
    assert done.job.stints == there.stints and shape(done.job)[0] == shape(there)[0]
    every = [*one.log.all_rows(), *other.log.all_rows()]
    drawn.shuffle(every)
    every.sort(key=lambda row: row.seq)
    joined = folded(believed_rows(every), [play.job], []).jobs[play.job]
    assert joined.odd == [] and shape(joined) == shape(done.job)
    aside = {row.identity for row in joined.late}
    stood = {row.identity for row in believed_rows(one.log.all_rows()) if row.job == play.job}
    assert aside == {row.identity for row in late} & stood | {
        row.identity
        for row in one.log.rows_after(before)
        if row.job == play.job and row.seq < done.job.taken_seq and row.identity in stood
    }
    assert known.tenure == 1
    for bench in (*play.carts, play.one):
        assert bench.log.check() == []
        bench.close()
    return len(aside)


def test_what_was_pressed_where_the_job_no_longer_was_is_listed_on_the_record(
    tmp_path: Path,
) -> None:
    """It is told as set aside, leaves the packs of its cart, and the rest of the record is that of
    the cart which had the job."""
    play, drawn = TwoCarts(tmp_path, 3), random.Random(1)
    one, other = play.carts
    one.do(packs.open_pack, ev.PackOpened("coat", 1000.0, "drops", "A17"))
    for _ in range(4):
        worked(play, drawn)
    content = export_job(Shop(one.log, library=one.library), play.job, one.now_us).content
    for _ in range(3):
        worked(play, drawn)
    water = ev.WaterTouched("Coat", ("bonnet left",))
    one.do(rules.note_job, play.job, water)
    assert go_on(other, content, silent=True).written
    other.clock.wind(900)
    back = given(other, play.job, one.log.origin)
    one.clock.wind(900)
    done = take_by_file(one, back)
    own = Shop(one.log, library=one.library).record(play.job, one.now_us)
    told = [line.what for line in own.trail.aside]
    assert told == [
        "finished: rinse all 3 (Fallout)",
        "took up: apply bonnet left (Coat, layer 1)",
        "finished: apply bonnet left (Coat, layer 1)",
        "used: 15 drops Coating",
        "water on bonnet left (Coat)",
    ]
    assert done.aside_text.startswith("5 rows were pressed where the job no longer was: they are")
    assert {line.why for line in own.trail.aside} == {"the job was on another cart by then"}
    there = Shop(other.log, library=other.library).record(play.job, other.now_us)
    assert (there.trail.aside, own.stages, own.products) == ((), there.stages, there.products)
    items = Shop(one.log, library=one.library).stock().items
    assert 1000 - items["coat"].book > 0
    assert items == Shop(one.log).stock().items == stock(one.log.all_rows()).items


def worked(play: TwoCarts, drawn: random.Random) -> None:
    """One press on the first cart alone, or a wait."""
    one = play.carts[0]
    if one.moves() and one.moves()[0].act != "close":
        with suppress(Asks, Refused):
            one.do(rules.take_up, one.moves()[0], OVER)
    play.wind(drawn.randint(3, 120))


def test_a_cart_that_lost_its_job_keeps_its_hours(tmp_path: Path) -> None:
    # In the second everything that was pressed too late was taken back again.
    assert sum(lost(tmp_path, seed) for seed in (1, 4)) > 1


@pytest.mark.long
def test_many_carts_that_lost_their_jobs_keep_their_hours(tmp_path: Path) -> None:
    assert sum(lost(tmp_path, seed) for seed in range(5, 505)) > 500


def test_of_two_that_took_a_job_in_one_turn_one_counts_whoever_reads(tmp_path: Path) -> None:
    play, drawn = TwoCarts(tmp_path, 3), random.Random(3)
    for _ in range(4):
        worked(play, drawn)
    one, other = play.carts
    content = export_job(Shop(one.log, library=one.library), play.job, one.now_us).content
    for bench in (other, play.one):
        bench.clock.wind(60)
        assert go_on(bench, content, silent=True).written
    rows = [row for bench in (one, other, play.one) for row in bench.log.all_rows()]
    told = set()
    for _ in range(6):
        drawn.shuffle(rows)
        rows.sort(key=lambda row: row.seq)
        job = folded(believed_rows(rows), [play.job], []).jobs[play.job]
        assert job.odd == [] and job.tenure == 2
        told.add((job.holder, tuple(sorted(row.identity for row in job.late))))
    ((holder, aside),) = told
    assert holder == min(other.log.origin, play.one.log.origin)
    (late,) = aside
    assert late[0] == max(other.log.origin, play.one.log.origin)


def booked(bench: Bench, job: str) -> dict[str, Fraction]:
    """What a log says that its own cart used in a job, row by row, as applied."""
    found: dict[str, Fraction] = {}
    for row in believed_rows(bench.log.all_rows()):
        if row.job == job and isinstance(row.event, ev.ProductUsed):
            for product, much in row.event.amounts.items():
                found[product] = found.get(product, Fraction(0)) + Fraction(str(much))
    return found


def test_each_cart_draws_from_its_own_packs(tmp_path: Path) -> None:
    """What another cart used of a job came from that cart's packs, and the record knows which."""
    play = TwoCarts(tmp_path, 5)
    products = [product.id for product in PLANS[0].products if product.unit == "ml"]
    for bench, lot in zip(play.carts, ("A17", "B2"), strict=True):
        for product in products:
            pack = ev.PackOpened(product, 1000.0, "ml", lot, price="10.00")
            bench.do(packs.open_pack, pack)
    for leg in range(2):
        for _ in range(40):
            if used := booked(play.here, play.job):
                break
            if not play.work(120):
                play.wind(30)
        if not leg:
            play.hand_over()
    one, other = play.carts
    parts = [booked(bench, play.job) for bench in (one, other)]
    assert all(parts) and used == parts[1]
    for bench, own in zip(play.carts, parts, strict=True):
        items = Shop(bench.log, library=bench.library).stock().items
        assert {p: 1000 - items[p].book for p in own} == own
        # Made anew of the whole log it is the same.
        assert items == Shop(bench.log).stock().items
    rows = other.log.rows_of([play.job], ()) + other.log.cart_rows()
    assert stock(rows).items["fallout"].book == 1000 - parts[1]["fallout"]
    record = Shop(other.log, library=other.library).record(play.job, other.now_us)
    (fallout,) = (one for one in record.products if one.product == "fallout")
    assert [(lot.lot, lot.applied) for lot in fallout.lots] == [
        ("A17", parts[0]["fallout"]), ("B2", parts[1]["fallout"]),
    ]  # fmt: skip
    assert fallout.cost == sum(part["fallout"] for part in parts) / 100


def test_presses_behind_a_hand_over_stay_as_they_are(tmp_path: Path) -> None:
    play = TwoCarts(tmp_path, 7)
    for _ in range(3):
        worked(play, random.Random(1))
    one, other = play.carts
    press = next(row.press for row in one.rows if isinstance(row.event, ev.WorkStarted))
    no = refuses(holding.give, one.scene(), play.job, "abc")
    assert no.startswith("A cart is named by the beginning of its identity")
    no = refuses(holding.give, one.scene(), play.job, one.log.origin[:6], one.log.origin)
    assert no == "That is this cart itself; name the one that is to have the job."
    with pytest.raises(Refused, match="has front in hand; have it put down or finished first"):
        holding.give(one.scene("cleo"), play.job)
    content = given(one, play.job, other.log.origin)
    assert f"was given to cart {other.log.origin[:8]}" in refuses(one.strike, press)
    for act in (one.undo, one.strike):
        assert refuses(act, *(() if act == one.undo else (one.rows[-1].press,))).endswith(
            ("have it given back.", "Write a note about it.")
        )
    # A lost file is written anew, and nothing is given twice.
    assert given(one, play.job, other.log.origin) == content
    slow = other.clock
    slow.wind(-3600)
    assert "clock of this cart is behind" in refuses(take_by_file, other, content)
    slow.wind(3600)
    assert take_by_file(other, content).written
    assert not take_by_file(other, content).written
    taken = next(row.press for row in other.rows if isinstance(row.event, ev.JobTaken))
    assert "lies behind a hand-over" in refuses(other.strike, taken)
    with pytest.raises(Refused, match=r"is of another laptop|behind a hand-over"):
        other.strike(press)
    # A late entry reaches no further back than the hand-over.
    other.clock.wind(10)
    no = refuses(other.do_as, "ben", 60_000_000, rules.take_up, other.moves()[0], OVER)
    assert "the job was on another cart then" in no or "not open" in no or "given" in no, no


def test_what_was_handed_over_is_not_struck_along_with_anything(tmp_path: Path) -> None:
    play = TwoCarts(tmp_path, 7)
    one, other = play.carts
    on = one.do_as("cleo", 0, rules.clock_on, ev.ClockedOn("carport")).press
    one.do_as("cleo", 0, rules.take_up, one.moves("cleo")[0], OVER)
    one.clock.wind(60)
    one.do_as("cleo", 0, rules.put_down)
    with pytest.raises(Refused, match="That cannot be") as no:
        one.strike(on)
    assert no.value.standing != ()
    given(one, play.job, other.log.origin)
    with pytest.raises(Refused, match="That cannot be") as no:
        one.strike(on)
    assert no.value.standing == ()
