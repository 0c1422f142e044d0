"""Logs of several carts in one reading: a press is known by its origin and its number there."""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import fold_job
from cartclock.engine.facts.refold import in_the_way
from cartclock.engine.facts.rows import Row, believed_rows, standing
from cartclock.engine.press import Press
from cartclock.engine.products.stock import stock
from cartclock.engine.record.trail import trail
from tests.kit.book import row_at, us
from tests.kit.plans import WIPE, opening

A, B = "cart A", "cart B"


def log(origin: str, *events: Struct) -> list[Row]:
    """One press a second, numbered from 0; each cart has a shift and a job of its own."""
    return [
        row_at(
            event,
            at_s,
            at_s,
            origin=origin,
            press=Press(origin, at_s),
            shift=f"{origin} shift",
            job=f"{origin} job" if type(event) in ev.JOB_EVENTS else "",
        )
        for at_s, event in enumerate(events)
    ]


def drinks(*rows: Row) -> list[tuple[str, int, int]]:
    """(origin, ml, job time) of what is believed to be drunk."""
    return [
        (row.origin, row.event.ml, row.at_us)
        for row in believed_rows(rows)
        if isinstance(row.event, ev.DrinkTaken)
    ]


def four(origin: str, *corrections: Struct) -> list[Row]:
    """Presses 0 to 3 are drinks of 100, 101, 102 and 103 ml; the corrections come behind."""
    return log(origin, *(ev.DrinkTaken(100 + number) for number in range(4)), *corrections)


def test_a_strike_of_one_cart_leaves_the_other_carts_press_of_that_number() -> None:
    a, b = four(A, ev.PressStruck(3)), four(B)
    assert [(origin, ml) for origin, ml, _at in drinks(*a, *b)] == [
        (A, 100), (B, 100), (A, 101), (B, 101), (A, 102), (B, 102), (B, 103),
    ]  # fmt: skip
    assert drinks(*a, *b) == drinks(*b, *a)
    assert standing([*a, *b]) == {Press(A, 3): False}


def test_a_restore_of_one_cart_restores_no_press_of_the_other() -> None:
    a, b = four(A, ev.PressStruck(3), ev.PressRestored(3)), four(B, ev.PressStruck(3))
    assert [(origin, ml) for origin, ml, _at in drinks(*b, *a) if ml == 103] == [(A, 103)]


def test_a_move_of_one_cart_moves_no_press_of_the_other() -> None:
    a, b = four(A, ev.PressMoved(3, us(60))), four(B, ev.PressMoved(2, us(70)))
    assert drinks(*a, *b)[-2:] == [(A, 103, us(60)), (B, 102, us(70))]
    assert (B, 103, us(3)) in drinks(*a, *b) and (A, 102, us(2)) in drinks(*a, *b)


def test_a_struck_move_of_one_cart_stops_no_move_of_the_other() -> None:
    moves = (ev.PressMoved(3, us(60)), ev.PressStruck(4))
    assert (A, 103, us(3)) in drinks(*four(A, *moves), *four(B, moves[0]))
    assert (B, 103, us(60)) in drinks(*four(A, *moves), *four(B, moves[0]))


def test_a_correction_may_name_the_other_carts_press() -> None:
    a, b = four(A), four(B, ev.PressStruck(3, "seen twice", A))
    assert b[-1].corrects == Press(A, 3)
    assert [(origin, ml) for origin, ml, _at in drinks(*a, *b) if ml == 103] == [(B, 103)]
    assert a[0].corrects is None


def test_what_stands_in_the_way_is_named_with_its_cart() -> None:
    a = log(A, ev.ClockedOn(), ev.BreakTaken("rest"), ev.BreakEnded(), ev.PressStruck(0))
    b = log(B, ev.ClockedOn(), ev.BreakTaken("rest"), ev.BreakEnded())
    concerned, keep = (Press(A, 0), Press(A, 3)), (Press(A, 3),)
    assert in_the_way([*b, *a], concerned, {}, keep) == (Press(A, 1), Press(A, 2))


def test_the_stock_of_one_cart_knows_no_correction_of_the_other() -> None:
    a = log(A, ev.PackOpened("coat", 50.0), ev.PackWeighed("coat", 20.0))
    b = log(B, opening(WIPE), ev.DrinkTaken(200), ev.PressStruck(1))
    assert stock([*a, *b]).items["coat"].left == 20
    assert stock([*b, *a]).items["coat"].left == 20


def test_the_trail_of_a_job_leaves_out_what_the_other_cart_put_right() -> None:
    a = log(A, opening(WIPE), ev.OdometerRead(5))
    b = log(B, opening(WIPE), ev.OdometerRead(6), ev.PressStruck(1, "misread"))
    job = f"{A} job"
    rows = [*a, *b]
    found, _odd = fold_job(row for row in believed_rows(rows) if row.job == job)
    assert len(found.facts) == 1
    assert trail(found, (), {job: found}, rows).corrections == ()
    other = f"{B} job"
    struck, _odd = fold_job(row for row in believed_rows(rows) if row.job == other)
    assert [one.why for one in trail(struck, (), {other: struck}, rows).corrections] == ["misread"]


def test_rows_of_several_carts_have_one_order() -> None:
    rows = [*four(A), *four(B)]
    one_way, other_way = believed_rows(rows), believed_rows(rows[::-1])
    assert one_way == other_way == sorted(rows, key=lambda row: row.happened)
    assert sorted(four(A), key=lambda row: row.written) == four(A)
    assert len({row.identity for row in rows}) == 8
