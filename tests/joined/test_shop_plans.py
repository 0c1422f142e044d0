"""Random plans that go from cart to cart by the shop, with sendings that die and come twice, equal
one cart."""

from __future__ import annotations

import random
from contextlib import suppress
from pathlib import Path

import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.holding import give_away, take_from_shop
from cartclock.engine.joined.holding import HandingShop
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.membership import Joined, join, membership
from cartclock.engine.joined.sending import send
from cartclock.engine.rules import rules
from tests.kit.door import Door
from tests.kit.postgres import Postgres
from tests.kit.two_carts import WHO, TwoCarts, hands_us, shape


class Died(Exception):
    """The line broke between two statements."""


def sends(bench: Bench, drawn: random.Random) -> None:
    """A sending that may die in the middle, and then one or two whole ones."""

    def told(left: int) -> None:
        if drawn.random() < 0.3:
            raise Died

    path = bench.log.path
    with suppress(Died), linked(membership(path), path) as line:
        send(bench.log, line, "0", told)
    for _ in range(drawn.randint(1, 2)):
        with linked(membership(path), path) as line:
            send(bench.log, line, "0")


def hands_over(play: TwoCarts, drawn: random.Random) -> None:
    who, here, there = WHO[play.at], play.here, play.there
    shift = play.one.shift(who)
    assert shift is not None
    if shift.state == "hands":
        play.one.do_as(who, 0, rules.put_down)
    give_away(here, play.job)
    sends(here, drawn)
    path = there.log.path
    with linked(membership(path), path) as line:
        done = take_from_shop(there, HandingShop(line), play.job)
    assert done.written and done.aside == ()
    sends(there, drawn)
    play.at = 1 - play.at


def played(folder: Path, server: Postgres, seed: int, legs: int = 4) -> int:
    """How many hand-overs there were."""
    drawn = random.Random(seed)
    play = TwoCarts(folder, seed, drawn.randrange(3))
    for bench, who in zip(play.carts, WHO, strict=True):
        name = f"{who}-{seed}"
        server.add_cart(name, f"plans {seed}")
        join(Joined(f"127.0.0.1:{server.port}", name), name, bench.log.path)
    handed = 0
    for _leg in range(drawn.randint(1, legs)):
        for _ in range(drawn.randint(1, 6)):
            if not play.work(drawn.randint(3, 120)):
                play.wind(30)
            if drawn.random() < 0.2:
                sends(play.here, drawn)
        if play.here.jobs[play.job].state == "closed":
            break
        hands_over(play, drawn)
        handed += 1
    assert shape(play.here.jobs[play.job]) == shape(play.one.jobs[play.same])
    assert play.here.jobs[play.job].odd == []
    for bench, who in zip(play.carts, WHO, strict=True):
        assert hands_us(bench, who) == hands_us(play.one, who)
        assert bench.log.check() == []
    for bench in (*play.carts, play.one):
        bench.close()
    return handed


def handed_on(play: TwoCarts, door: Door) -> None:
    """The job goes to the other cart by a shop in memory."""
    play.put_down()
    give_away(play.here, play.job)
    door.sent(play.here)
    done = take_from_shop(play.there, door.shop(), play.job)
    assert done.written and done.aside == ()
    door.sent(play.there)
    play.at = 1 - play.at


def in_memory(folder: Path, first: int, plans: int, most: int) -> tuple[int, int]:
    """So many plans on the same carts, one after the other, of so many presses on a cart at most;
    how many hand-overs there were, and how many statements were lost or came twice."""
    drawn = random.Random(first)
    play = TwoCarts(folder, first, drawn.randrange(3))
    door = Door(drawn)
    handed = 0
    for number in range(plans):
        if number:
            play.anew(drawn.randrange(3))
        for _leg in range(drawn.randint(1, most)):
            for _ in range(drawn.randint(1, most)):
                if not play.work(drawn.randint(3, 120)):
                    play.wind(30)
                elif drawn.random() < 0.1:
                    play.take_back()
            if play.here.jobs[play.job].state == "closed":
                break
            handed_on(play, door)
            handed += 1
        assert shape(play.here.jobs[play.job]) == shape(play.one.jobs[play.same])
        assert play.here.jobs[play.job].odd == []
        for bench, who in zip(play.carts, WHO, strict=True):
            assert hands_us(bench, who) == hands_us(play.one, who)
    for bench in play.carts:
        assert bench.log.check() == []
        door.sent(bench)
        newest = bench.log.head.seq
        assert door.rows[bench.log.origin] == bench.log.stored_after(-1, newest + 1)
    for bench in (*play.carts, play.one):
        bench.close()
    return handed, door.lost + door.twice


def test_sixty_plans_equal_one_cart(tmp_path: Path) -> None:
    came = [in_memory(tmp_path, first, 15, 2) for first in range(4)]
    assert sum(handed for handed, _ill_sent in came) > 60
    assert sum(ill_sent for _handed, ill_sent in came) > 60


@pytest.mark.long
@pytest.mark.parametrize("first", range(1_000, 1_200, 50))
def test_two_thousand_plans_equal_one_cart(tmp_path: Path, first: int) -> None:
    came = [in_memory(tmp_path, seed, 10, 4) for seed in range(first, first + 50)]
    assert sum(handed for handed, _ill_sent in came) > 600
    assert sum(ill_sent for _handed, ill_sent in came) > 1_500


@pytest.fixture(autouse=True)
def few_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cartclock.engine.joined.sending.MOST_ROWS", 3)


def test_plans_by_the_shop_equal_one_cart(tmp_path: Path, server: Postgres) -> None:
    assert played(tmp_path, server, 1, legs=1)


@pytest.mark.long
def test_many_plans_by_the_shop_equal_one_cart(tmp_path: Path, server: Postgres) -> None:
    assert sum(played(tmp_path, server, seed) for seed in range(2, 202)) > 300
