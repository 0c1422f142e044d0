"""What a caller is told: the time, the promise, the price with its extras, plain words."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from cartclock.engine.ahead.foreseen import by_the_plan
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.ahead.telling import at_the_latest_us
from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.now.caller import Answer, answer
from cartclock.engine.plan.plan import Handover, Stage, Work
from cartclock.engine.rules import rules
from cartclock.engine.vehicle.vehicle import Extra
from tests.kit.book import JOB, Book, us
from tests.kit.plans import COAT, POLISH, WIPE, opening

# The book begins at 2026-09-21 14:13:20 UTC.
LOOK = Stage("Look", ("car",), (Work("look"),))
LONG = Stage("Long", ("car",), (Work("polish", 400.0),))
LONG_TOO = replace(LONG, name="Longer")


def told(book: Book, at_s: float = 0, **facts: Any) -> Answer:
    scene = book.scene(at_s)
    return answer(
        book.job(), scene.jobs, scene.shift, by_the_plan(scene.jobs, scene.shift), us(at_s), **facts
    )


def prospect(book: Book, at_s: float) -> Prospect:
    """What is ahead by the plan only."""
    scene = book.scene(at_s)
    return by_the_plan(scene.jobs, scene.shift).at(us(at_s))


def called(opened: ev.JobOpened, on: bool = True) -> Book:
    book = Book()
    book.press(0, opened)
    if on:
        book.press(0, ev.ClockedOn("carport"))
    return book


def test_no_job() -> None:
    found = answer(None, {}, None, by_the_plan({}, None), us(0))
    assert (found.face.word, found.face.clock, found.lines) == ("NO JOB OPEN", "", ())


def test_a_customer_hears_what_holds_in_four_days_of_five() -> None:
    book = called(opening(POLISH, WIPE))
    found = told(book)
    ahead = prospect(book, 0)
    by_us = at_the_latest_us(ahead.finish(JOB).ready_by_us)
    clock = f"{local(by_us, 'UTC'):%H:%M}"
    assert (found.face.word, found.face.clock) == ("READY BY", clock)
    assert found.ready == f"by {clock}, from the plan only"
    # An hour and five minutes by the plan: later than that, and not before it is expected.
    assert us(65 * 60) < by_us
    expected = dict(found.lines)["expected"]
    assert expected.endswith(f"in four days of five by {clock}")
    assert expected[:5] < clock
    assert "not counted" not in dict(found.lines)


def test_what_is_ready_another_day_is_said_with_its_weekday() -> None:
    found = told(called(opening(LONG, LONG_TOO)))
    # More than thirteen hours by the plan, from the afternoon of a Monday on.
    assert found.face.word == "READY WED"
    assert found.ready.startswith(f"by Wed {found.face.clock}")
    assert "your day begins Tue 08:00" in dict(found.lines)["expected"]


def test_the_day_is_that_of_the_jobs_own_zone() -> None:
    book = called(replace(opening(POLISH), zone="Asia/Tokyo"))
    # 23:13 there, and an hour of work.
    assert told(book).face.word == "READY TUE"


def test_a_plan_without_minutes_gives_no_time() -> None:
    assert told(called(opening(LOOK))).ready == "the plan has no minutes for what is left"
    assert told(called(opening(LOOK))).face.word == "NO MINUTES"
    found = told(called(opening(LOOK, WIPE)))
    assert found.ready.endswith(", some steps of the plan have no minutes")


def test_work_past_its_minutes_still_has_some_left() -> None:
    book = called(opening(WIPE))
    book.do(0, rules.take_up, next(m for m in book.moves(0) if m.act == "take up"))
    assert told(book, 3600).face.clock > "15:13"


def test_all_done() -> None:
    book = called(opening(WIPE))
    book.do(0, rules.take_up, book.moves(0)[0])
    book.do(300, rules.take_break, "rest", None, True)
    found = told(book, 300)
    assert (found.face.word, found.ready) == ("ALL DONE", "all the planned work is done")
    assert dict(found.lines) == {"done": "Wipe", "in hand": "a break (rest)"}


@pytest.mark.parametrize(
    ("promised_s", "said"),
    [
        (9 * 3600, "23:13, kept in more than 9 of 10 such days"),
        (60 * 60, "15:13, kept in 3 of 10 such days"),
        (60, "14:14, kept in fewer than 1 of 10 such days"),
    ],
)
def test_a_promise_is_held_against_the_time(promised_s: int, said: str) -> None:
    book = called(replace(opening(POLISH, WIPE), promised_us=us(promised_s)))
    assert dict(told(book).lines)["promised"] == said


def test_a_promise_that_is_past_is_said_to_be_and_not_of_what_is_done() -> None:
    book = called(replace(opening(WIPE), promised_us=us(600)))
    assert dict(told(book, 661).lines)["promised"] == "14:23, which is past"
    book.do(0, rules.take_up, book.moves(0)[0])
    book.do(300, rules.take_break, "rest", None, True)
    assert dict(told(book, 661).lines)["promised"] == "14:23"


def test_the_earliest_hand_over_is_told_once_it_is_known_and_until_it_is_there() -> None:
    mine = opening(WIPE, POLISH)
    keep = Handover("PT2H", "Wipe", "label of the pack")
    book = called(replace(mine, plan=replace(mine.plan, handover=keep)))
    # Before that it is in the time that is told: five minutes of wiping and two hours.
    assert "hand over" not in dict(told(book).lines)
    assert told(book).face.clock >= "16:18"
    book.do(0, rules.take_up, book.moves(0)[0])
    book.do(300, rules.take_break, "rest", None, True)
    # Five minutes of wiping and two hours: 16:18:20, told to the next minute.
    assert dict(told(book, 301).lines)["hand over"] == "not before 16:19"
    assert "hand over" not in dict(told(book, 7501).lines)


SEAL, TAR = Extra(0, "glass seal", Decimal("85")), Extra(0, "", None)


@pytest.mark.parametrize(
    ("price", "extras", "said"),
    [
        (None, (), None),
        ("640.00", (), "640.00 EUR"),
        ("640.00", (SEAL,), "725.00 EUR: 640.00 and glass seal 85"),
        ("640.00", (SEAL, TAR), "725.00 EUR: 640.00 and glass seal 85, extra"),
        (None, (SEAL,), "none agreed; extras: glass seal 85 EUR"),
    ],
)
def test_the_price_is_the_agreed_one_with_its_extras(
    price: str | None, extras: tuple[Extra, ...], said: str | None
) -> None:
    book = called(replace(opening(WIPE), price=price))
    assert dict(told(book, extras=extras, currency="EUR").lines).get("price") == said


def test_done_in_hand_now_and_then() -> None:
    book = called(opening(WIPE, COAT, POLISH))
    book.do(0, rules.take_up, book.moves(0)[0])
    assert dict(told(book, 10).lines) | {"expected": ""} == {
        "done": "nothing yet", "in hand": "wipe whole car", "now": "Wipe",
        "then": "Coat, Polish", "expected": "",
    }  # fmt: skip
    book.do(300, rules.take_up, book.moves(300)[0])
    lines = dict(told(book, 310).lines)
    assert lines["done"] == "Wipe"
    assert lines["in hand"] == "apply bonnet left, piece 1 of 3"
    assert lines["now"] == "Coat, layer 1 of 2: 0 of 3"


def test_walk_in_leaves_out_names_prices_and_other_jobs() -> None:
    mine = replace(opening(WIPE), price="640.00", vehicle="the red one of Ann")
    book = called(mine)
    book.press(0, replace(opening(POLISH, number=2), vehicle="white van"), job="job-2")
    move = next(m for m in book.moves(0) if m.job == "job-2")
    book.do(1, rules.take_up, move)
    facts = {"customer": "Ann", "extras": (SEAL,), "currency": "EUR"}
    open_ = told(book, 5, **facts)
    assert open_.whose == "Ann, the red one of Ann"
    assert dict(open_.lines)["in hand"] == "other work: white van"
    said = repr(told(book, 5, **facts, walk_in=True))
    for hidden in ("Ann", "red", "640", "725", "EUR", "glass", "van", "Polish"):
        assert hidden not in said, hidden
    assert "this car" in said
    assert "READY BY" in said


@pytest.mark.parametrize(("walk_in", "said"), [(False, "phone"), (True, "other work")])
def test_other_work_is_named_only_to_the_worker(walk_in: bool, said: str) -> None:
    book = called(opening(WIPE))
    book.do(1, rules.start_other, "phone")
    assert dict(told(book, 5, walk_in=walk_in).lines)["in hand"] == said


def test_off_the_clock_nothing_is_in_hand() -> None:
    lines = dict(told(called(opening(WIPE), on=False)).lines)
    assert lines["in hand"] == "nothing at this moment"
