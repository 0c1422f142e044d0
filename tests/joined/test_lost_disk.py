"""A cart that took a job and whose disk is lost then: the job goes on, there or elsewhere."""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.desk.holding import give_away, to_take_again
from cartclock.engine.joined.faults import ShopFault
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.pulling import log_to_pull, pull_own
from cartclock.engine.rules import rules
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import sent, worked
from tests.joined.test_shop_handing import heeded, taken, waiting
from tests.kit.blank import bench_at
from tests.kit.two_carts import shape


def lost(cart: Cart, folder: Path) -> None:
    """Its disk is lost: a new one, with what the shop has of its log if it has any."""
    folder.mkdir()
    clock, entropy = cart.day.clock, cart.day.entropy
    path = folder / "log.db"
    cart.day.bench.close()
    cart.log_in(path)
    with linked(cart.joined, path) as line:
        try:
            pull_own(path, log_to_pull(line, None), line)
        except ShopFault as why:
            assert "has no row of this log" in str(why)
    cart.day.path = path
    cart.day.bench = bench_at(path, clock, "me", entropy)


def given(cart: Carts, shop: str) -> tuple[Cart, Cart, str]:
    """A job that one cart gave, and another one that may take it."""
    one, other = cart(shop), cart(shop)
    worked(one, 4)
    give_away(one.day.bench, one.day.job)
    sent(one)
    other.day.clock.wind(600)
    return one, other, one.day.job


def goes_on(cart: Cart, job: str) -> None:
    """The next press of a job, and a minute of it."""
    bench = cart.day.bench
    bench.do(rules.take_up, next(move for move in bench.moves() if move.job == job))
    cart.day.clock.wind(60)
    bench.do(rules.put_down)


def goes_back(cart: Cart, to: Cart, job: str) -> None:
    """It is given, offered and taken, and told alike on both."""
    give_away(cart.day.bench, job)
    sent(cart)
    assert [one.job for one in waiting(to)] == [job]
    to.day.clock.wind(1200)
    assert taken(to, job).written
    assert shape(to.day.bench.jobs[job]) == shape(cart.day.bench.jobs[job])
    assert to.day.bench.log.check() == cart.day.bench.log.check() == []


def test_a_job_that_was_taken_comes_back_with_what_was_done_on_it(
    cart: Carts, tmp_path: Path
) -> None:
    one, other, job = given(cart, "lost and sent")
    assert taken(other, job).written
    goes_on(other, job)
    before = shape(other.day.bench.jobs[job])
    sent(other)
    lost(other, tmp_path / "new")
    # Its own rows alone do not say what was begun elsewhere.
    assert [*to_take_again(other.day.bench.log)] == [job] and job not in other.day.bench.jobs
    assert taken(other, job).written
    assert to_take_again(other.day.bench.log) == {}
    assert shape(other.day.bench.jobs[job]) == before
    goes_on(other, job)
    goes_back(other, one, job)
    assert heeded(other) == []


@pytest.mark.long
def test_a_taking_that_never_came_to_the_shop_is_made_anew(cart: Carts, tmp_path: Path) -> None:
    one, other, job = given(cart, "lost unsent")
    assert taken(other, job).written
    lost(other, tmp_path / "new")
    assert waiting(other) == ()
    with pytest.raises(ShopFault, match="has it and did not give it"):
        taken(other, job)
    done = taken(other, job, silent=True)
    assert (done.job.tenure, done.job.odd, done.aside) == (2, [], ())
    sent(other)
    goes_back(other, one, job)


@pytest.mark.long
def test_another_cart_takes_what_a_lost_one_had_taken(cart: Carts, tmp_path: Path) -> None:
    one, other, job = given(cart, "lost to a third")
    sent(other)
    assert taken(other, job).written
    third = cart("lost to a third")
    third.day.clock.wind(900)
    done = taken(third, job, silent=True)
    assert (done.job.tenure, done.job.odd) == (2, [])
    assert done.job.holder == third.day.bench.log.origin
    sent(third)
    # The lost one comes back with its older rows, and has nothing to take again.
    lost(other, tmp_path / "new")
    assert to_take_again(other.day.bench.log) == {}
    goes_back(third, one, job)
