"""Visits never fall on a closed day, say from which day they were moved, and never loop."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.after.aftercare import Care, cares
from cartclock.engine.after.dues import dues
from cartclock.engine.after.visits import (
    NEVER_CLOSED,
    SEARCHED_DAYS,
    Closed,
    arranged,
    no_day_text,
    open_day,
    own_day,
    reasons_text,
)
from cartclock.engine.dates import instant, local, spoken
from cartclock.engine.plan.plan import Aftercare
from cartclock.engine.rules import rules
from tests.kit.book import JOB
from tests.kit.care import VISIT, finished

SUNDAY = Closed(frozenset({7}))
ALWAYS = Closed(frozenset(range(1, 8)))
ZONES = ("UTC", "America/New_York", "Australia/Lord_Howe", "Europe/Lisbon", "Pacific/Apia")


def day(text: str) -> date:
    return date.fromisoformat(text)


def closed_job(closed: Closed) -> Care:
    """VISIT of a job closed on Mon 21 Sep 2026: Sun 21 Mar 2027 and Tue 21 Sep 2027."""
    book = finished(VISIT)
    book.do(7200, rules.close_job, JOB)
    (care,) = cares(book.job(), closed)
    return care


def test_the_days_as_they_are_where_the_shop_never_closes() -> None:
    care = closed_job(NEVER_CLOSED)
    assert [(due.day, due.moved_from, due.why) for due in care.dues] == [
        ("2027-03-21", "", ""),
        ("2027-09-21", "", ""),
    ]
    assert (care.days_known, care.no_day) == (False, "")


def test_a_visit_on_a_closed_weekday_goes_to_the_next_open_day_and_says_why() -> None:
    care = closed_job(SUNDAY)
    assert [(due.day, due.moved_from, due.why) for due in care.dues] == [
        ("2027-03-22", "2027-03-21", "closed on Sundays"),
        ("2027-09-21", "", ""),
    ]
    assert care.days_known


def test_a_repeat_is_counted_from_the_anchor_and_not_from_a_moved_day() -> None:
    book = finished(Aftercare("Look.", "label of the pack", every="P7D", times=3, visit=True))
    book.do(7200, rules.close_job, JOB)
    (care,) = cares(book.job(), Closed(frozenset(), frozenset({day("2026-09-28")})))
    assert [due.day for due in care.dues] == ["2026-09-29", "2026-10-05", "2026-10-12"]


@pytest.mark.parametrize(
    ("closed", "found", "reasons"),
    [
        (Closed(frozenset({1})), "2027-03-21", ()),
        (Closed(frozenset({6, 7})), "2027-03-22", ("Sundays",)),
        (
            Closed(frozenset({7}), frozenset({day("2027-03-22"), day("2027-03-23")})),
            "2027-03-24",
            ("Sundays", "Mon 22 Mar 2027", "Tue 23 Mar 2027"),
        ),
        # A closed date that is a closed weekday too is told as the weekday.
        (Closed(frozenset({7}), frozenset({day("2027-03-21")})), "2027-03-22", ("Sundays",)),
        (Closed(frozenset({1, 2, 3, 4, 5, 7})), "2027-03-27", (
            "Sundays", "Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays",
        )),
    ],
)  # fmt: skip
def test_the_next_open_day(closed: Closed, found: str, reasons: tuple[str, ...]) -> None:
    assert open_day(day("2027-03-21"), closed) == (day(found), reasons)


def test_reasons_in_words() -> None:
    assert reasons_text(("Sundays",)) == "closed on Sundays"
    assert reasons_text(("Saturdays", "Sundays")) == "closed on Saturdays and Sundays"
    said = reasons_text(("Saturdays", "Sundays", "Mon 28 Dec 2026", "Tue 29 Dec 2026"))
    assert said == "closed on Saturdays, Sundays, Mon 28 Dec 2026 and 1 more day"


@pytest.mark.parametrize(
    "closed",
    [
        ALWAYS,
        Closed(frozenset(), frozenset(day("2027-01-01") + timedelta(n) for n in range(2000))),
    ],
    ids=["all weekdays", "every date for years"],
)
def test_a_shop_that_never_opens_gets_a_sentence_and_no_day(closed: Closed) -> None:
    care = closed_job(closed)
    assert (care.state, care.dues) == ("dated", ())
    assert care.no_day == (
        "No open day was found in the 366 days from Sun 21 Mar 2027 and Tue 21 Sep 2027 on; "
        "agree on a day with the shop."
    )
    assert no_day_text([day("2027-03-21")] * 4).count(", Sun 21 Mar 2027 and 2 more on;") == 1


def test_an_open_day_is_found_at_the_very_end_of_the_search_and_not_behind_it() -> None:
    first = day("2027-03-21")
    shut = frozenset(first + timedelta(n) for n in range(SEARCHED_DAYS - 1))
    assert open_day(first, Closed(frozenset(), shut))[0] == day("2028-03-20")
    more = shut | {day("2028-03-20")}
    assert open_day(first, Closed(frozenset(), more))[0] is None


def test_the_calendar_ends() -> None:
    assert open_day(date.max, Closed(frozenset({date.max.isoweekday()})))[0] is None


def test_what_is_no_visit_stays_on_a_closed_day() -> None:
    item = Aftercare("Keep it dry.", "label of the pack", until="P6D")
    (due,) = dues(item, instant("2026-09-21 14:00", "UTC"), "UTC")
    assert arranged(due, ALWAYS, "UTC") == due


def test_a_visit_at_a_clock_time_keeps_it_over_a_clock_change() -> None:
    zone = "Europe/Lisbon"
    item = Aftercare("Look.", "label of the pack", from_="PT48H", visit=True)
    # Fri 23 Oct 2026 09:30 + 48 h is Sun 25 Oct 08:30, the clocks having gone back at 02:00.
    (due,) = dues(item, instant("2026-10-23 09:30", zone), zone)
    assert spoken(due.at_us or 0, zone) == "Sun 25 Oct 2026 08:30"
    moved = arranged(due, SUNDAY, zone)
    assert moved is not None
    assert spoken(moved.at_us or 0, zone) == "Mon 26 Oct 2026 08:30"
    assert moved.moved_from == "2026-10-25"


@given(
    st.integers(946_684_800_000_000, 2_140_000_000_000_000),
    st.sampled_from(ZONES),
    st.sampled_from(["P6M", "P1D", "P2W", "PT48H", "PT1H"]),
    st.sampled_from(["until", "from_", "every"]),
    st.frozensets(st.integers(1, 7)),
    st.frozensets(st.integers(-3, 500)),
)
def test_a_visit_never_falls_on_a_closed_day_and_never_before_its_own(
    anchor_us: int,
    zone: str,
    length: str,
    key: str,
    weekdays: frozenset[int],
    days_ahead: frozenset[int],
) -> None:
    keys = {key: length, "times": 3} if key == "every" else {key: length}
    item = Aftercare("Come.", "label of the pack", visit=True, **keys)  # type: ignore[arg-type]  # keys vary
    here = local(anchor_us, zone)
    start = date(here.year, here.month, here.day)
    closed = Closed(weekdays, frozenset(start + timedelta(n) for n in days_ahead))
    for due in dues(item, anchor_us, zone):
        own = own_day(due, zone)
        moved = arranged(due, closed, zone)
        if moved is None:
            assert all(closed.reason(own + timedelta(n)) for n in range(SEARCHED_DAYS))
            continue
        there = own_day(moved, zone)
        assert not closed.reason(there)
        assert there >= own
        assert all(closed.reason(own + timedelta(n)) for n in range((there - own).days))
        assert bool(moved.moved_from) is bool(moved.why) is (there > own)
        if due.at_us is not None and moved.at_us is not None:
            assert moved.at_us >= due.at_us
