"""What may be said of the packs, and every refusal as the worker reads it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.rules import packs
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, Book
from tests.kit.sentences import raised_at, raising_lines
from tests.products.test_stock import begun, used

PACK = ev.PackOpened("coat", 30.0, "ml", "A17", "2027-03-31", "60.00", "Small bottle")
HOLDS = "A pack holds more than 0 and up to 1000000 ml."
DATE = "is not a date; write it like 2027-03-31."
PRICE = "is not a price; write digits like 18.50."
LEFT = "What is left is from 0 to 1000000; less than nothing cannot be."
NAN, INF = float("nan"), float("inf")

Rule = Callable[..., Drafts]
CASES: list[tuple[Rule, tuple[Any, ...], str]] = [
    (packs.open_pack, (ev.PackOpened(" ", 1.0),), "Say which product it is."),
    (packs.open_pack, (ev.PackOpened("coat", 0.0),), HOLDS),
    (packs.open_pack, (ev.PackOpened("coat", -3.0),), HOLDS),
    (packs.open_pack, (ev.PackOpened("coat", NAN),), HOLDS),
    (packs.open_pack, (ev.PackOpened("coat", INF),), HOLDS),
    (packs.open_pack, (ev.PackOpened("coat", 1_000_001.0),), HOLDS),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, "cl"),),
     "'cl' is no unit here; write ml, g, drops or each."),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, "g"),),
     "The plan counts Coating in drops; a pack in g cannot be set against that."),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, expires="31.3.2027"),), f"'31.3.2027' {DATE}"),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, expires="2027-02-30"),), f"'2027-02-30' {DATE}"),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, expires="20270331"),), f"'20270331' {DATE}"),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, price="18,50"),), f"'18,50' {PRICE}"),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, price="-1"),), f"'-1' {PRICE}"),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, price=""),), f"'' {PRICE}"),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, lot="x" * 61),),
     "A lot has at most 60 characters, none of them control ones."),
    (packs.open_pack, (ev.PackOpened("coat", 30.0, name="a\x1b[2J"),),
     "A name has at most 60 characters, none of them control ones."),
    (packs.weigh, (ev.PackWeighed("", 1.0),), "Say which product it is."),
    (packs.weigh, (ev.PackWeighed("coat", -0.1),), LEFT),
    (packs.weigh, (ev.PackWeighed("coat", NAN),), LEFT),
    (packs.mend_use, (JOB, {}), "That is what is booked already."),
    (packs.mend_use, (JOB, {"coat": 0.0}), "That is what is booked already."),
    (packs.mend_use, (JOB, {"wax": 1.0}), "The plan has no product wax."),
    (packs.mend_use, (JOB, {"coat": -11.0}), "That would leave less than nothing used."),
    (packs.mend_use, ("job-9", {"coat": 1.0}), "There is no such job."),
]  # fmt: skip


def sentence(rule: Rule, facts: tuple[Any, ...]) -> Refused:
    book = begun()
    used(book, 5, "coat", 10.0)
    with pytest.raises(Refused) as found:
        rule(book.scene(10), *facts)
    return found.value


@pytest.mark.parametrize(
    ("rule", "facts", "wanted"), CASES, ids=[f"{case[0].__name__}: {case[2]}" for case in CASES]
)
def test_sentence(rule: Rule, facts: tuple[Any, ...], wanted: str) -> None:
    assert str(sentence(rule, facts)) == wanted


def test_every_sentence_was_reached() -> None:
    reached = {raised_at(packs, sentence(rule, facts)) for rule, facts, _wanted in CASES}
    assert reached - {None} == set(raising_lines(packs))


@pytest.mark.parametrize(
    "event",
    [PACK, ev.PackOpened("coat", 600.0, "drops"), ev.PackOpened("wax", 200.0, "g"),
     ev.PackOpened("fallout", 0.1)],
)  # fmt: skip
def test_a_pack_is_written_as_it_was_said(event: ev.PackOpened) -> None:
    book = begun()
    assert book.do(10, packs.open_pack, event) == [event]
    assert book.rows[-1].job == ""


def test_nobody_need_be_on_the_clock_and_no_job_open() -> None:
    book = Book()
    assert book.do(10, packs.open_pack, PACK) == [PACK]
    assert book.do(20, packs.weigh, ev.PackWeighed("coat", 0.0)) == [ev.PackWeighed("coat", 0.0)]
    assert {(row.shift, row.job) for row in book.rows} == {("", "")}


def test_amounts_of_one_booking_are_put_right_with_one_press() -> None:
    book = begun()
    used(book, 5, "coat", 10.0)
    used(book, 6, "towel", 1.0)
    done = book.do(10, packs.mend_use, JOB, {"coat": -5.0, "fallout": 0.0, "towel": 1.0}, "spilt")
    assert done == [ev.UseCorrected("coat", -5.0, "spilt"), ev.UseCorrected("towel", 1.0, "spilt")]
    assert len({row.press for row in book.rows[-2:]}) == 1
