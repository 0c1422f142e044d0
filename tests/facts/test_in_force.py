"""One reading for everybody at a place: who goes by it, for how long, and that all say the same."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.body.acclimatization import hot_days
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import DayExpected, ReadingTaken
from cartclock.engine.facts.in_force import (
    LIKE_US,
    is_in_force,
    newest_reading,
    reading_in_force,
    shift_before,
    with_readings,
)
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Shift, shift_after
from cartclock.engine.films.gate import gate_verdict
from cartclock.engine.record.revision import revision_of
from cartclock.engine.rules import rules
from tests.kit.book import Book, opened, row_at, us
from tests.kit.films import HOT as HOT_AT_THE_CAR
from tests.kit.films import Films, coat
from tests.kit.plans import POLISH
from tests.kit.viewed import anew, answers_are_right, kept, make_all

WARM, HOT = ReadingTaken(air_c=24.0, rh=50.0), ReadingTaken(air_c=31.0, rh=45.0)
PANEL = ReadingTaken(panel_c=22.0)
FORECAST = DayExpected(18.0, 33.0)


def readings(shift: Shift) -> list[object]:
    kinds = (ReadingTaken, DayExpected)
    return [row.event for row in shift.facts if isinstance(row.event, kinds)]


def pair() -> Book:
    """The worker on from the beginning, the helper for an hour from half past on."""
    book = opened(POLISH)
    book.press(60, WARM)
    book.press(1800, ev.ClockedOn("carport"), worker="helper")
    book.press(1900, ev.DrinkTaken(250))
    book.press(2000, FORECAST)
    return book


# Who goes by it.


def test_what_one_measured_both_know() -> None:
    book = pair()
    mine, theirs = book.shift("me 1"), book.shift("helper 1")
    shared = with_readings(theirs, [mine, theirs])
    assert readings(shared) == [WARM, FORECAST]
    # Drinks and signs are each worker's own, and the shift in the log is as it was.
    assert len(shared.facts) == 2
    assert theirs.facts == []
    book.press(2100, HOT, worker="helper")
    assert readings(with_readings(mine, [book.shift("helper 1")]))[-1] == HOT
    # Told twice it is told once.
    assert with_readings(shared, [mine, theirs]) is shared


def test_it_stands_in_the_order_of_the_time_it_speaks_of() -> None:
    book = pair()
    book.press(90, HOT, worker="helper", entered_s=2100)
    shared = with_readings(book.shift("me 1"), [book.shift("helper 1")])
    assert readings(shared) == [WARM, FORECAST]
    book = pair()
    book.press(1850, HOT, worker="helper", entered_s=2100)
    shared = with_readings(book.shift("me 1"), [book.shift("helper 1")])
    assert readings(shared) == [WARM, HOT, FORECAST]


def test_a_reading_stays_at_the_car_for_its_hour_when_who_took_it_goes() -> None:
    book = pair()
    book.do(2500, rules.clock_off)
    book.do(2600, rules.clock_off, worker="helper")
    book.press(3000, ev.ClockedOn("carport"), worker="helper")
    book.press(3659, ev.ClockedOn("carport"), worker="third")
    book.press(3661, ev.ClockedOn("carport"), worker="fourth")
    me = book.shift("me 1")
    for whose, known in (
        ("helper 2", [WARM, FORECAST]),
        ("third 1", [WARM, FORECAST]),
        ("fourth 1", [FORECAST]),
    ):
        shift = book.shift(whose)
        assert readings(with_readings(shift, [me, shift])) == known
    # Off for over an hour, who measured it was not there with this one.
    book.press(7000, ev.ClockedOn("carport"), worker="fifth")
    fifth = book.shift("fifth 1")
    assert with_readings(fifth, [me]) is fifth


def test_what_is_measured_after_a_shift_says_nothing_of_it() -> None:
    book = pair()
    book.do(2600, rules.clock_off, worker="helper")
    book.press(2700, HOT)
    over = book.shift("helper 1")
    assert readings(with_readings(over, [book.shift("me 1")])) == [WARM, FORECAST]


@pytest.mark.parametrize(
    ("place", "shared"), [("carport", True), (" Carport", True), ("shed", False), ("", False)]
)
def test_it_is_shared_at_the_same_place_only(place: str, shared: bool) -> None:
    book = opened(POLISH)
    book.press(60, WARM)
    book.press(120, ev.ClockedOn(place), worker="helper")
    theirs = book.shift("helper 1")
    assert readings(with_readings(theirs, [book.shift("me 1")])) == ([WARM] if shared else [])


# For how long.


@pytest.mark.parametrize(
    ("age_s", "believed"), [(-1, False), (0, True), (3599, True), (3600, False)]
)
def test_a_reading_is_believed_for_less_than_an_hour(age_s: int, believed: bool) -> None:
    assert is_in_force(us(100), us(100 + age_s)) is believed
    book = opened(POLISH)
    book.press(100, WARM)
    found = reading_in_force(book.shift("me 1"), us(100 + age_s))
    assert found == (WARM if believed else None)


def test_the_newest_that_has_what_is_asked_for_is_in_force() -> None:
    book = opened(POLISH)
    book.press(100, PANEL)
    book.press(200, WARM)
    shift = book.shift("me 1")
    assert reading_in_force(shift, us(300)) == WARM
    assert reading_in_force(shift, us(300), "panel_c") == PANEL
    assert reading_in_force(shift, us(300), "air_c", "rh") == WARM
    assert reading_in_force(shift, us(300), "panel_c", "air_c") is None
    assert reading_in_force(None, us(300)) is None
    # Stale, it is still the newest: its age is told.
    assert newest_reading(shift, us(9000), "panel_c") is not None


# All say the same.


@pytest.fixture
def both(tmp_path: Path) -> Iterator[Films]:
    """A coat, and a helper at the same car who took the only reading."""
    films = Films(tmp_path, replace(coat(), kind="coat"))
    films.bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn("carport"))
    films.clock.wind(60)
    films.bench.do_as("helper", 0, rules.note_shift, HOT_AT_THE_CAR)
    films.clock.wind(60)
    yield films
    films.bench.close()


def test_the_papers_say_of_the_gate_what_run_said(both: Films) -> None:
    bench = both.bench
    on_run = gate_verdict(bench.jobs[both.job], "Coat", bench.moment().me.shift, bench.now_us)
    assert on_run.why_none == ""
    both.film(40)
    record = Shop(bench.log).record("1", bench.now_us)
    assert [one.why_none for one in record.gate] == [""]
    assert [one.margin_c for one in record.gate] == [on_run.dew_margin_c]
    assert {one.why_none for one in record.coated} == {""}
    # It was taken once, by whom it was taken, whoever went by it.
    assert [(one.worker, one.reading) for one in record.readings] == [("helper", HOT_AT_THE_CAR)]


def test_the_exposure_of_both_shifts_is_reckoned_by_the_reading_of_one(both: Films) -> None:
    bench = both.bench
    both.lay(30)
    move = next(move for move in bench.moves("helper") if move.act == "take up")
    bench.do_as("helper", 0, rules.take_up, move)
    both.clock.wind(600)
    moment = bench.moment("helper")
    assert moment.helper is not None
    for hand in (moment.me, moment.helper):
        assert hand.watch is not None
        assert hand.watch.pace.why_none == ""
    record = Shop(bench.log).record("1", bench.now_us)
    assert {one.worker for one in record.exposures} == {"me", "helper"}
    for exposure, course in zip(record.exposures, record.courses, strict=True):
        assert exposure.why_none == ""
        assert {time.band for time in exposure.band_times} - {"no reading", "no WBGT"}
        # What was read before a shift is drawn from its beginning on.
        assert [hold.from_us >= course.on_us for hold in course.wbgt_c] == [True]
    day = Shop(bench.log).day(_date(bench.now_us), "UTC", bench.now_us)
    assert [part.exposure.why_none for part in day.shifts] == ["", ""]
    assert len(day.readings) == 1


def _date(at_us: int) -> str:
    return (date(1970, 1, 1) + timedelta(microseconds=at_us)).isoformat()


def test_a_forecast_is_told_once_of_the_day_and_plans_for_both(both: Films) -> None:
    bench = both.bench
    bench.do(rules.expect_day, 18.0, 33.0)
    helper = bench.shift("helper")
    assert helper is not None
    assert DayExpected(18.0, 33.0) in [row.event for row in helper.facts]
    day = Shop(bench.log).day(_date(bench.now_us), "UTC", bench.now_us)
    said = [fact.text for part in day.shifts for fact in part.facts]
    assert len([text for text in said if "33" in text]) == 1


def test_a_program_started_again_knows_what_a_shift_that_is_over_measured(both: Films) -> None:
    bench = both.bench
    bench.do_as("helper", 0, rules.clock_off)
    both.clock.wind(60)
    # The newest shift of the helper is another one; the reading stands in the one before.
    bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn("shed"))
    before = bench.moment().me.shift
    both.again()
    after = both.bench.moment().me.shift
    assert before is not None
    assert after is not None
    assert readings(after) == readings(before) == [HOT_AT_THE_CAR]


# Learning.


def test_a_film_is_learned_by_the_reading_that_another_took(both: Films) -> None:
    both.film(41)
    (learned,) = both.bench.own("me")["coat"]
    assert (learned.seconds, learned.climate.panel_c) == (41.0, 32.0)


def test_a_helpers_film_counts_with_the_reading_that_stood(tmp_path: Path) -> None:
    films = Films(tmp_path)
    bench = films.bench
    films.read()
    bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn("carport"))
    move = next(move for move in bench.moves("helper") if move.act == "take up")
    bench.do_as("helper", 0, rules.take_up, move)
    films.clock.wind(20)
    bench.do_as("helper", 0, rules.take_up, Move("end", why="end"))
    films.clock.wind(44)
    bench.do_as("helper", 0, rules.see, films.job, "Coat", move.sections[0])
    (learned,) = bench.own("helper")["coat"]
    assert (learned.seconds, learned.climate.air_c) == (44.0, 33.0)
    assert not bench.own("me")


def test_what_was_learned_follows_a_reading_that_is_struck_moved_or_told_late(
    both: Films,
) -> None:
    bench = both.bench
    library = bench.library
    taken = bench.newest_press("helper")
    assert taken is not None
    both.film(41)
    make_all(library)

    def panels() -> list[float]:
        rows = bench.log.all_rows()
        assert kept(library) == anew(rows, bench.log)
        answers_are_right(library, bench.log, rows)
        return [one.climate.panel_c for one in bench.own("me").get("coat", ())]

    assert panels() == [32.0]
    bench.strike(taken, worker="helper")
    assert panels() == []
    library.settle()
    bench.restore(taken, worker="helper")
    assert panels() == [32.0]
    bench.move(taken, bench.now_us - 1_000_000)
    assert panels() == []
    library.settle()
    cooler = ReadingTaken(air_c=30, rh=45, panel_c=28)
    # Told late, of a minute before the film was laid.
    bench.do_as("helper", 120_000_000, rules.note_shift, cooler)
    assert panels() == [28.0]


def test_a_day_was_hot_for_both_by_the_reading_of_one(both: Films) -> None:
    bench = both.bench
    both.lay(30)
    move = next(move for move in bench.moves("helper") if move.act == "take up")
    bench.do_as("helper", 0, rules.take_up, move)
    # Whoever took it, both worked in it for over half an hour.
    both.clock.wind(3000)
    days = []
    for worker in ("me", "helper"):
        shifts, jobs = Shop(bench.log).recent(worker, bench.now_us)
        days.append(hot_days(shifts.values(), jobs, bench.now_us))
    assert days[0] == days[1] != []


def test_a_paper_that_another_hands_reading_changed_names_that_press(both: Films) -> None:
    bench, shop = both.bench, Shop(both.bench.log)
    taken = bench.newest_press("helper")
    assert taken is not None
    both.film(40)
    bench.do(rules.note_job, both.job, ev.PaperIssued("record", 1, "0" * 64))
    both.clock.wind(60)
    bench.strike(taken, "the meter lay in the sun", worker="helper")
    # At another place the same press would change nothing of this paper.
    bench.do_as("third", 0, rules.clock_on, ev.ClockedOn("shed"))
    bench.do_as("third", 0, rules.note_shift, HOT_AT_THE_CAR)
    now_us = bench.now_us

    def shown(rows: Sequence[Row]) -> object:
        found = shop.record_of(both.job, rows, now_us)
        return found and found.gate

    revision = revision_of(bench.jobs[both.job], shop.rows("1", now_us), "record", shown, "shop")
    assert revision.changed
    assert [(one.kind, one.why) for one in revision.changes] == [
        ("struck", "the meter lay in the sun")
    ]


def test_the_shift_before_is_the_workers_last_at_that_place_and_not_long_over() -> None:
    book = opened(POLISH)
    book.press(60, ev.ClockedOn("carport"), worker="helper")
    book.press(3600, ev.ClockedOff())
    book.press(3700, ev.ClockedOff(), worker="helper")

    def begun_at(at_s: float, place: str = "Carport ", shift: str = "me 2") -> Shift:
        one, odd = shift_after(None, row_at(ev.ClockedOn(place), at_s, 99, shift=shift))
        assert one is not None
        assert odd is None
        return one

    known = [book.shift("me 1"), book.shift("helper 1")]
    morning = begun_at(40_000)
    assert shift_before(morning, [*known, morning]) == known[0]
    assert shift_before(begun_at(40_000, "elsewhere"), known) is None
    assert shift_before(begun_at(3600 + LIKE_US / 1e6), known) is None
    # Only the last one is looked at.
    between = begun_at(10_000, "elsewhere", "me 1b")
    over = replace(between, off_us=us(11_000))
    assert shift_before(morning, [*known, over]) is None
    # One that goes on is none before.
    assert shift_before(morning, [replace(known[0], off_us=None)]) is None
