"""What is told of the hours beside their table: breaks, answers, amendments, the next day."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Turn
from cartclock.engine.record.day import day
from cartclock.engine.record.record import record
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import WIPE
from tests.kit.samples import SEALED
from tests.kit.setting import day_text, record_text

HOUR = 3600


def two_workers() -> Book:
    """Mon 21 Sep 2026 from 14:13:20 UTC; a helper comes an hour later and leaves first."""
    book = opened(WIPE)
    book.press(HOUR, ev.ClockedOn(), worker="Ina")
    book.press(HOUR + 1200, ev.BreakTaken("rest"), worker="Ina")
    book.press(HOUR + 1800, ev.BreakEnded(), worker="Ina")
    book.press(2400, ev.BreakTaken("rest"))
    book.press(3000, ev.BreakEnded())
    # The later stretch is told first.
    book.press(9000, ev.GapJudged(us(8000), us(8600), "phone"))
    book.press(9010, ev.GapJudged(us(600), us(1200), "as it stood"))
    book.press(9020, ev.GapJudged(us(5500), us(6100), "meal"), worker="Ina")
    book.press(9060, ev.ClockedOff(told=("To wash: 1 pad.",)), worker="Ina")
    book.press(9120, ev.ClockedOff(told=("To wash: 2 pads.",)))
    return book


def day_of(book: Book, names: Sequence[str] = ("me 1", "Ina 1")) -> str:
    shifts = {one: book.shift(one) for one in names}
    return flat(day_text(day("2026-09-21", "UTC", shifts, book.jobs(), us(9200))))


def record_of(book: Book, *shifts: str) -> str:
    told = {one: book.shift(one) for one in shifts}
    found = record(
        book.job(JOB), told, book.jobs(), us(90000), rows=book.rows, text=lambda _ref: "Ada"
    )
    return flat(record_text(found))


def flat(text: str) -> str:
    return " ".join(text.split())


def test_answers_stand_in_order_of_time_and_say_no_day_that_the_page_is_of() -> None:
    text = day_of(two_workers())
    assert (
        "Told afterwards: 14:23-14:33 as it stood (me); 15:45-15:55 meal (Ina); "
        "16:26-16:36 phone (me)." in text
    )
    # Beside the digits that lie on the page anyway: its head and when it was made.
    assert text.count("21 Sep 2026") == 2


def test_of_several_workers_a_break_says_whose_it_is_in_order_of_time() -> None:
    text = day_of(two_workers())
    first, second = "14:53-15:03 rest 0:10, counts as work (me)", "15:33-15:43 rest 0:10"
    assert text.index(first) < text.index(f"{second}, counts as work (Ina)")
    alone = opened(WIPE)
    alone.press(2400, ev.BreakTaken("rest"))
    alone.press(3000, ev.BreakEnded())
    text = day_of(alone, ("me 1",))
    assert "14:53-15:03 rest 0:10, counts as work" in text and "(me)" not in text


def test_on_a_record_of_two_days_the_day_stands_where_it_begins() -> None:
    book = opened(WIPE)
    book.press(60, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(8000, ev.WorkPutDown("Wipe", ("whole car",), Turn()), ev.ClockedOff())
    book.press(86400, ev.ClockedOn())
    book.press(86460, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(87000, ev.GapJudged(us(86500), us(86900), "phone"))
    book.press(87010, ev.GapJudged(us(600), us(1200), "as it stood"))
    book.press(87020, ev.GapJudged(us(1800), us(2400), "meal"))
    assert (
        "Told afterwards: Mon 21 Sep 14:23-14:33 as it stood; 14:43-14:53 meal; "
        "Tue 22 Sep 14:15-14:21 phone." in record_of(book, "me 1", "me 2")
    )


def test_what_one_who_left_earlier_was_told_of_the_next_day_says_who() -> None:
    text = day_of(two_workers())
    assert "- To wash: 1 pad. (Ina) To wash: 2 pads. NOT ANSWERED" in text
    alone = opened(WIPE)
    alone.press(600, ev.ClockedOff(told=("To wash: 2 pads.",)))
    text = day_of(alone, ("me 1",))
    assert "- To wash: 2 pads. NOT ANSWERED" in text


def test_what_was_said_of_the_job_within_a_minute_is_one_entry() -> None:
    book = opened(WIPE)
    book.press(5, ev.JobAmended("customer", SEALED))
    book.press(10, ev.JobAmended("price", price="120.00"))
    book.press(600, ev.JobAmended("price", price="140.00"))
    text = record_of(book, "me 1")
    assert "amended customer: noted; price: 120.00 14:23 amended price: 140.00" in text


def told_off() -> Book:
    """Two shifts of one day, Mon 21 Sep 2026 from 14:13:20 UTC; of the first, three hours long, two
    were told to be as they stood and then to be off, all but a quarter of an hour."""
    book = opened(WIPE)
    book.press(60, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(660, ev.StepFinished("Wipe", ("whole car",), Turn()))
    book.press(3 * HOUR, ev.GapJudged(us(HOUR), us(3 * HOUR), "as it stood"))
    book.press(3 * HOUR, ev.ClockedOff())
    book.press(3 * HOUR + 10, ev.GapJudged(us(HOUR + 900), us(3 * HOUR), "off"))
    book.press(3 * HOUR + 600, ev.ClockedOn())
    book.press(3 * HOUR + 900, ev.ClockedOff())
    return book


def test_what_was_told_to_be_off_is_on_no_clock_and_rows_make_the_total() -> None:
    book = told_off()
    shifts = {one: book.shift(one) for one in ("me 1", "me 2")}
    found = day("2026-09-21", "UTC", shifts, book.jobs(), us(20000))
    accounts = [part.account for part in found.shifts]
    assert [one.clock_us for one in accounts] == [75 * 60_000_000, 5 * 60_000_000]
    shares = [one for account in accounts for one in account.shares if one.kind != "off"]
    assert sum(one.length_us for one in shares) == 80 * 60_000_000
    text = flat(day_text(found))
    assert (
        "14:13 to 17:28, 1 h 20 min on the clock in 2 shifts without 1 h 45 min told to be off"
        in text
    )
    assert "; 1 h 15 min, 1 h 45 min off" in text
    assert "On the clock 1:15 0:05 1:20" in text
    assert "Off as told, not counted 1:45 1:45" in text
    record = record_of(book, "me 1")
    assert "on the clock 1 h 15 min without 1 h 45 min told to be off" in record
    # Two columns of one day have the begin of their shifts.
    assert "Mon 21 Mon 21 all 14:13 17:23" in text


def test_of_two_answers_on_one_stretch_the_last_is_told() -> None:
    assert "Told afterwards: 15:13-15:28 as it stood; 15:28-17:13 off." in day_of(
        told_off(), ("me 1",)
    )


def test_rounded_clock_times_are_told_without_what_was_off() -> None:
    book = told_off()
    found = day("2026-09-21", "UTC", {"me 1": book.shift("me 1")}, book.jobs(), us(20000))
    assert (
        "14:15 to 17:15, 3 h; without what was told to be off, rounded alike, 1 h 15 min."
    ) in flat(day_text(found, round_minutes=15))
