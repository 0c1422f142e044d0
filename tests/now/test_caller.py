"""What a caller is told: the time, the promise, the price with its extras, plain words."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.now.caller import Answer, answer
from cartclock.engine.plan.plan import Handover, Stage, Work
from cartclock.engine.rules import rules
from cartclock.engine.vehicle.vehicle import Extra
from tests.kit.book import Book, us
from tests.kit.plans import COAT, POLISH, WIPE, opening

# The book begins at 2026-09-21 14:13:20 UTC.
LOOK = Stage("Look", ("car",), (Work("look"),))
LONG = Stage("Long", ("car",), (Work("polish", 600.0),))


def told(book: Book, at_s: float = 0, **facts: Any) -> Answer:
    scene = book.scene(at_s)
    return answer(book.job(), scene.jobs, scene.shift, us(at_s), **facts)


def called(opened: ev.JobOpened, on: bool = True) -> Book:
    book = Book()
    book.press(0, opened)
    if on:
        book.press(0, ev.ClockedOn("carport"))
    return book


def test_no_job() -> None:
    found = answer(None, {}, None, us(0))
    assert (found.face.word, found.face.clock, found.lines) == ("NO JOB OPEN", "", ())


def test_the_time_is_the_plans_minutes_added_to_now() -> None:
    book = called(opening(POLISH, WIPE))
    found = told(book)
    assert (found.face.word, found.face.clock) == ("READY ABOUT", "15:18")
    assert found.ready == "about 15:18 by the plan's minutes"
    assert dict(found.lines)["not counted"] == "the rests that the heat asks for"
    rested = dict(told(book, rest="rest in 24 min").lines)["not counted"]
    assert rested == "the rests that the heat asks for; rest in 24 min"


def test_what_does_not_fit_today_is_said_in_hours() -> None:
    found = told(called(opening(LONG)))
    assert (found.face.word, found.face.clock) == ("HOURS LEFT", "10:00")
    assert found.ready == "not today: 10 h left by the plan's minutes"


def test_the_day_is_that_of_the_jobs_own_zone() -> None:
    book = called(replace(opening(POLISH), zone="Asia/Tokyo"))
    # 23:13 there, and an hour of work.
    assert told(book).face.word == "HOURS LEFT"


def test_a_plan_without_minutes_gives_no_time() -> None:
    assert told(called(opening(LOOK))).ready == "the plan has no minutes for what is left"
    assert told(called(opening(LOOK))).face.word == "NO MINUTES"
    found = told(called(opening(LOOK, WIPE)))
    assert found.ready == "about 14:18 by the plan, some steps have no minutes"


def test_work_past_its_minutes_gives_no_time_and_says_why() -> None:
    book = called(opening(WIPE))
    book.do(0, rules.take_up, next(m for m in book.moves(0) if m.act == "take up"))
    found = told(book, 3600)
    assert found.face.word == "NOT KNOWN"
    assert found.ready == "the plan's minutes for what is in hand are over"


def test_all_done() -> None:
    book = called(opening(WIPE))
    book.do(0, rules.take_up, book.moves(0)[0])
    book.do(300, rules.take_break, "rest", None, True)
    found = told(book, 300)
    assert (found.face.word, found.ready) == ("ALL DONE", "all the planned work is done")
    assert dict(found.lines) == {"done": "Wipe", "in hand": "a break (rest)"}


@pytest.mark.parametrize(
    ("promised_s", "said"),
    [(7200, "16:13"), (65 * 60, "15:18"), (3600, "15:13, 5 min before that")],
)
def test_a_promise_is_held_against_the_time(promised_s: int, said: str) -> None:
    book = called(replace(opening(POLISH, WIPE), promised_us=us(promised_s)))
    assert dict(told(book).lines)["promised"] == said


def test_the_earliest_hand_over_is_told_until_it_is_there() -> None:
    mine = opening(WIPE, POLISH)
    keep = Handover("PT2H", "Wipe", "label of the pack")
    book = called(replace(mine, plan=replace(mine.plan, handover=keep)))
    said = dict(told(book).lines)["hand over"]
    # Five minutes of wiping and two hours: 16:18:20, told to the next minute.
    assert said == "not before 16:19, by the plan's minutes"
    book.do(0, rules.take_up, book.moves(0)[0])
    book.do(300, rules.take_break, "rest", None, True)
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
    assert dict(told(book, 10).lines) | {"not counted": ""} == {
        "done": "nothing yet", "in hand": "wipe whole car", "now": "Wipe",
        "then": "Coat, Polish", "not counted": "",
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
    assert "READY ABOUT" in said


@pytest.mark.parametrize(("walk_in", "said"), [(False, "phone"), (True, "other work")])
def test_other_work_is_named_only_to_the_worker(walk_in: bool, said: str) -> None:
    book = called(opening(WIPE))
    book.do(1, rules.start_other, "phone")
    assert dict(told(book, 5, walk_in=walk_in).lines)["in hand"] == said


def test_off_the_clock_nothing_is_in_hand() -> None:
    lines = dict(told(called(opening(WIPE), on=False)).lines)
    assert lines["in hand"] == "nothing at this moment"
