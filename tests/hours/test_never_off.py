"""A shift that nobody clocked off ends with its last press."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.hours.account import account, left_open_us
from cartclock.engine.hours.questions import questions
from cartclock.engine.paper.chapters.time_sheet import open_questions
from cartclock.engine.record.day import day
from cartclock.engine.record.record import record
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT
from tests.kit.setting import day_text, record_text

HOUR = 3600
DAYS_136 = 136 * 24 * HOUR


def left(job: str = "") -> Book:
    """Ten minutes with a customer, then nobody pressed again but for a drink."""
    book = opened(COAT)
    book.do(60, rules.start_other, "customer", job)
    book.press(660, ev.OtherWorkEnded())
    book.press(900, ev.DrinkTaken(250))
    return book


def test_hours_of_a_shift_never_clocked_off_end_with_the_last_press() -> None:
    book = left()
    found = account(book.shift(), book.jobs(), us(DAYS_136))
    assert (found.end_us, found.never_off, found.off_us) == (us(900), True, None)
    assert sum(share.length_us for share in found.shares) == us(900) - us(0)


def test_a_shift_that_goes_on_ends_now() -> None:
    book = left()
    found = account(book.shift(), book.jobs(), us(900 + 15 * HOUR))
    assert (found.end_us, found.never_off) == (us(900 + 15 * HOUR), False)


def test_what_the_time_since_was_is_asked_at_clocking_off() -> None:
    book = left()
    book.press(DAYS_136 + 1, ev.ClockedOff())
    longest = questions(book.shift(), book.jobs(), us(DAYS_136 + 2))[0]
    assert (longest.kind, longest.from_us, longest.to_us) == ("nothing", us(660), us(DAYS_136 + 1))


def test_papers_say_it_under_what_is_still_open() -> None:
    book = left(JOB)
    shifts, now_us = {"me 1": book.shift()}, us(DAYS_136)
    texts = (
        record_text(record(book.job(), shifts, book.jobs(), now_us, rows=book.rows)),
        day_text(day("2026-09-21", "UTC", shifts, book.jobs(), now_us)),
    )
    for text in texts:
        mark = "Not answered: " if text is texts[0] else "NOT ANSWERED YET"
        _before, _heading, still = text.partition(mark)
        said = " ".join(still.partition("\n\n")[0].split())
        assert "me, Mon 21 Sep 2026 14:13: never clocked off; the hours end with" in said
        assert "the last press, Mon 21 Sep 2026 14:28" in said
        assert "3250 h" not in text and "Nothing." not in said
        assert "On the clock 0:15" in " ".join(text.split())
    assert "1 shift never clocked off" in " ".join(texts[0].split())


def test_where_two_worked_an_open_stretch_is_told_with_whose_it_is() -> None:
    book = left()
    book.press(900 + 5 * HOUR, ev.ClockedOff())
    mine = account(book.shift(), book.jobs(), us(900 + 6 * HOUR))
    (alone,) = open_questions([mine], "UTC")
    idle = replace(mine, worker="Ina", questions=())
    assert open_questions([mine, idle], "UTC") == [alone.replace(": ", " (me): ", 1)]
    assert open_questions([mine, mine], "UTC") == [alone, alone]


def test_it_is_left_open_only_while_nobody_clocked_off() -> None:
    book = left()
    assert left_open_us(book.shift(), us(900 + 16 * HOUR)) is None
    assert left_open_us(book.shift(), us(901 + 16 * HOUR)) == us(900)
    book.press(900 + 17 * HOUR, ev.ClockedOff())
    assert left_open_us(book.shift(), us(DAYS_136)) is None
