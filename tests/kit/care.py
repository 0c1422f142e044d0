"""A job with a coat that ends at a given instant, and its record: for dates and papers."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Aftercare, Cure, Handover, Plan, Product, Stage, Use, Work
from cartclock.engine.record.record import Record, TextOf, record
from cartclock.engine.rules import rules
from tests.kit.book import JOB, T0_US, Book, us

COAT = Stage(
    "Coat",
    ("bonnet", "roof"),
    (Work("apply", 5.0, (Use("coat", 10.0),)), Work("level", 5.0)),
)
CURED = Stage("Coat", COAT.sections, COAT.steps, cure=Cure(12 * 3600, 15.0, 24 * 3600))
DRY = Aftercare("Keep it dry.", "label of the pack", until="PT48H", after="Coat")
WASH = Aftercare("First wash.", "label of the pack", from_="P7D", after="Coat")
VISIT = Aftercare("Inspection.", "common practice, no source", every="P6M", times=2, visit=True)
LABEL = Handover("PT12H", "Coat", "label of the pack")
# us(0) is Mon 21 Sep 2026 14:13:20 UTC.
DONE_S = 1200.0


def second(text: str) -> float:
    """The book's second of an ISO 8601 instant that carries its offset."""
    return datetime.fromisoformat(text).timestamp() - T0_US / 1e6


def begun(
    *items: Aftercare,
    zone: str = "UTC",
    stages: tuple[Stage, ...] = (COAT,),
    at_s: float = 0,
    vehicle: str = "grey van",
    products: tuple[Product, ...] = (Product("coat", "Coating", unit="drops"),),
    handover: Handover | None = None,
    promised_us: int | None = None,
) -> Book:
    """A job opened and the worker clocked on at that second, nothing done."""
    book = Book()
    plan = Plan("Coat only", stages, products, aftercare=items, handover=handover)
    opening = ev.JobOpened(plan, "ab" * 32, 7, vehicle, zone, promised_us=promised_us)
    book.press(at_s, opening)
    book.press(at_s, ev.ClockedOn())
    return book


def coat(book: Book, at_s: float, *sections: str, each_s: float = 600) -> float:
    """Takes these sections through both steps; returns when the last is done."""
    for section in sections:
        for step_s in (0.0, each_s / 2):
            moves = book.moves(at_s + step_s)
            # What is in hand is finished by taking up its next step.
            fitting = [m for m in moves if m.sections == (section,)] if not step_s else moves
            book.do(at_s + step_s, rules.take_up, fitting[0])
        at_s += each_s
        book.do(at_s, rules.take_up, next(m for m in book.moves(at_s) if m.act == "end"))
    return at_s


def finished(*items: Aftercare, at_s: float = DONE_S, **facts: Any) -> Book:
    """The same job with bonnet and roof coated, the last touch at second `at_s`; still open."""
    book = begun(*items, at_s=at_s - DONE_S, **facts)
    assert coat(book, at_s - DONE_S, "bonnet", "roof") == at_s
    return book


def record_of(
    book: Book, at_s: float, closed: Closed = NEVER_CLOSED, text: TextOf = lambda _ref: None
) -> Record:
    """The record of the job at that second; no private text is held if `text` gives none."""
    return record(
        book.job(JOB),
        {"me 1": book.shift("me 1")},
        book.jobs(),
        us(at_s),
        rows=book.rows,
        text=text,
        closed=closed,
    )
