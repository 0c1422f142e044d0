"""What was said at a job's opening and is said otherwise later."""

from __future__ import annotations

from decimal import Decimal

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.dates import spoken
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.record.arrival import arrival_sheet
from cartclock.engine.record.customer import customer_sheet
from cartclock.engine.record.record import Record, record
from cartclock.engine.rules.amending import amend, as_typed
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT

FRIDAY_US = us(90_000)


def seal(text: str) -> Sealed:
    """A private text that can be read in its reference."""
    return Sealed(text, "")


def paper(book: Book) -> Record:
    """The record of the job, with all private texts at hand."""
    return record(
        book.job(), {"me 1": book.shift()}, book.jobs(), us(5000), rows=book.rows,
        text=lambda ref: ref,
    )  # fmt: skip


def amended(*events: Struct) -> Book:
    """A job that was opened with nothing but a vehicle, and then amended."""
    book = opened(COAT)
    for at_s, event in enumerate(events, 100):
        book.press(at_s, event)
    return book


EVENTS = (
    ev.JobAmended("customer", seal("Ada Example")),
    ev.JobAmended("plate", seal("DEMO 7")),
    ev.JobAmended("phone", seal("000 123")),
    ev.JobAmended("price", price="480.00"),
    ev.JobAmended("promised_us", promised_us=FRIDAY_US),
)


def test_what_is_amended_stands_on_the_papers_at_once() -> None:
    found = paper(amended(*EVENTS))
    assert (found.customer, found.plate, found.phone) == ("Ada Example", "DEMO 7", "000 123")
    assert (found.price, found.promised_us) == ("480.00", FRIDAY_US)
    arrival = arrival_sheet(found)
    assert (arrival.customer, arrival.phone, arrival.total) == (
        "Ada Example", "000 123", Decimal("480.00"),
    )  # fmt: skip
    assert (arrival.promised_us, customer_sheet(found).plate) == (FRIDAY_US, "DEMO 7")


def test_an_amendment_leaves_a_trace_on_the_record() -> None:
    changed = ev.JobAmended("price", price="520")
    noted = [one for one in paper(amended(*EVENTS, changed)).noted if one.kind == "amended"]
    assert [one.text for one in noted] == [
        "customer: noted", "plate: noted", "phone: noted", "price: 480.00",
        f"promised for {spoken(FRIDAY_US, 'UTC')}", "price: 520",
    ]  # fmt: skip
    assert all(one.private for one in noted)
    # Names stand where they are kept, not in the trace.
    assert not any("Ada" in one.text for one in noted)


def test_only_what_is_named_becomes_another() -> None:
    found = paper(amended(*EVENTS, ev.JobAmended("customer", seal("Bo Example"))))
    assert (found.customer, found.plate, found.price) == ("Bo Example", "DEMO 7", "480.00")


def test_what_is_struck_was_never_said_and_what_stood_before_stands_again() -> None:
    book = amended(EVENTS[3])
    book.press(200, ev.JobAmended("price", price="520"))
    book.press(210, ev.PressStruck(book.rows[-1].press.seq))
    assert paper(book).price == "480.00"


def test_with_nothing_it_is_said_no_more() -> None:
    gone = tuple(replace(event, text=None, price=None, promised_us=None) for event in EVENTS)
    found = paper(amended(*EVENTS, *gone))
    assert (found.customer, found.plate, found.phone, found.price) == ("", "", "", "")
    assert found.promised_us is None
    assert [one.text for one in found.noted][-2:] == ["no price agreed", "no promise"]


def test_after_the_close_all_but_the_promise_can_be_amended() -> None:
    book = amended(ev.JobClosed({}))
    for event in EVENTS[:-1]:
        assert [draft.event for draft in amend(book.scene(300), JOB, event)] == [event]
    with pytest.raises(Refused, match="handed over; open it again to promise it anew"):
        amend(book.scene(300), JOB, EVENTS[-1])


def test_a_job_that_is_none_and_a_price_that_is_none_are_refused() -> None:
    scene = amended().scene(300)
    with pytest.raises(Refused, match="no such job"):
        amend(scene, "another", EVENTS[0])
    with pytest.raises(Refused, match="is not a price"):
        amend(scene, JOB, ev.JobAmended("price", price="a lot"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1,250", "1,250 could be 1250 or 1.25; write one of them."),
        ("1.250", "1.250 could be 1250 or 1.25; write one of them."),
        ("480 EUR", "'480 EUR' is not a price; write digits like 18.50."),
        ("-5", "'-5' is not a price; write digits like 18.50."),
    ],
)
def test_a_price_that_could_be_two_or_none_is_refused_where_it_is_typed(
    text: str, said: str
) -> None:
    with pytest.raises(Refused) as refused:
        as_typed("price", text, seal, us(0), "UTC")
    assert str(refused.value) == said


def test_what_is_typed_is_what_is_said() -> None:
    typed = {
        what: as_typed(what, text, seal, us(0), "UTC")
        for what, text in (("customer", "Ada Example"), ("price", "480,50"), ("plate", ""))
    }
    assert typed["customer"] == ev.JobAmended("customer", seal("Ada Example"))
    assert typed["price"] == ev.JobAmended("price", price="480.50")
    assert typed["plate"] == ev.JobAmended("plate")
    with pytest.raises(Refused, match="1 to 100 characters"):
        as_typed("phone", "1" * 101, seal, us(0), "UTC")
