"""How long this may go on: worked examples, every rule in turn, and what must always hold."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.body.budget import Ahead, PlannedWork
from cartclock.engine.body.climate import climate
from cartclock.engine.body.pace import Pace, effort_now, pace
from cartclock.engine.body.rest_words import pace_line
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Effort, Rhythm, Stage, Work
from cartclock.engine.times import Instant, Length
from cartclock.engine.until import lasting
from tests.figures.check_values import rows
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import opening

MINUTE_S, HOUR_S = 60, 3600
TABLE = rows("niosh_work_rest")
EFFORTS: tuple[Effort, ...] = ("light", "moderate", "heavy")


def stage(effort: Effort) -> Stage:
    """One section and one long step of this effort."""
    return Stage(effort, ("whole car",), (Work("work", 60.0),), effort=effort)


STAGES = tuple(stage(effort) for effort in EFFORTS)


def by_meter(air_c: float, rh: float) -> ReadingTaken:
    """A reading whose WBGT a meter told, as the estimate would: nothing guards it."""
    estimate = ReadingTaken(air_c=air_c, rh=rh)
    return replace(estimate, wbgt_c=climate(us(0), estimate).wbgt_c)


GARAGE = by_meter(35.0, 40.0)
COOL_ROOM = ReadingTaken(air_c=26.0, rh=50.0)


class Day:
    """A shift by minutes, on a book."""

    def __init__(self, *readings: ReadingTaken, from_s: float = 0) -> None:
        self.from_s = from_s
        self.book = Book()
        self.book.press(from_s, opening(*STAGES))
        self.book.press(from_s, ev.ClockedOn("carport"))
        self.hand: tuple[str, str, int] | None = None
        for reading in readings:
            self.book.press(from_s, reading)

    def at(self, minute: float, *events: Any) -> Day:
        """A press of shift matters."""
        self.book.press(self.from_s + minute * MINUTE_S, *events)
        return self

    def work(self, minute: float, effort: str = "moderate", job: str = JOB) -> Day:
        """Takes work of this effort in hand."""
        self.down(minute)
        self.book.press(
            self.from_s + minute * MINUTE_S,
            ev.WorkStarted(effort, ("whole car",), Turn()),
            job=job,
        )
        self.hand = (effort, job, 0)
        return self

    def down(self, minute: float) -> Day:
        """Puts down what is in hand."""
        if self.hand is not None:
            effort, job, _ = self.hand
            put_down = ev.WorkPutDown(effort, ("whole car",), Turn())
            self.book.press(self.from_s + minute * MINUTE_S, put_down, job=job)
            self.hand = None
        return self

    def rest(self, minute: float, to_minute: float) -> Day:
        """A break between two minutes."""
        return self.down(minute).at(minute, ev.BreakTaken("heat")).at(to_minute, ev.BreakEnded())

    def pace(self, minute: float, acclimatized: bool = False, **facts: Any) -> Pace:
        """The verdict at a minute."""
        assert self.book.odd() == []
        now_us = us(self.from_s + minute * MINUTE_S)
        return pace(self.book.shift(), self.book.jobs(), now_us, acclimatized, **facts)


def left(found: Pace) -> float:
    """Seconds of work left, infinite where no rest is due within the next hour."""
    return math.inf if found.left_s is None else found.left_s


# Worked examples.

BY_HAND = "NIOSH 2016-106 RAL, read second-hand, worked by hand: 35 C 40 % RH, moderate"


@pytest.mark.parametrize(
    ("rest_place", "minutes"),
    [(None, 21.1), (COOL_ROOM, 42.6)],
    ids=[f"{BY_HAND}, rest in place, about 21", f"{BY_HAND}, rest at 26 C 50 %, about 43"],
)
def test_work_minutes_an_hour(rest_place: ReadingTaken | None, minutes: float) -> None:
    found = Day(GARAGE).work(0).pace(0, rest_place=rest_place)
    assert found.here_minutes == pytest.approx(minutes, abs=0.1)
    assert found.cool_minutes == pytest.approx(42.6, abs=0.1)
    assert found.limit_c == pytest.approx(24.97, abs=0.005)
    # From a rested start the first stretch is as long as one in the steady rhythm.
    assert found.here_minutes is not None
    assert found.left_s == pytest.approx(found.here_minutes * 60, abs=1)
    assert found.rest_s % (5 * MINUTE_S) == 0
    assert (found.band, found.rule) == ("over", "NIOSH limit")


@pytest.mark.parametrize(
    ("wbgt_c", "acclimatized", "minutes"),
    [
        (28.21, True, 60),
        (29.05, True, 45),
        (30.05, True, 30),
        (31.31, True, 15),
        (24.97, False, 60),
        (26.00, False, 45),
        (27.23, False, 30),
        (28.77, False, 15),
    ],
    ids=lambda value: f"NIOSH 2016-106, moderate, rest in place, worked by hand: {value}",
)
def test_steady_rhythm_by_the_limits(wbgt_c: float, acclimatized: bool, minutes: int) -> None:
    found = Day(ReadingTaken(wbgt_c=wbgt_c)).work(0).pace(0, acclimatized)
    # The WBGT is printed to a hundredth, which is worth up to a third of a minute.
    assert found.here_minutes == pytest.approx(minutes, abs=0.35)


def test_over_the_resting_limit_there_is_no_work_time() -> None:
    found = Day(ReadingTaken(wbgt_c=31.0)).work(0).pace(0)
    assert (found.grade, found.no_work_time) == ("not here", True)
    assert (found.left_s, found.rest_s) == (0, 0)
    assert found.cool_minutes is not None
    assert found.cool_minutes > 0


def test_a_hotter_rest_place_is_named() -> None:
    hotter = ReadingTaken(air_c=38.0, rh=40.0)
    day = Day(GARAGE).work(0)
    assert day.pace(0, rest_place=hotter).rest_is_hotter
    assert not day.pace(0).rest_is_hotter
    assert not day.pace(0, rest_place=COOL_ROOM).rest_is_hotter


# The printed table.


@pytest.mark.parametrize("effort", EFFORTS)
@pytest.mark.parametrize(
    "row", TABLE, ids=[f"NIOSH 2016-106 table 6-2: {r['adj_temp_f']} F" for r in TABLE]
)
def test_the_printed_table_is_never_exceeded(row: dict[str, str], effort: str) -> None:
    air_c = (float(row["adj_temp_f"]) - 32.0) / 1.8
    # At 30 % humidity and in the shade the notes add nothing; rests in a cool room.
    day = Day(by_meter(air_c, 30.0)).work(0, effort)
    found = day.pace(0, acclimatized=True, rest_place=COOL_ROOM)
    cell = row[f"{effort}_work_min"]
    minutes = 0 if cell == "caution" else int(cell)
    if minutes < 60:
        assert left(found) <= minutes * MINUTE_S
    if found.rule == "NIOSH table" and minutes:
        assert found.left_s == pytest.approx(minutes * MINUTE_S, abs=1)
    if not minutes:
        assert found.grade == "not here"


@pytest.mark.parametrize(
    ("air_f", "effort", "minutes"),
    [(100, "moderate", 45), (103, "moderate", 30), (95, "heavy", 45), (106, "light", 45)],
    ids=lambda value: f"NIOSH 2016-106 table 6-2: {value}",
)
def test_in_dry_heat_the_table_speaks(air_f: float, effort: str, minutes: int) -> None:
    reading = by_meter((air_f - 32.0) / 1.8, 30.0)
    found = Day(reading).work(0, effort).pace(0, acclimatized=True, rest_place=COOL_ROOM)
    assert found.rule == "NIOSH table"
    assert found.left_s == pytest.approx(minutes * MINUTE_S, abs=1)


def test_the_table_counts_work_within_the_rolling_hour() -> None:
    reading = by_meter((100 - 32.0) / 1.8, 30.0)
    day = Day(reading).work(0).rest(20, 30).work(30)
    # 45 of 60: 20 and 5 worked, 20 left; after that the first minutes leave the hour.
    twenty = pytest.approx(20 * MINUTE_S, abs=1)
    assert day.pace(35, acclimatized=True, rest_place=COOL_ROOM).left_s == twenty
    day = Day(reading).work(0).rest(45, 60).work(60)
    whole = pytest.approx(45 * MINUTE_S, abs=1)
    assert day.pace(60, acclimatized=True, rest_place=COOL_ROOM).left_s == whole


def test_over_sixty_percent_the_table_is_left() -> None:
    assert Day(ReadingTaken(air_c=33.0, rh=75.0)).work(0).pace(0).outside_table


# The rules that count minutes.

WARM = by_meter(35.0, 30.0)
"""Heat index over 90 F; clear of the table and of the limit for light work."""

MILD = by_meter(28.0, 50.0)
"""Heat index between 80 and 90 F, light work: no rule calls a rest."""


def test_never_more_than_an_hour_without_a_break_in_heat() -> None:
    day = Day(WARM).work(0, "light")
    assert day.pace(0, acclimatized=True).left_s is None
    found = day.pace(30, acclimatized=True)
    assert (found.left_s, found.rule) == (30 * MINUTE_S, "an hour without a break")
    assert found.rest_s == 10 * MINUTE_S
    assert day.pace(59.5, acclimatized=True).left_s == 30
    day.at(59, WARM)
    assert day.pace(75, acclimatized=True).left_s == 0


def test_under_90_f_and_under_the_limit_an_hour_is_a_quiet_line_our_own_judgement() -> None:
    day = Day(MILD).work(0, "light").at(50, MILD)
    assert not day.pace(55, acclimatized=True).hour_at_it
    found = day.pace(65, acclimatized=True)
    assert (found.left_s, found.grade, found.hour_at_it) == (None, "", True)
    assert pace_line(found) == "an hour at it: 5 min off the hands with the next cup"


@pytest.mark.parametrize(("minute", "turns"), [(59.5, 60), (69.9, 70)])
def test_the_hour_without_a_break_is_told_anew_when_it_is_full_and_when_hands_were_off(
    minute: float, turns: float
) -> None:
    day = Day(MILD).work(0, "light").at(50, MILD)
    if turns > 60:
        day.down(65)
    book = (day.book.shift(), day.book.jobs())
    said = lasting(lambda now_us: pace(*book, Instant(now_us), True), us(minute * 60))
    assert said.until_us == us(turns * 60)
    assert said.at(us(minute * 60)).hour_at_it is (turns > 60)
    assert day.pace(turns, acclimatized=True).hour_at_it is (turns == 60)


def test_standing_by_for_five_minutes_is_hands_off() -> None:
    day = Day(WARM).work(0, "light").down(30).work(36, "light")
    assert day.pace(50, acclimatized=True).left_s == 46 * MINUTE_S


def test_a_meter_alone_starts_the_hour_over_the_limit() -> None:
    # 25.2 C is over the alert limit of moderate work, and an hour of it is not yet too much.
    day = Day(ReadingTaken(wbgt_c=25.2)).work(0)
    assert day.pace(30).left_s is not None
    assert Day(ReadingTaken(wbgt_c=15.0)).work(0).pace(30).left_s is None


@pytest.mark.parametrize(("rest_minutes", "left_s"), [(4.9, 900), (5.0, 2400)])
def test_a_rest_is_one_from_five_minutes_on_our_own_judgement(
    rest_minutes: float, left_s: int
) -> None:
    begun = 25.0 - rest_minutes
    day = Day(WARM).work(0, "light").rest(begun, 25).work(25, "light")
    assert day.pace(45, acclimatized=True).left_s == left_s


def test_fifteen_minutes_in_two_hours() -> None:
    day = Day(WARM).work(0, "light").at(50, WARM).rest(55, 61).work(61, "light").at(100, WARM)
    found = day.pace(105, acclimatized=True)
    assert found.rule == "15 min in 2 h at heat index 90 F"
    # 99 minutes worked of 105 allowed.
    assert found.left_s == 6 * MINUTE_S
    assert 5 * MINUTE_S <= found.rest_s <= 15 * MINUTE_S
    rested = Day(WARM).work(0, "light").at(50, WARM).rest(45, 61).work(61, "light").at(100, WARM)
    assert rested.pace(105, acclimatized=True).rule == "an hour without a break"


@pytest.mark.parametrize(
    ("effort", "rest_minutes", "said"),
    [("light", 10, "15 min in 2 h"), ("moderate", 25, "hour's limit")],
)
def test_the_rule_named_is_the_one_that_asks_for_so_long_a_rest(
    effort: Effort, rest_minutes: int, said: str
) -> None:
    """It is due by two hours either way; medium work is bought by a longer rest than they ask."""
    day = Day(WARM).work(0, "light").at(50, WARM).rest(55, 61).work(61, "light").at(100, WARM)
    plan = Ahead((PlannedWork(2 * HOUR_US, effort),), Length(0), Length(0))
    found = day.pace(105, ahead=plan)
    assert (found.left_s, found.rest_minutes) == (6 * MINUTE_S, rest_minutes)
    assert pace_line(found).endswith(f"6 min left, then a {rest_minutes} min rest ({said})")


def test_the_plan_s_own_rhythm_needs_no_reading() -> None:
    rhythm = Rhythm(25 * MINUTE_S, 2 * MINUTE_S)
    day = Day().work(0)
    found = day.pace(10, rhythm=rhythm)
    assert (found.left_s, found.rest_s) == (15 * MINUTE_S, 2 * MINUTE_S)
    assert (found.rule, found.band) == ("the plan's own rhythm", "")
    assert day.pace(30, rhythm=rhythm).left_s == 0
    # Two minutes are no rest for the heat, but they are what this rhythm asks for.
    day.rest(30, 32).work(32)
    assert day.pace(40, rhythm=rhythm).left_s == 17 * MINUTE_S


def test_the_smaller_work_time_wins() -> None:
    day = Day(GARAGE).work(0)
    assert day.pace(0, rhythm=Rhythm(600, 120)).rule == "the plan's own rhythm"
    assert day.pace(0, rhythm=Rhythm(2400, 120)).rule == "NIOSH limit"


# The rolling hour.


def test_minutes_left_shrink_as_the_work_goes_on() -> None:
    day = Day(GARAGE).work(0)
    first = day.pace(0).left_s
    assert first is not None
    for minute in (1, 7.25, 20.5):
        assert day.pace(minute).left_s == pytest.approx(first - minute * 60, abs=1)
    assert day.pace(22).left_s == 0
    assert day.pace(22).grade == "now"


def first(minutes: int) -> Ahead:
    """A piece that is begun or not as a whole, and as much behind it as there is."""
    pieces = (PlannedWork(Length(minutes * 60_000_000), "moderate"),) * 2
    return Ahead(pieces, Length(0), pieces[0].length_us)


def test_who_only_stood_about_is_called_to_no_rest_before_the_first_piece() -> None:
    """It fits for whoever begins at once, and a rest would buy no more."""
    plan = first(21)

    def told(day: Day, minute: float) -> tuple[bool, str]:
        found = day.pace(minute, ahead=plan)
        return left(found) >= 21 * 60, found.grade

    stood = Day(GARAGE)
    assert told(stood, 0) == (True, "")
    assert told(stood, 3) == told(stood, 15) == (False, "")
    # Less than a quarter of an hour is left of it.
    assert told(stood, 20) == (False, "soon")
    # Behind a rest as long as the one that was called, and behind one cut short.
    assert told(Day(GARAGE).work(0).rest(20, 65), 67) == (False, "")
    assert told(Day(GARAGE).work(0).rest(6, 16), 16.1) == (False, "soon")
    # Behind work it does not fit because of the work.
    assert told(Day(GARAGE).work(0).down(1), 4) == (False, "soon")


def test_a_rest_gives_work_time_back() -> None:
    day = Day(GARAGE).work(0).rest(21, 50).work(50)
    unbroken = Day(GARAGE).work(0)
    assert left(day.pace(50)) > 0
    assert unbroken.pace(50).left_s == 0
    cool = day.pace(50, rest_place=COOL_ROOM)
    assert left(cool) > left(day.pace(50))


@pytest.mark.parametrize(
    ("reading", "rule"),
    [
        (ReadingTaken(wbgt_c=29.0), "NIOSH limit"),
        (ReadingTaken(air_c=33.0, rh=40.0), "NIOSH table"),
    ],
    ids=["limit", "table"],
)
def test_past_minutes_count_in_the_class_in_which_they_were_worked(
    reading: ReadingTaken, rule: str
) -> None:
    def after(past: str, now: str) -> Pace:
        return Day(reading).work(0, past).work(25, now).pace(26, acclimatized=True)

    # Taping before the cut is no cutting, and cutting before the taping no taping.
    assert after("light", "heavy").rule == after("heavy", "heavy").rule == rule
    assert left(after("light", "heavy")) > left(after("heavy", "heavy"))
    assert left(after("heavy", "light")) < left(after("light", "light"))


def test_hard_work_behind_is_not_forgotten_by_light_work_now() -> None:
    day = Day(ReadingTaken(air_c=38.0, rh=50.0)).work(0, "heavy")
    day.at(50, ReadingTaken(air_c=23.0, rh=40.0)).work(50, "light")
    found = day.pace(50)
    assert found.here_minutes == 60.0
    # Both are over by then; the table asks for the longer rest.
    assert (found.left_s, found.rule) == (0, "NIOSH table")
    # After the rest that was called for a quarter of an hour is had at least.
    after = 50 + found.rest_s / 60
    day = Day(ReadingTaken(air_c=38.0, rh=50.0)).work(0, "heavy")
    day.at(50, ReadingTaken(air_c=23.0, rh=40.0)).rest(50, after).work(after, "light")
    assert left(day.pace(after)) >= 15 * MINUTE_S - 1


def test_work_before_the_first_reading_counts_as_worked_in_its_climate() -> None:
    late = Day().work(0).at(15, GARAGE)
    early = Day(GARAGE).work(0)
    for rest_place in (None, COOL_ROOM):
        facts = {"rest_place": rest_place}
        assert late.pace(15, **facts).left_s == early.pace(15, **facts).left_s


def test_short_rests_do_not_add_up_to_one() -> None:
    day = Day(WARM).work(0, "light").rest(10, 13).work(13, "light").rest(20, 23).work(23, "light")
    assert day.pace(45, acclimatized=True).left_s == 15 * MINUTE_S


def test_two_jobs_share_one_account() -> None:
    one = Day(GARAGE).work(0)
    two = Day()
    two.book.press(0, opening(*STAGES, number=2), job="job-2")
    two.at(0, GARAGE).work(0).work(12, job="job-2")
    fresh = Day(GARAGE).work(0)
    assert two.pace(15).left_s == one.pace(15).left_s
    assert left(two.pace(15)) < left(fresh.pace(3))


def test_midnight_changes_nothing() -> None:
    # The book's beginning is not midnight; so many seconds later it is, half way through.
    to_midnight = 86_400 - us(0) // 1_000_000 % 86_400 - 10 * MINUTE_S
    evening, noon = Day(GARAGE, from_s=to_midnight).work(0), Day(GARAGE).work(0)
    for minute in (5, 15, 25):
        late, early = evening.pace(minute), noon.pace(minute)
        assert (late.left_s, late.rest_s, late.rule) == (early.left_s, early.rest_s, early.rule)
        assert late.here_minutes == early.here_minutes


def test_a_long_stretch_without_a_press_is_judged_whole() -> None:
    # One reading, then hands on for longer than the account looks back.
    day = Day(ReadingTaken(air_c=31.0, rh=40.0)).work(90)
    short = Day(ReadingTaken(air_c=31.0, rh=40.0)).work(0)
    assert (day.pace(300).left_s, day.pace(300).rest_s) == (
        short.pace(120).left_s,
        short.pace(120).rest_s,
    )


def test_a_break_longer_than_the_account_looks_back_is_a_rest() -> None:
    day = Day(GARAGE).work(0).down(90).at(90, ev.BreakTaken("away"))
    ahead = Ahead((PlannedWork(Length(2 * 3600 * 1_000_000), "moderate"),), Length(0), Length(0))
    found = day.pace(300, ahead=ahead)
    assert found.left_s == Day(GARAGE).work(0).pace(0).left_s
    assert found.effort == "rest"


def test_after_the_shift_the_account_only_rests() -> None:
    day = Day(GARAGE).work(0, "heavy").down(40).at(40, ev.ClockedOff())
    found = [left(day.pace(minute)) for minute in (40, 60, 90, 5000)]
    assert found == sorted(found)


# Effort.


def test_effort_goes_by_section() -> None:
    polish = Stage(
        "Polish",
        ("roof", "low door front", "low door rear"),
        (Work("polish", 10.0),),
        effort_by={"low door": "heavy", "roof": "light"},
        panels={"low door front": "low door", "low door rear": "low door"},
    )
    limits, efforts = [], []
    for sections in (("roof",), ("low door front",), ("roof", "low door rear")):
        book = opened(polish)
        book.press(0, GARAGE)
        book.press(0, ev.WorkStarted("Polish", sections, Turn()))
        found = pace(book.shift(), book.jobs(), us(60), False)
        efforts.append(found.effort)
        limits.append(found.limit_c)
    assert efforts == ["light", "heavy", "heavy"]
    assert limits[0] == pytest.approx(28.10, abs=0.005)
    assert limits[1] == pytest.approx(22.99, abs=0.005)


@pytest.mark.parametrize(
    ("events", "effort"),
    [
        ((), "light"),
        ((ev.OtherWorkStarted("fetching"),), "moderate"),
        ((ev.OtherWorkStarted("phone"),), "light"),
        ((ev.BreakTaken("meal"),), "rest"),
    ],
    ids=["nothing in hand", "fetching", "phone", "meal"],
)
def test_effort_of_what_is_not_a_stage_our_own_judgement(
    events: tuple[Any, ...], effort: str
) -> None:
    book = opened(*STAGES)
    if events:
        book.press(0, *events)
    assert effort_now(book.shift(), book.jobs()) == effort


@pytest.mark.parametrize(("effort", "limit_c"), [("moderate", 24.97), (None, 28.10)])
def test_a_break_is_judged_by_the_work_after_it_which_is_light_where_none_is_planned(
    effort: Effort | None, limit_c: float
) -> None:
    """NIOSH 2016-106, RAL of 300 W and of 180 W, worked by hand."""
    day = Day(GARAGE).at(0, ev.BreakTaken("meal"))
    ahead = None
    if effort is not None:
        ahead = Ahead((PlannedWork(Length(2 * 3600 * 1_000_000), effort),), Length(0), Length(0))
    found = day.pace(10, ahead=ahead)
    assert (found.effort, found.limit_c) == ("rest", pytest.approx(limit_c, abs=0.005))


@pytest.mark.parametrize("worked", [60, 75, 90, 115])
def test_where_nothing_is_planned_a_break_ends_when_its_call_said(worked: int) -> None:
    day = Day(ReadingTaken(31.0, 50.0)).work(0).down(worked)
    called = day.pace(worked)
    assert called.grade == "now"
    begun = day.at(worked, ev.BreakTaken("heat")).pace(worked + 1)
    assert begun.rest_until_us == us(worked * MINUTE_S + called.rest_s)


# No verdict.


def test_without_a_reading_there_is_no_verdict() -> None:
    found = Day().work(0).pace(30)
    assert (found.band, found.left_s, found.rest_s, found.rule) == ("", None, 0, "")
    assert (found.climate, found.judged_by, found.here_minutes) == (None, None, None)
    assert found.why_none == "Heat and gate unknown: R enters a reading."


IMPOSSIBLE = [
    ReadingTaken(air_c=math.nan, rh=40.0),
    ReadingTaken(air_c=35.0, rh=math.nan),
    ReadingTaken(air_c=350.0, rh=40.0),
    ReadingTaken(air_c=35.0, rh=400.0),
    ReadingTaken(air_c=35.0),
    ReadingTaken(rh=40.0),
    ReadingTaken(globe_c=40.0),
    ReadingTaken(wbgt_c=math.inf),
    ReadingTaken(wbgt_c=math.nan, air_c=35.0, rh=40.0),
]


@pytest.mark.parametrize("reading", IMPOSSIBLE, ids=str)
def test_what_is_missing_or_impossible_gives_no_verdict(reading: ReadingTaken) -> None:
    found = Day(reading).work(0).pace(30)
    assert (found.band, found.left_s, found.here_minutes) == ("", None, None)
    assert "no verdict" in found.why_none
    assert found.climate is not None


@pytest.mark.parametrize("reading", IMPOSSIBLE, ids=str)
def test_an_impossible_reading_leaves_the_last_rest_in_force(reading: ReadingTaken) -> None:
    day = Day(GARAGE).work(0)
    before = day.pace(10)
    found = day.at(10, reading).pace(10)
    assert found.band == ""
    assert "no verdict" in found.why_none
    assert (found.left_s, found.rest_s, found.rule) == (before.left_s, before.rest_s, before.rule)
    assert found.climate is not None
    assert found.climate.reading == reading
    assert found.judged_by is not None
    assert found.judged_by.reading == GARAGE


def test_a_stale_reading_gives_no_verdict_and_leaves_the_last_rest_in_force() -> None:
    day = Day(GARAGE).work(0).rest(21, 59).work(59)
    before, after = day.pace(59.9), day.pace(60)
    assert before.band == "over"
    assert before.why_none == ""
    assert after.band == ""
    assert after.why_none == "The reading is 60 min old: no verdict."
    assert after.left_s is not None
    assert left(after) <= left(before)
    assert (after.rule, after.here_minutes) == (before.rule, before.here_minutes)
    day.at(61, GARAGE)
    assert day.pace(61).band == "over"


def test_a_reading_not_yet_taken_says_nothing() -> None:
    day = Day().work(0).at(30, GARAGE)
    assert day.pace(29).climate is None
    assert day.pace(30).climate is not None


def test_a_reading_of_the_panel_takes_no_verdict_away() -> None:
    day = Day(GARAGE).work(0).at(5, ReadingTaken(panel_c=41.0))
    assert day.pace(5) == Day(GARAGE).work(0).pace(5)


@pytest.mark.parametrize(
    ("wbgt_c", "acclimatized", "band"),
    [
        (22.4, False, "clear"),
        (22.6, False, "caution"),
        (27.4, False, "caution"),
        (27.6, False, "over"),
        (26.1, True, "clear"),
        (26.3, True, "caution"),
        (30.1, True, "caution"),
        (30.3, True, "over"),
    ],
    ids=lambda value: f"bands of 2.5 C and 2.0 C, our own judgement: {value}",
)
def test_bands(wbgt_c: float, acclimatized: bool, band: str) -> None:
    assert Day(ReadingTaken(wbgt_c=wbgt_c)).work(0).pace(0, acclimatized).band == band


# What must always hold.

PLACES = ("indoors", "outdoor shade", "cloud", "sun")
AIR = st.floats(15.0, 48.0)
RH = st.floats(5.0, 95.0)
HISTORY = st.lists(
    st.tuples(st.sampled_from(["light", "moderate", "heavy", "rest"]), st.floats(0.5, 40.0)),
    max_size=6,
)
RISES = st.sampled_from(["hotter", "damper", "harder", "sunnier", "globe"])


def worked(
    history: list[tuple[str, float]], reading: ReadingTaken, now: str, harder: bool = False
) -> tuple[Day, float]:
    """A shift with that history, and the minute at which `now` is taken in hand."""
    up = {"light": "moderate", "moderate": "heavy", "heavy": "heavy", "rest": "rest"}
    day, minute = Day(reading), 0.0
    for what, minutes in history:
        if what == "rest":
            day.rest(minute, minute + minutes)
        else:
            day.work(minute, up[what] if harder else what)
        minute += minutes
        # A fresh reading of the same, so that the verdict stands on one throughout.
        day.at(minute, reading)
    day.work(minute, up[now] if harder else now)
    return day, minute


@settings(max_examples=60)
@given(
    history=HISTORY,
    air_c=AIR,
    rh=RH,
    now=st.sampled_from(EFFORTS),
    rise=RISES,
    by=st.floats(0.0, 1.0),
    place=st.sampled_from(PLACES),
    acclimatized=st.booleans(),
    rest_place=st.none() | st.builds(ReadingTaken, air_c=st.floats(18.0, 30.0), rh=st.just(50.0)),
    ahead=st.floats(0.0, 30.0),
)
def test_hotter_damper_harder_or_sunnier_never_gives_more_work_time(
    history: list[tuple[str, float]],
    air_c: float,
    rh: float,
    now: str,
    rise: str,
    by: float,
    place: Any,
    acclimatized: bool,
    rest_place: ReadingTaken | None,
    ahead: float,
) -> None:
    mild = ReadingTaken(air_c=air_c, rh=rh, place=place)
    harsh = mild
    match rise:
        case "hotter":
            harsh = ReadingTaken(air_c=air_c + 8.0 * by, rh=rh, place=place)
        case "damper":
            harsh = ReadingTaken(air_c=air_c, rh=rh + (100.0 - rh) * by, place=place)
        case "sunnier":
            higher: Any = PLACES[min(3, PLACES.index(place) + 1 + round(2 * by))]
            harsh = ReadingTaken(air_c=air_c, rh=rh, place=higher)
        case "globe":
            mild = ReadingTaken(air_c=air_c, rh=rh, globe_c=air_c, place=place)
            harsh = ReadingTaken(air_c=air_c, rh=rh, globe_c=air_c + 25.0 * by, place=place)
    day, minute = worked(history, mild, now)
    worse, _ = worked(history, harsh, now, harder=rise == "harder")
    before = day.pace(minute + ahead, acclimatized, rest_place=rest_place)
    after = worse.pace(minute + ahead, acclimatized, rest_place=rest_place)
    assert before.band
    assert after.band
    # Both are cut to whole seconds, and the energy balance of the sun is solved by halving.
    assert left(after) <= left(before) + 1
    assert before.here_minutes is not None
    assert after.here_minutes is not None
    assert after.here_minutes <= before.here_minutes + 1e-6
    bands = ("clear", "caution", "over")
    assert bands.index(after.band) >= bands.index(before.band)


@settings(max_examples=40)
@given(
    history=HISTORY,
    air_c=AIR,
    rh=RH,
    now=st.sampled_from(EFFORTS),
    acclimatized=st.booleans(),
    rest_c=st.floats(18.0, 34.0),
    cooler_by=st.floats(0.0, 10.0),
)
def test_a_cooler_rest_never_gives_less_work_time(
    history: list[tuple[str, float]],
    air_c: float,
    rh: float,
    now: str,
    acclimatized: bool,
    rest_c: float,
    cooler_by: float,
) -> None:
    day, minute = worked(history, ReadingTaken(air_c=air_c, rh=rh), now)
    warm, cool = (
        day.pace(minute, acclimatized, rest_place=ReadingTaken(air_c=c, rh=50.0))
        for c in (rest_c, rest_c - cooler_by)
    )
    assert left(cool) >= left(warm)
    assert cool.here_minutes is not None
    assert warm.here_minutes is not None
    assert cool.here_minutes >= warm.here_minutes - 1e-9
    for found in (warm, cool):
        assert found.cool_minutes is not None
        assert found.here_minutes is not None
        assert found.cool_minutes >= found.here_minutes - 1e-9


@settings(max_examples=40)
@given(history=HISTORY, air_c=AIR, rh=RH, now=st.sampled_from(EFFORTS), ahead=st.floats(0.1, 50.0))
def test_the_rest_comes_when_it_was_said_to(
    history: list[tuple[str, float]], air_c: float, rh: float, now: str, ahead: float
) -> None:
    # What guards an estimate is of the hour ahead alone, so that work done gives some of it back.
    day, minute = worked(history, by_meter(air_c, rh), now)
    first = day.pace(minute)
    if first.left_s is None:
        return
    assert left(day.pace(minute + first.left_s / 60)) <= 1
    if first.left_s >= ahead * 60 + 2:
        assert left(day.pace(minute + ahead)) > 0
