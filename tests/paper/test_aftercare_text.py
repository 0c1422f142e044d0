"""Aftercare on the record: visits that were moved, and those that have no day."""

from __future__ import annotations

from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.record.customer import customer_sheet
from cartclock.engine.rules import rules
from tests.kit.book import JOB
from tests.kit.care import VISIT, finished, record_of
from tests.kit.setting import customer_text, record_text


def paper(closed: Closed) -> str:
    """The record's text of a job with VISIT, closed on Mon 21 Sep 2026, without its line breaks."""
    book = finished(VISIT)
    book.do(7200, rules.close_job, JOB)
    return " ".join(record_text(record_of(book, 7300, closed)).split())


def test_a_moved_visit_says_from_which_day_and_why() -> None:
    said = paper(Closed(frozenset({7})))
    for words in (
        "Mon 22 Mar 2027 (1 of 2) Inspection. Tue 21 Sep 2027 (2 of 2)",
        "every 6 months from the close, Mon 21 Sep 16:13; at the shop",
        "- Mon 22 Mar 2027: moved from Sun 21 Mar 2027, closed on Sundays",
    ):
        assert words in said
    assert "or on its next open day" not in said


def test_a_shop_that_is_always_closed_has_no_day() -> None:
    said = paper(Closed(frozenset(range(1, 8))))
    assert (
        "no day Inspection. - No open day was found in the 366 days from Sun 21 Mar 2027 and Tue "
        "21 Sep 2027 on; agree on a day with the shop."
    ) in said


def test_the_customer_is_told_which_visit_has_no_day_and_what_to_do() -> None:
    book = finished(VISIT)
    book.do(7200, rules.close_job, JOB)
    says = (
        "no open day Inspection. No open day was found in the 366 days from Sun 21 Mar 2027 and "
        "Tue 21 Sep 2027 on; agree on a day with the shop."
    )
    for always, told in ((True, True), (False, False)):
        closed = Closed(frozenset(range(1, 8 if always else 7)))
        sheet = customer_sheet(record_of(book, 7300, closed))
        assert (says in " ".join(customer_text(sheet).split())) is told


def test_where_nothing_is_known_of_closed_days_the_paper_leaves_it_open() -> None:
    assert "; at the shop, or on its next open day if it is closed" in paper(NEVER_CLOSED)
