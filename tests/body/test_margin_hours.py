"""Heat by the hours of the clock, beside a walk minute by minute with the formulas written out."""

from __future__ import annotations

import math

import pytest

from cartclock.engine.body.course import course
from cartclock.engine.body.margin_hours import margin_hours
from cartclock.engine.facts import events as ev
from cartclock.engine.rules import rules
from tests.kit.book import Book, opened, us
from tests.kit.plans import POLISH

# Whole body, in watts: NIOSH 2016-106; read second-hand.
MODERATE, REST = 300.0, 115.0
# Of whoever is not acclimatized; NIOSH 2016-106, C WBGT.
RAL = (59.9, 14.1)
BAND_C = 2.5
HOUR_S = 3600
# The book's clock begins at 14:13:20 of its place: the hour before began so long ago.
BASE_S = -(13 * 60 + 20)


def hot_day() -> Book:
    """Moderate work for 40 min and a rest of 30, then nothing; 21.5 C WBGT, then 26, then 18."""
    book = opened(POLISH)
    book.press(0, ev.ReadingTaken(wbgt_c=21.5))
    book.do(0, rules.take_up, book.moves(0)[0])
    book.press(1800, ev.ReadingTaken(wbgt_c=26.0))
    book.do(2400, rules.take_break, "rest")
    book.press(4200, ev.ReadingTaken(wbgt_c=18.0))
    return book


def walked(end_s: int) -> list[tuple[int, int, float]]:
    """(from, to, least margin) of every hour of the clock, by five minutes from each reading on."""
    watts = [MODERATE if at < 2400 else REST for at in range(end_s)]
    hours: dict[int, list[tuple[int, int, float]]] = {}
    for from_s, to_s, wbgt_c in ((0, 1800, 21.5), (1800, 4200, 26.0), (4200, end_s, 18.0)):
        for start_s in range(from_s, to_s, 300):
            stop_s = min(start_s + 300, to_s)
            limits = []
            for at_s in (start_s, stop_s):
                hour = watts[max(0, at_s - HOUR_S) : at_s] or watts[:1]
                limits.append(RAL[0] - RAL[1] * math.log10(sum(hour) / len(hour)))
            # A stretch of five minutes over the full hour belongs to both.
            for index in {(start_s - BASE_S) // HOUR_S, (stop_s - 1 - BASE_S) // HOUR_S}:
                begins_s, ends_s = BASE_S + index * HOUR_S, BASE_S + (index + 1) * HOUR_S
                span = max(start_s, begins_s), min(stop_s, ends_s)
                hours.setdefault(index, []).append((*span, min(limits) - wbgt_c))
    return [
        (spans[0][0], spans[-1][1], min(margin for _a, _b, margin in spans))
        for _index, spans in sorted(hours.items())
    ]


def test_each_hour_of_the_clock_has_its_least_margin_and_what_it_is_worth() -> None:
    end_s = 7600
    book = hot_day()
    found = margin_hours(course(book.shift(), book.jobs(), us(end_s)), us(BASE_S))
    wanted = walked(end_s)
    assert [(one.from_us, one.to_us) for one in found] == [(us(a), us(b)) for a, b, _c in wanted]
    assert [one.margin_c for one in found] == [pytest.approx(c) for _a, _b, c in wanted]
    worth = ["clear" if c > BAND_C else "over" if c < -BAND_C else "caution" for *_x, c in wanted]
    assert [one.verdict for one in found] == worth
    # 59.9 - 14.1 log10 300 is 24.97 C: 1.03 under 26, and 3.47 over 21.5.
    assert wanted[0][2] == pytest.approx(24.97 - 26.0, abs=0.01) and worth[0] == "caution"
    assert worth[2] == "clear"


def test_without_a_reading_in_force_nothing_is_said() -> None:
    book = opened(POLISH)
    book.do(0, rules.take_up, book.moves(0)[0])
    assert margin_hours(course(book.shift(), book.jobs(), us(7200)), us(BASE_S)) == ()
    book.press(7200, ev.ReadingTaken(wbgt_c=20.0))
    # A reading holds for an hour, which lies in two of the clock.
    found = margin_hours(course(book.shift(), book.jobs(), us(20_000)), us(BASE_S))
    assert (found[0].from_us, found[-1].to_us, len(found)) == (us(7200), us(10_800), 2)
