"""What the open jobs still need, against what is left: words, dates, and what is booked."""

from __future__ import annotations

from fractions import Fraction

import pytest
from msgspec.structs import replace

from cartclock.engine.dates import instant
from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Plan, Stage
from cartclock.engine.products.booked import booked, drawn
from cartclock.engine.products.stock import stock
from cartclock.engine.products.supply import (
    amount_words,
    expired,
    needed,
    stock_notices,
    will_not_last,
)
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, us
from tests.kit.plans import COAT, FALLOUT, WIPE
from tests.products.test_stock import OPENED, OTHER, PRODUCTS, used

FALLOUT_ML, COAT_ML = ("fallout", "ml"), ("coat", "ml")


def begun(*stages: Stage, zone: str = "UTC", job: str = JOB, number: int = 1) -> Book:
    book = Book()
    plan = Plan("tiny", stages, PRODUCTS)
    book.press(0, replace(OPENED, plan=plan, zone=zone, number=number), job=job)
    book.press(0, ev.ClockedOn("carport"))
    return book


def notices(book: Book, at_s: float = 0) -> tuple[str, ...]:
    return stock_notices(stock(book.rows), book.jobs(), us(at_s))


def test_needed_at_the_beginning_is_the_whole_plan() -> None:
    found = needed(begun(FALLOUT, COAT).job())
    # 3 sections of 60 ml of a 10:1 mix; 2 layers of 3 sections of 10 drops, each primed once.
    assert found == {FALLOUT_ML: Fraction(180, 11), COAT_ML: Fraction(2 * 35, 20)}


@pytest.mark.parametrize("stages", [(FALLOUT,), (COAT,), (FALLOUT, WIPE, COAT)], ids=len)
def test_needed_falls_by_exactly_what_a_press_books(stages: tuple[Stage, ...]) -> None:
    book, at_s, presses = begun(*stages), 0.0, 0
    whole = needed(book.job())
    while True:
        found = [m for m in book.moves(at_s) if m.act in ("take up", "end")]
        if not found:
            break
        book.do(at_s, rules.take_up, found[0], {"layer_early": "said again"})
        at_s, presses = at_s + 37, presses + 1
        left, used_up = needed(book.job()), dict.fromkeys(whole, Fraction(0))
        for took in drawn(booked(book.job().opened.plan, book.job().facts)):  # type: ignore[union-attr]  # it was opened
            used_up[took.product, took.unit] += took.amount
        assert {key: left.get(key, 0) + used_up[key] for key in whole} == whole
    assert presses >= 5
    assert needed(book.job()) == {}


def test_skipped_split_and_closed_sections_need_nothing() -> None:
    book = begun(FALLOUT)
    book.press(1, ev.SectionSkipped("Fallout", ("left",)))
    assert needed(book.job()) == {FALLOUT_ML: Fraction(120, 11)}
    book.press(2, ev.SectionSplit("Fallout", "right", ("right front", "right rear")))
    assert needed(book.job()) == {FALLOUT_ML: Fraction(180, 11)}
    book.press(3, ev.JobClosed())
    assert needed(book.job()) == {}


def test_it_will_not_last_is_said_only_after_a_weighing() -> None:
    book = begun(FALLOUT)
    book.press(1, ev.PackOpened("fallout", 5.0))
    assert notices(book) == ()
    press = book.press(2, ev.PackWeighed("fallout", 16.36))
    assert notices(book) == (
        "Iron fallout remover will not last for this job: 16.3 ml left, 16.4 ml needed.",
    )
    book.press(3, ev.PressStruck(press))
    assert notices(book) == ()
    book.press(4, ev.PackWeighed("fallout", 16.37))
    assert notices(book) == ()


def test_exactly_enough_lasts() -> None:
    book = begun(COAT)
    book.press(1, ev.PackWeighed("coat", 3.5))
    assert will_not_last(stock(book.rows), book.jobs().values()) == {}
    used(book, 2, "coat", 1.0)
    assert will_not_last(stock(book.rows), book.jobs().values()) == {"coat": Fraction(7, 2)}


def test_less_than_nothing_left_is_none_left() -> None:
    book = begun(COAT)
    book.press(1, ev.PackWeighed("coat", 0.1))
    used(book, 2, "coat", 10.0)
    assert notices(book) == ("Coating will not last for this job: 0 ml left, 3.5 ml needed.",)


def test_several_jobs_are_added_up() -> None:
    book = begun(COAT)
    book.press(1, replace(OPENED, plan=Plan("two", (COAT,), PRODUCTS), number=2), job=OTHER)
    book.press(2, ev.PackWeighed("coat", 6.0))
    assert notices(book) == ("Coating will not last for the open jobs: 6 ml left, 7 ml needed.",)


def test_use_that_cannot_be_reckoned_gives_no_verdict() -> None:
    book = begun(COAT)
    grams = replace(PRODUCTS[1], unit="g")
    book.press(1, replace(OPENED, plan=Plan("two", (), (grams,)), number=2), job=OTHER)
    book.press(2, ev.PackOpened("coat", 30.0))
    book.press(3, ev.PackWeighed("coat", 1.0))
    assert len(notices(book)) == 1
    used(book, 4, "coat", 10.0, job=OTHER)
    assert notices(book) == ()


@pytest.mark.parametrize(
    ("zone", "when", "over"),
    [
        ("UTC", "2026-09-30 23:59", False),
        ("UTC", "2026-10-01 00:00", True),
        ("Pacific/Auckland", "2026-09-30 23:59", False),
        ("Pacific/Auckland", "2026-10-01 00:00", True),
        ("America/New_York", "2026-09-30 23:59", False),
        ("America/New_York", "2026-10-01 00:00", True),
    ],
)
def test_a_pack_is_over_with_the_midnight_of_the_jobs_zone(
    zone: str, when: str, over: bool
) -> None:
    book = begun(COAT, zone=zone)
    book.press(1, ev.PackOpened("coat", 30.0, lot="A17", expires="2026-09-30"))
    now_us = instant(when, zone)
    assert expired(stock(book.rows).items["coat"], now_us, zone) == over
    said = stock_notices(stock(book.rows), book.jobs(), now_us)
    assert said == (("Coating: lot A17 expired, last day Wed 30 Sep 2026.",) if over else ())


def test_only_a_product_that_is_still_needed_is_spoken_of() -> None:
    book = begun(COAT)
    book.press(1, ev.PackOpened("fallout", 30.0, expires="2020-01-01"))
    book.press(2, ev.PackWeighed("fallout", 0.0))
    assert notices(book) == ()
    book.press(3, ev.PackOpened("coat", 30.0, expires="2020-01-01"))
    assert notices(book) == ("Coating: the pack in use expired, last day Wed 1 Jan 2020.",)
    book.press(4, ev.PackOpened("coat", 30.0))
    assert notices(book) == ()


def test_without_a_job_nothing_is_said() -> None:
    book = Book()
    book.press(0, ev.PackOpened("coat", 30.0, expires="2020-01-01"))
    assert stock_notices(stock(book.rows), {}, us(0)) == ()


def test_amounts_are_rounded_to_the_side_that_is_asked_for() -> None:
    third = Fraction(1, 3)
    said = [amount_words(third, "ml", toward) for toward in ("down", "near", "up")]
    assert said == ["0.3 ml", "0.3 ml", "0.4 ml"]
    assert amount_words(Fraction(4), "each") == "4"
    assert amount_words(Fraction(-1, 3), "ml", "down") == "-0.4 ml"
