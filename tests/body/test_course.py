"""Heat of a shift over the clock: readings as long as they hold, the limit by the effort."""

from __future__ import annotations

import math

import pytest

from cartclock.engine.body.course import Course, Hold, course
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Turn
from cartclock.engine.figures import heat
from cartclock.engine.record.day import day
from cartclock.engine.record.record import record
from cartclock.engine.rules import rules
from tests.kit.book import Book, opened, us
from tests.kit.plans import FALLOUT, POLISH

HOUR = 3600.0


def course_of(book: Book, at_s: float) -> Course:
    return course(book.shift(), book.jobs(), us(at_s))


def held(*spans: tuple[float, float, float]) -> tuple[Hold, ...]:
    return tuple(Hold(us(a), us(b), value) for a, b, value in spans)


def test_a_reading_holds_until_the_next_or_for_an_hour_or_until_the_end() -> None:
    book = opened(POLISH)
    book.press(0, ev.ReadingTaken(air_c=20, panel_c=25))
    book.press(600, ev.ReadingTaken(air_c=22))
    book.press(3 * HOUR, ev.ReadingTaken(air_c=24))
    found = course_of(book, 3 * HOUR + 60)
    assert found.air_c == held((0, 600, 20), (600, 600 + HOUR, 22), (3 * HOUR, 3 * HOUR + 60, 24))
    # Nobody read the panel again: its hour is its own.
    assert found.panel_c == held((0, HOUR, 25))


def test_a_reading_without_humidity_ends_the_wbgt_and_a_reading_of_the_panel_does_not() -> None:
    book = opened(POLISH)
    book.press(0, ev.ReadingTaken(wbgt_c=26))
    book.press(600, ev.ReadingTaken(panel_c=40))
    book.press(900, ev.ReadingTaken(air_c=30))
    assert course_of(book, 2 * HOUR).wbgt_c == held((0, 900, 26))


def test_without_a_reading_there_is_nothing_to_draw_and_no_limit() -> None:
    book = opened(POLISH)
    book.do(60, rules.take_up, book.moves(60)[0])
    found = course_of(book, 2 * HOUR)
    assert not (*found.air_c, *found.panel_c, *found.wbgt_c, *found.limits)


def test_a_reading_at_the_very_end_is_a_point() -> None:
    book = opened(POLISH)
    book.press(600, ev.ReadingTaken(wbgt_c=26))
    found = course_of(book, 600)
    assert found.wbgt_c == held((600, 600, 26))
    assert found.limits == ()


def limit_at(found: Course, at_s: float) -> float:
    return next(p.limit_c for run in found.limits for p in run if p.at_us == us(at_s))


def test_the_limit_goes_by_the_mean_effort_of_the_hour_before() -> None:
    # Half an hour of moderate work, then rest: after it the mean is half of each.
    book = opened(POLISH)
    book.do(0, rules.take_up, book.moves(0)[0])
    book.press(0, ev.ReadingTaken(wbgt_c=26))
    book.do(1800, rules.take_break, "rest")
    found = course_of(book, HOUR)
    moderate, rest = heat.class_watts("moderate"), heat.class_watts("rest")
    assert not found.acclimatized
    assert limit_at(found, 1800) == pytest.approx(heat.ral_c(moderate))
    assert limit_at(found, HOUR) == pytest.approx(heat.ral_c((moderate + rest) / 2))


@pytest.mark.parametrize(
    "effort_w", [300.0], ids=["NIOSH 2016-106, RAL = 59.9 - 14.1 log10 M, 300 W: 24.97 C"]
)
def test_the_limit_is_the_published_one(effort_w: float) -> None:
    book = opened(POLISH)
    book.do(0, rules.take_up, book.moves(0)[0])
    book.press(0, ev.ReadingTaken(wbgt_c=26))
    found = course_of(book, 600)
    assert heat.class_watts("moderate") == effort_w
    assert limit_at(found, 600) == pytest.approx(59.9 - 14.1 * math.log10(effort_w))


def test_where_no_wbgt_is_in_force_the_limit_stops_and_begins_anew() -> None:
    book = opened(POLISH)
    book.press(0, ev.ReadingTaken(wbgt_c=26))
    book.press(1200, ev.ReadingTaken(wbgt_c=27))
    book.press(3 * HOUR, ev.ReadingTaken(wbgt_c=28))
    first, second = course_of(book, 5 * HOUR).limits
    assert (first[0].at_us, first[-1].at_us) == (us(0), us(1200 + HOUR))
    assert (second[0].at_us, second[-1].at_us) == (us(3 * HOUR), us(4 * HOUR))
    assert [p.at_us for p in first] == sorted({p.at_us for p in first})


def test_record_and_day_carry_the_course_of_their_shifts() -> None:
    book = opened(FALLOUT)
    book.do(30, rules.take_up, book.moves(30)[0])
    book.do(150, rules.take_up, book.moves(150)[0])
    shift = book.shift()
    found = record(book.job(), {shift.id: shift}, book.jobs(), us(900))
    date = day("2026-09-21", "UTC", {shift.id: shift}, book.jobs(), us(900))
    assert found.courses == (course_of(book, 900),)
    assert [part.course for part in date.shifts] == [course_of(book, 900)]
    assert [w.section for w in date.jobs[0].windows] == [w.section for w in found.windows] != []


def test_a_day_has_only_the_windows_that_began_in_its_shifts() -> None:
    book = opened(FALLOUT)
    book.do(30, rules.take_up, book.moves(30)[0])
    book.do(150, rules.take_up, book.moves(150)[0])
    book.press(200, ev.WorkPutDown("Fallout", ("right",), Turn()), ev.ClockedOff())
    book.press(30 * HOUR, ev.ClockedOn("carport"))
    for at_s in (30 * HOUR + 60, 30 * HOUR + 200):
        held_up = (move for move in book.moves(at_s) if "left" not in move.sections)
        book.do(at_s, rules.take_up, next(held_up))
    shifts = {name: book.shift(name) for name in ("me 1", "me 2")}
    at_us = us(31 * HOUR)
    first, second = (
        day(date, "UTC", shifts, book.jobs(), at_us) for date in ("2026-09-21", "2026-09-22")
    )
    assert [w.section for w in first.jobs[0].windows] == ["left"]
    assert [w.section for w in second.jobs[0].windows] == ["right"]
