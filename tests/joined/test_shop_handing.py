"""A job that goes from cart to cart by the shop: exactly one has it, and nothing is lost."""

from __future__ import annotations

import time
from collections.abc import Sequence
from types import SimpleNamespace

import psycopg
import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.holding import (
    TakenOver,
    give_away,
    heed_taken,
    take_from_shop,
)
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.refold import folded
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.joined.faults import ShopFault
from cartclock.engine.joined.handed import GivenThere
from cartclock.engine.joined.holding import HandingShop
from cartclock.engine.joined.link import linked
from cartclock.engine.rules import packs, rules
from cartclock.engine.trouble import Refused
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import sent, worked
from tests.kit.two_carts import shape


def taken(cart: Cart, job: str, silent: bool = False) -> TakenOver:
    bench = cart.day.bench
    with linked(cart.joined, bench.log.path) as line:
        return take_from_shop(bench, HandingShop(line), job, silent)


def waiting(cart: Cart) -> tuple[GivenThere, ...]:
    with linked(cart.joined, cart.day.path) as line:
        return HandingShop(line).given_there(cart.day.bench.log.origin)


def heeded(cart: Cart) -> list[str]:
    bench = cart.day.bench
    with linked(cart.joined, bench.log.path) as line:
        return heed_taken(bench, HandingShop(line).taken_elsewhere(bench.log.origin))


def packs_in(rows: Sequence[Row]) -> set[tuple[int, str]]:
    """Packs that rows open: number of the row and lot."""
    return {(row.seq, row.event.lot) for row in rows if isinstance(row.event, ev.PackOpened)}


def in_hand(bench: Bench, job: str) -> list[str]:
    return [s.name for s in bench.jobs[job].sections.values() if s.state == "in hand"]


def test_a_job_given_to_the_shop_goes_on_on_the_cart_that_takes_it(cart: Carts) -> None:
    one, other, late = cart("hand"), cart("hand"), cart("hand")
    worked(one, 4)
    job = one.day.job
    give_away(one.day.bench, job)
    sent(one)
    for each in (other, late):
        each.day.clock.wind(600)
        sent(each)
    assert [(it.job, it.number, it.cart) for it in waiting(other)] == [(job, 1, one.name)]
    assert waiting(one) == ()
    # Its number will do, though another job goes by it.
    done = taken(other, "1")
    assert done.written and done.rows > 4
    assert waiting(late) == ()
    there = other.day.bench.jobs[job]
    assert (there.state, there.tenure, there.opened.number) == ("open", 2, 2)
    assert there.stints == one.day.bench.jobs[job].stints
    with pytest.raises(ShopFault, match=rf"cart {other.name} has it and did not give it"):
        taken(late, job)
    assert not late.day.bench.log.rows_of([job], ())
    with pytest.raises(Refused, match="is on this cart; there is nothing to take"):
        taken(other, job)
    other.day.bench.do(rules.take_up, next(m for m in other.day.bench.moves() if m.job == job))
    sent(other)
    assert heeded(one) == []


def test_the_packs_of_a_job_come_with_it(cart: Carts) -> None:
    """Also those that were opened off the clock, as far as they were in force or put right; the
    record has the same lots on both carts."""
    one, other = cart("packs"), cart("packs")
    bench = one.day.bench
    bench.do(rules.clock_off)
    for lot in ("WRONG", "OLD", "A1", "B2"):
        if lot == "B2":
            one.day.clock.wind(3600)
            job = one.day.open_job(0)
            one.day.clock.wind(60)
        bench.do(packs.open_pack, ev.PackOpened("fallout", 500.0, "ml", lot, price="10.00"))
        if lot == "WRONG":
            bench.undo()
        one.day.clock.wind(60)
    bench.do(packs.open_pack, ev.PackOpened("glass cleaner", 500.0, "ml", "OTHER"))
    bench.do(rules.clock_on, ev.ClockedOn("carport"))
    for _ in range(2):
        bench.do(rules.take_up, next(move for move in bench.moves() if move.job == job))
        one.day.clock.wind(60)
    give_away(bench, job)
    sent(one)
    other.day.clock.wind(7200)
    assert taken(other, job).written
    log = other.day.bench.log
    row = log.taken_row(job)
    assert row is not None
    came = packs_in(log.taken_over(row))
    assert {lot for _seq, lot in came} == {"A1", "WRONG", "B2"}
    (used,) = Shop(log).record(job, other.day.bench.now_us).products
    assert (used,) == Shop(bench.log).record(job, bench.now_us).products
    assert [lot.lot for lot in used.lots] == ["B2"]


def test_what_was_taken_and_not_written_is_taken_again(cart: Carts) -> None:
    one, other = cart("again"), cart("again")
    worked(one, 3)
    give_away(one.day.bench, one.day.job)
    sent(one)
    other.day.clock.wind(600)
    with linked(other.joined, other.day.path) as line:
        first = line.execute(
            "SELECT * FROM cartclock.take_1(%s, %s, 2, false)",
            (one.day.job, other.day.bench.log.origin),
        ).fetchone()
    assert first is not None
    done = taken(other, one.day.job)
    assert done.written
    (row,) = [r for r in other.day.bench.rows if isinstance(r.event, ev.JobTaken)]
    assert (row.event.of, row.event.seq, row.event.digest) == first


