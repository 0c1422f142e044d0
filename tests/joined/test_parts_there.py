"""The parts of a vehicle brought from the shop, each row once, and what is handed over likewise."""

from __future__ import annotations

import pytest

from cartclock.engine.desk.exchange import Imported, bring_parts
from cartclock.engine.desk.holding import give_away
from cartclock.engine.desk.parts import whole_vehicle
from cartclock.engine.desk.shop import Shop
from cartclock.engine.joined.handed import PartThere
from cartclock.engine.joined.holding import HandingShop
from cartclock.engine.joined.link import linked
from cartclock.engine.record.whole_vehicle import WholeVehicle
from cartclock.engine.rules import holding
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import sent, stored, worked
from tests.joined.test_shop_handing import taken


def brought(cart: Cart) -> list[tuple[PartThere, Imported]]:
    bench = cart.day.bench
    with linked(cart.joined, bench.log.path) as line:
        return bring_parts(bench, shop_of(cart), HandingShop(line), cart.day.job, cart.name)


def shop_of(cart: Cart) -> Shop:
    return Shop(cart.day.bench.log, library=cart.day.bench.library)


def vehicle(cart: Cart) -> WholeVehicle:
    return whole_vehicle(shop_of(cart), cart.day.job, cart.day.bench.now_us)


def test_parts_come_from_the_shop_each_row_once(cart: Carts) -> None:
    whole, part, stranger = cart("parts"), cart("parts"), cart("no parts")
    for one in (whole, part):
        worked(one, 3)
    part.day.bench.do(holding.say_part, part.day.job, whole.day.job)
    for one in (whole, part, stranger):
        sent(one)
    # Nothing here is a part of what another shop has.
    assert brought(stranger) == []
    ((there, came),) = brought(whole)
    assert (there.job, there.cart, came.written, came.own) == (part.day.job, part.name, True, False)
    ((back, _came),) = brought(part)
    assert (back.job, back.cart) == (whole.day.job, whole.name)
    for one in (whole, part):
        told = vehicle(one)
        assert [(p.job, p.cart, p.own) for p in told.parts] == [
            (whole.day.job, whole.name, one is whole), (part.day.job, part.name, one is part),
        ]  # fmt: skip
        assert told.not_told == ()
    own = shop_of(part).record(part.day.job, part.day.bench.now_us)
    (hours,) = (one for one in vehicle(whole).hours if one.job == part.day.job)
    # Up to when its cart was heard.
    as_of_us = next(p.as_of_us for p in vehicle(whole).parts if not p.own)
    assert as_of_us <= max(part.day.bench.now_us, there.heard_us)
    assert hours.hands_us >= sum(s.length_us for s in own.shares if s.kind == "hands") > 0
    # Asked again nothing is there twice, on the cart or, sent from it, at the shop.
    rows = stored(whole.day.bench.log)
    sent(whole)
    ((_there, again),) = brought(whole)
    assert again.rows == 0
    assert {row[:2] for row in stored(whole.day.bench.log)} >= {row[:2] for row in rows}
    identities = [row[:2] for row in stored(whole.day.bench.log)]
    assert len(identities) == len(set(identities))
    assert whole.day.bench.log.check() == []
    worked(part, 2)
    sent(part)
    ((_there, more),) = brought(whole)
    assert more.rows > 0


@pytest.mark.long
def test_what_was_handed_over_comes_back_from_the_shop_once(cart: Carts) -> None:
    """A job goes there and back: each cart has each row once, and so has the shop."""
    one, other = cart("once"), cart("once")
    worked(one, 3)
    for giver, taker in ((one, other), (other, one)):
        give_away(giver.day.bench, one.day.job)
        sent(giver)
        taker.day.clock.wind(600)
        sent(taker)
        assert taken(taker, one.day.job).written
        sent(taker)
        if taker is other:
            worked(other, 2)
    for each in (one, other):
        log = each.day.bench.log
        identities = [row[:2] for row in stored(log)]
        assert len(identities) == len(set(identities))
        assert log.check() == []
        # Of its own log the shop gets no row of another cart's.
        assert sent(each).head == log.head.seq
    log = one.day.bench.log
    own = [row for row in stored(log) if row[0] == log.origin]
    assert len(own) == log.head.seq + 1
