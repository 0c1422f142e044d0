"""Other work that is given to another job: the hours and both jobs' records follow."""

from __future__ import annotations

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft
from cartclock.engine.record.record import Record, record
from cartclock.engine.rules import rules
from cartclock.engine.rules.film_left import FILM_LEFT
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, POLISH, opening

OTHER = "job-2"
MINUTE = 60


def called() -> Book:
    """Two jobs open; hands on the first, then ten minutes with a customer booked on it."""
    book = opened(COAT)
    book.press(1, Draft(opening(POLISH, number=2), OTHER))
    book.do(60, rules.take_up, next(m for m in book.moves(60) if m.job == JOB))
    # The film is wet.
    book.do(120, rules.start_other, "customer", JOB, over={FILM_LEFT: "the mate levels it"})
    book.do(120 + 10 * MINUTE, rules.take_up, book.moves(120 + 10 * MINUTE)[0])
    return book


def made(book: Book, job: str, at_s: float) -> Record:
    return record(book.jobs()[job], {"me 1": book.shift()}, book.jobs(), us(at_s), rows=book.rows)


def customer_minutes(book: Book, job: str, at_s: float = 3600) -> float:
    """What the record of the job says went to its customer."""
    shares = made(book, job, at_s).shares
    return sum(s.length_us for s in shares if (s.what, s.job) == ("customer", job)) / 60e6


def assign(book: Book, at_s: float, job: str, entered_s: float) -> None:
    """Said at `entered_s` of the time `at_s`."""
    before = Book()
    before.rows = [row for row in book.rows if row.at_us <= us(at_s)]
    before._shifts = book._shifts
    book.press(at_s, *rules.assign_other(before.scene(at_s), job), entered_s=entered_s)


def test_a_stretch_moves_whole_to_the_other_job_and_both_records_follow() -> None:
    book = called()
    assert (customer_minutes(book, JOB), customer_minutes(book, OTHER)) == (10, 0)
    assign(book, 150, OTHER, 2000)
    assert book.odd() == []
    assert (customer_minutes(book, JOB), customer_minutes(book, OTHER)) == (0, 10)
    # The day stays what it was.
    assert sum(piece.length_us for piece in book.pieces(3600)) == us(3600) - us(0)
    # The trace stands on the record of the job that it was taken from.
    late = [one.what for one in made(book, JOB, 3600).trail.late]
    assert any("other work was for job 2" in what for what in late), late


def test_a_stretch_of_a_closed_shift_moves_as_well() -> None:
    book = called()
    book.do(900, rules.clock_off, {"window_open": "x"})
    assign(book, 120, OTHER, 90_000)
    assert book.odd() == []
    assert (customer_minutes(book, JOB, 90_000), customer_minutes(book, OTHER, 90_000)) == (0, 10)


def test_the_last_word_holds_and_nobody_is_one() -> None:
    book = called()
    assign(book, 130, OTHER, 2000)
    assign(book, 140, "", 2100)
    assert (customer_minutes(book, JOB), customer_minutes(book, OTHER)) == (0, 0)
    kinds = {(p.kind, p.what, p.job) for p in book.pieces(3600)}
    assert ("other", "customer", "") in kinds


def test_what_cannot_be_is_refused() -> None:
    book = called()
    with pytest.raises(Refused, match="No other work was on then"):
        assign(book, 90, OTHER, 2000)
    with pytest.raises(Refused, match="booked so already"):
        assign(book, 150, JOB, 2000)
    with pytest.raises(Refused, match="was not open then"):
        assign(book, 150, "job-9", 2000)


def test_the_beginning_struck_takes_what_was_said_of_it_along() -> None:
    book = called()
    assign(book, 150, OTHER, 2000)
    began = next(row for row in book.rows if isinstance(row.event, ev.OtherWorkStarted))
    book.press(2100, ev.PressStruck(began.press.seq))
    # Left alone it would be said of work that was never on.
    assert any("OtherWorkAssigned cannot be" in why for why in book.odd())