def test_a_silent_cart_loses_a_job_and_keeps_its_hours(cart: Carts) -> None:
    one, other = cart("silent"), cart("silent")
    worked(one, 3)
    sent(one)
    job = one.day.job
    while True:
        worked(one, 1)
        if in_hand(one.day.bench, job):
            break
    minutes = one.day.minutes()
    other.day.clock.wind(900)
    with pytest.raises(ShopFault, match="did not give it"):
        taken(other, job)
    assert taken(other, job, silent=True).written
    assert not in_hand(other.day.bench, job)
    there = other.day.bench.jobs[job]
    sent(other)
    sent(one)
    (said,) = heeded(one)
    assert said.endswith("put down what is in hand of it, it goes on there.")
    one.day.bench.do(rules.put_down)
    (said,) = heeded(one)
    assert f"was taken by cart {other.name} and goes on there" in said
    assert heeded(one) == []
    # Who let go of it late offers nothing.
    sent(one)
    assert waiting(other) == ()
    assert one.day.minutes() == minutes
    with pytest.raises(Refused, match="work on it there"):
        one.day.bench.do(rules.close_job, job)
    # Whoever joins both logs lists what came too late.
    rows = [*one.day.bench.log.all_rows(), *other.day.bench.log.all_rows()]
    late = folded(believed_rows(rows), [job], []).jobs[job].late
    assert {row.origin for row in late} == {one.day.bench.log.origin}
    assert {type(row.event) for row in late} >= {ev.WorkStarted, ev.WorkPutDown, ev.JobGiven}
    # It is given back, and all that was worked on it there came along.
    give_away(other.day.bench, job, one.day.bench.log.origin[:4])
    sent(other)
    (back,) = waiting(one)
    # By the number it has where it was given.
    assert (back.number, back.cart) == (there.opened.number, other.name)
    one.day.clock.wind(900)
    sent(one)
    assert taken(one, job).written
    here = one.day.bench.jobs[job]
    assert (here.tenure, here.opened.number, here.odd) == (3, 1, [])
    assert shape(here) == shape(other.day.bench.jobs[job])
    told = one.day.minutes()
    assert {key: told[key] for key in minutes if key[0] == "hands"} == {
        key: told_s for key, told_s in minutes.items() if key[0] == "hands"
    }


def test_of_two_that_take_at_once_one_has_it(cart: Carts) -> None:
    one, *others = (cart("race") for _ in range(3))
    worked(one, 3)
    give_away(one.day.bench, one.day.job)
    sent(one)
    came = []
    for other in others:
        other.day.clock.wind(600)
        with linked(other.joined, other.day.path) as line:
            try:
                came.append(
                    line.execute(
                        "SELECT * FROM cartclock.take_1(%s, %s, 2, false)",
                        (one.day.job, other.day.bench.log.origin),
                    ).fetchone()
                )
            except Exception as why:
                came.append(str(why).splitlines()[0])
    assert came[0] is not None and came[1] == f"cart {others[0].name} took it first"


def test_own_giving_is_taken_back_where_nobody_took_it(cart: Carts) -> None:
    one = cart("back")
    worked(one, 3)
    before = shape(one.day.bench.jobs[one.day.job])
    give_away(one.day.bench, one.day.job)
    sent(one)
    one.day.clock.wind(60)
    assert taken(one, one.day.job).written
    here = one.day.bench.jobs[one.day.job]
    assert (here.state, here.tenure) == ("open", 2)
    assert [s[1:] for s in before[2]] == [s[1:] for s in shape(here)[2]]
    assert one.day.bench.log.check() == []


def test_a_cart_whose_clock_is_off_the_shops_takes_nothing(
    cart: Carts, owner: psycopg.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By more than 30 s, ahead or behind; nobody has the job then, and it is taken once it is set.
    The server's clock stays as it is, this computer's is read as another one."""
    one, other = cart("clock"), cart("clock")
    worked(one, 3)
    give_away(one.day.bench, one.day.job)
    sent(one)
    other.day.clock.wind(600)

    def set_off(by_s: float) -> None:
        read = SimpleNamespace(time=lambda: time.time() + by_s)
        monkeypatch.setattr("cartclock.engine.joined.sending.time", read)

    # An exchange takes a part of a second, and the server's answer is set in its middle.
    for off_s in (-32, 32):
        set_off(off_s)
        with pytest.raises(Refused, match=r"clock of this cart is 3[12] s off the shop's; set it"):
            taken(other, one.day.job)
    holders = "SELECT count(*) FROM cartclock.holders WHERE job = %s"
    assert owner.execute(holders, (one.day.job,)).fetchone() == (0,)
    assert not other.day.bench.log.rows_of([one.day.job], ())
    set_off(28)
    assert taken(other, one.day.job).written


def test_figures_of_a_job_are_told_by_the_cart_that_has_it(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one, other = cart("told"), cart("told")
    worked(one, 4)
    job = one.day.job
    sent(one)

    def told() -> list[tuple[object, ...]]:
        return owner.execute(
            "SELECT h.role, j.number, j.state, j.done FROM cartclock.job_line j"
            " JOIN cartclock.told t ON t.shop = j.shop AND t.subject = j.subject"
            " JOIN cartclock.heads h ON h.shop = t.shop AND h.origin = t.origin"
            " WHERE j.subject = %s",
            (job,),
        ).fetchall()

    assert told() == [(one.name, 1, "open", 0)]
    give_away(one.day.bench, job)
    sent(one)
    assert told() == []
    other.day.clock.wind(600)
    assert taken(other, job).written
    sent(other)
    assert told() == [(other.name, 2, "open", 0)]
    # As it is after any later sending of the cart that had it.
    one.day.clock.wind(5)
    one.day.bench.do(rules.clock_off)
    sent(one)
    assert told() == [(other.name, 2, "open", 0)]
