"""The heat account of a shift against a slow reckoner that shares no code with it."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.body.climate import climate
from cartclock.engine.body.exposure import (
    OVER_C,
    Load,
    climates,
    first_over,
    first_over_between,
    first_within,
    in_force,
    is_ever_over,
    limit_of,
    loads,
    peak,
)
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Effort, Stage, Wait, Work
from tests.kit.book import JOB, T0_US, Book, opened, us
from tests.kit.plans import opening

MINUTE_S, HOUR_S = 60.0, 3600.0
HOUR_US = 3_600_000_000

# Limits and class means written out once more: NIOSH 2016-106, read second-hand.
LIMITS: dict[bool, Callable[[float], float]] = {
    False: lambda watts: 59.9 - 14.1 * math.log10(watts),
    True: lambda watts: 56.7 - 11.5 * math.log10(watts),
}
WATTS = {"rest": 115.0, "light": 180.0, "moderate": 300.0, "heavy": 415.0}
BOTH = pytest.mark.parametrize("acclimatized", [False, True], ids=["RAL", "REL"])

Stretch = tuple[float, float, float, float]
"""Start and end in seconds, WBGT, watts."""


# The slow reckoner: exact sums over overlaps, a fine grid, and a search around its low points.


def average(run: list[Stretch], end_s: float) -> tuple[float, float]:
    """WBGT and watts of the hour that ends there, summed over what overlaps it."""
    parts = [
        (min(b, end_s) - max(a, end_s - HOUR_S), wbgt_c, watts)
        for a, b, wbgt_c, watts in run
        if b > end_s - HOUR_S and a < end_s
    ]
    return (
        math.fsum(length * wbgt_c for length, wbgt_c, _ in parts) / HOUR_S,
        math.fsum(length * watts for length, _, watts in parts) / HOUR_S,
    )


def margin(run: list[Stretch], end_s: float, acclimatized: bool) -> float:
    """Limit minus WBGT of that hour."""
    wbgt_c, watts = average(run, end_s)
    return LIMITS[acclimatized](watts) - wbgt_c


def grid(run: list[Stretch], from_s: float) -> list[float]:
    """Ends of hours from `from_s` on: every half minute, and every edge."""
    last_s = run[-1][1]
    steps = [from_s + 30.0 * n for n in range(int((last_s - from_s) / 30.0) + 1)]
    edges = [edge + late for a, b, _w, _m in run for edge in (a, b) for late in (0.0, HOUR_S)]
    return sorted({t for t in (*steps, *edges, last_s) if from_s <= t <= last_s})


def golden(figure: Callable[[float], float], a: float, b: float) -> float:
    """The least of a figure with one low point between two ends."""
    ratio = (math.sqrt(5.0) - 1.0) / 2.0
    least = min(figure(a), figure(b))
    for _ in range(60):
        left, right = b - ratio * (b - a), a + ratio * (b - a)
        low, high = figure(left), figure(right)
        least = min(least, low, high)
        a, b = (a, right) if low < high else (left, b)
    return least


def brute_peak(run: list[Stretch], acclimatized: bool) -> float | None:
    """The least margin of any whole hour inside the run."""
    first_s = run[0][0] + HOUR_S
    if run[-1][1] < first_s:
        return None
    ends = grid(run, first_s)
    found = [margin(run, end, acclimatized) for end in ends]
    least = min(found)
    for (a, b), (margin_a, margin_b) in zip(pairwise(ends), pairwise(found), strict=True):
        # In half a minute no margin falls by more than this, so other cells hold no low point.
        if min(margin_a, margin_b) < least + 1.0:
            least = min(least, golden(lambda t: margin(run, t, acclimatized), a, b))
    return least


def stretches(lengths: list[tuple[float, str, float]]) -> list[Stretch]:
    """(minutes, effort, WBGT) one after another."""
    run, at_s = [], 0.0
    for minutes, effort, wbgt_c in lengths:
        end_s = at_s + round(minutes * MINUTE_S, 6)
        run.append((at_s, end_s, wbgt_c, WATTS[effort]))
        at_s = end_s
    return run


def as_loads(run: list[Stretch]) -> list[Load]:
    """The same as loads of a shift."""
    names: dict[float, Effort] = {115.0: "rest", 180.0: "light", 300.0: "moderate", 415.0: "heavy"}
    return [
        Load(us(a), us(b), names[watts], watts, wbgt_c, None, watts == 115.0)
        for a, b, wbgt_c, watts in run
    ]


def as_steps(run: list[Stretch]) -> list[tuple[int, int, float, float]]:
    """The same as `first_over` wants it."""
    return [(us(a), us(b), wbgt_c, watts) for a, b, wbgt_c, watts in run]


SHIFTS = st.lists(
    st.tuples(
        st.floats(0.01, 95.0),
        st.sampled_from(list(WATTS)),
        st.floats(15.0, 36.0),
    ),
    min_size=1,
    max_size=9,
).map(stretches)


# The peak.


@BOTH
@settings(max_examples=25)
@given(run=SHIFTS)
def test_peak_equals_brute_force(acclimatized: bool, run: list[Stretch]) -> None:
    found = peak(as_loads(run), acclimatized)
    expected = brute_peak(run, acclimatized)
    if expected is None:
        assert found is None
        return
    assert found is not None
    assert found.margin_c == pytest.approx(expected, abs=1e-9)
    wbgt_c, watts = average(run, (found.end_us - T0_US) / 1e6)
    assert found.wbgt_c == pytest.approx(wbgt_c, abs=1e-5)
    assert found.watts == pytest.approx(watts, abs=1e-4)
    assert found.limit_c == pytest.approx(LIMITS[acclimatized](found.watts), abs=1e-9)


@BOTH
def test_a_peak_between_two_edges_is_found(acclimatized: bool) -> None:
    # Hot rest gives way to hard work in the cool: in between both weigh on the same hour.
    run = stretches([(60.0, "rest", 30.0), (60.0, "heavy", 22.0)])
    found = peak(as_loads(run), acclimatized)
    assert found is not None
    assert us(HOUR_S) < found.end_us < us(2 * HOUR_S)
    edges = [margin(run, end, acclimatized) for end in (HOUR_S, 2 * HOUR_S)]
    assert found.margin_c < min(edges) - 0.1
    assert found.margin_c == pytest.approx(brute_peak(run, acclimatized), abs=1e-9)


def test_the_limit_in_use_decides_which_hour_is_the_peak() -> None:
    run = stretches([(60.0, "rest", 31.9), (60.0, "heavy", 24.3)])
    ral, rel = peak(as_loads(run), False), peak(as_loads(run), True)
    assert ral is not None
    assert rel is not None
    assert ral.end_us != rel.end_us


def test_an_hour_with_a_hole_has_no_peak() -> None:
    run = as_loads(stretches([(40.0, "heavy", 30.0), (5.0, "heavy", 30.0), (40.0, "heavy", 30.0)]))
    blind = [run[0], Load(run[1].start_us, run[1].end_us, "heavy", 415.0, None, None, False)]
    assert peak(run, False) is not None
    assert peak([*blind, run[2]], False) is None


def test_after_a_hole_the_account_begins_anew() -> None:
    run = as_loads(stretches([(70.0, "light", 20.0), (5.0, "light", 20.0), (70.0, "heavy", 30.0)]))
    blind = Load(run[1].start_us, run[1].end_us, "light", 180.0, None, None, False)
    found = peak([run[0], blind, run[2]], False)
    assert found is not None
    assert (found.wbgt_c, found.watts) == (pytest.approx(30.0), pytest.approx(415.0))
    assert found.end_us >= run[2].start_us + HOUR_US


def test_no_loads_no_peak() -> None:
    assert peak([], False) is None


@BOTH
def test_the_hour_before_the_shift_makes_the_first_hour_whole(acclimatized: bool) -> None:
    run = stretches([(30.0, "heavy", 30.0)])
    found = peak(as_loads(run), acclimatized, before=(24.0, 115.0))
    longer = [(-HOUR_S, 0.0, 24.0, 115.0), *run]
    assert found is not None
    assert found.margin_c == pytest.approx(brute_peak(longer, acclimatized), abs=1e-9)
    assert (found.wbgt_c, found.watts) == (pytest.approx(27.0), pytest.approx(265.0))


# The first hour over the limit, and the first one within it again.

AHEAD = st.tuples(st.sampled_from(list(WATTS)), st.floats(15.0, 36.0))


@BOTH
@settings(max_examples=25)
@given(run=SHIFTS, ahead=AHEAD)
def test_first_over_and_first_within_equal_brute_force(
    acclimatized: bool, run: list[Stretch], ahead: tuple[str, float]
) -> None:
    before: Stretch = (-3 * HOUR_S, 0.0, 22.0, WATTS["rest"])
    now_s = run[-1][1]
    whole = [before, *run, (now_s, now_s + HOUR_S, ahead[1], WATTS[ahead[0]])]
    ends = grid(whole, now_s)
    over_us = first_over(as_steps(whole), us(now_s), acclimatized)
    assert is_ever_over(as_steps(whole), us(now_s), acclimatized) == (over_us is not None)
    if over_us is None:
        assert all(margin(whole, end, acclimatized) > -1e-8 for end in ends)
    else:
        over_s = (over_us - T0_US) / 1e6
        assert margin(whole, over_s, acclimatized) < 1e-8
        early = [end for end in ends if end < over_s - 0.002]
        assert all(margin(whole, end, acclimatized) > -1e-8 for end in early)
    within_us = first_within(as_steps(whole), us(now_s), acclimatized)
    if within_us is None:
        assert all(margin(whole, end, acclimatized) < 1e-8 for end in ends)
    else:
        within_s = (within_us - T0_US) / 1e6
        assert margin(whole, within_s, acclimatized) > -1e-8
        early = [end for end in ends if end < within_s - 0.002]
        assert all(margin(whole, end, acclimatized) < 1e-8 for end in early)


@pytest.mark.parametrize(
    ("acclimatized", "watts_at_limit"),
    [(False, 10 ** ((59.9 - 28.0) / 14.1)), (True, 10 ** ((56.7 - 28.0) / 11.5))],
    ids=["NIOSH 2016-106 RAL, worked by hand", "NIOSH 2016-106 REL, worked by hand"],
)
def test_first_over_by_hand(acclimatized: bool, watts_at_limit: float) -> None:
    # Rest at 28 C, then heavy work at 28 C: over when the hour's watts reach the limit's.
    run = [(-3 * HOUR_S, 0.0, 28.0, 115.0), (0.0, HOUR_S, 28.0, 415.0)]
    over_us = first_over(as_steps(run), us(0), acclimatized)
    assert over_us is not None
    by_hand_s = HOUR_S * (watts_at_limit - 115.0) / 300.0
    assert (over_us - T0_US) / 1e6 == pytest.approx(by_hand_s, abs=0.002)


@BOTH
@settings(max_examples=200)
@given(
    watts=st.tuples(st.floats(115.0, 520.0), st.floats(115.0, 520.0)),
    under_c=st.sampled_from((0.0, 1e-15, 1e-13, 1e-9, 1e-6, 0.01, 5.0)),
    over_c=st.sampled_from((1e-14, 1e-12, 1e-9, 1e-6, 0.01, 5.0)),
    alike=st.booleans(),
    length_us=st.integers(1, round(HOUR_S * 1e6)),
    at_us=st.sampled_from((0, T0_US)),
)
def test_where_hours_begin_to_be_over_is_found_close_to_the_limit_too(
    acclimatized: bool,
    watts: tuple[float, float],
    under_c: float,
    over_c: float,
    alike: bool,
    length_us: int,
    at_us: int,
) -> None:
    limit = limit_of(acclimatized)
    first_w, last_w = (watts[0], watts[0]) if alike else watts
    a = (at_us, limit(first_w) + OVER_C - under_c, first_w)
    b = (at_us + length_us, limit(last_w) + OVER_C + over_c, last_w)
    found_us = first_over_between(a, b, b[0], acclimatized)
    assert a[0] <= found_us <= b[0]

    def excess_c(us_: float) -> float:
        share = (us_ - a[0]) / length_us
        watts = a[2] + share * (b[2] - a[2])
        return a[1] + share * (b[1] - a[1]) - limit(watts) - OVER_C

    # By the definition: over there, and not over a millisecond before.
    assert excess_c(found_us) > -1e-12
    assert found_us - 1000 <= a[0] or excess_c(found_us - 1000) < 1e-12


def test_an_hour_over_the_limit_between_two_edges_is_not_missed() -> None:
    # Rested in the heat, then heavy work in the cool: within the limit now and in an hour.
    run = [(-3 * HOUR_S, 0.0, 30.0, 115.0), (0.0, HOUR_S, 22.0, 415.0)]
    assert min(margin(run, 0.0, False), margin(run, HOUR_S, False)) > 0.8
    over_us = first_over(as_steps(run), us(0), False)
    assert over_us is not None
    over_s = (over_us - T0_US) / 1e6
    assert 0 < over_s < HOUR_S
    assert margin(run, over_s, False) == pytest.approx(0.0, abs=1e-6)
    assert margin(run, over_s - 10, False) > 0


# Loads: what the account is made of.

LOW = ("low doors", "roof")
POLISH = Stage("Polish", LOW, (Work("polish", 10.0),), effort_by={"low doors": "heavy"})
FILM = Stage("Film", ("bonnet",), (Work("lay", 1.0), Wait("flash", 60, 90, 600), Work("wipe", 1.0)))
HOT, COOL = ev.ReadingTaken(air_c=35.0, rh=40.0), ev.ReadingTaken(air_c=26.0, rh=50.0)


def wbgt(reading: ev.ReadingTaken) -> float:
    """WBGT of a reading."""
    found = climate(0, reading).wbgt_c
    assert found is not None
    return found


def said(found: list[Load]) -> list[tuple[float, float, str, float | None, bool]]:
    """(from minute, to minute, effort, WBGT, resting) of each load."""
    return [
        ((x.start_us - T0_US) / 60e6, (x.end_us - T0_US) / 60e6, x.effort, x.wbgt_c, x.resting)
        for x in found
    ]


def polishing() -> Book:
    """A shift of every kind of piece, by minutes, one reading at 5."""
    book = opened(POLISH, FILM)
    book.press(300, HOT)
    book.press(600, ev.WorkStarted("Polish", ("roof",), Turn()))
    book.press(1200, ev.StepFinished("Polish", ("roof",), Turn()))
    book.press(1200, ev.WorkStarted("Polish", ("low doors",), Turn()))
    book.press(1800, ev.StepFinished("Polish", ("low doors",), Turn()), ev.BreakTaken("heat"))
    book.press(2400, ev.BreakEnded(), ev.OtherWorkStarted("fetching"))
    book.press(3000, ev.OtherWorkEnded(), ev.WorkStarted("Film", ("bonnet",), Turn()))
    book.press(3060, ev.StepFinished("Film", ("bonnet",), Turn(), Marks(60, 90, 600)))
    return book


def test_every_kind_of_piece_is_a_load_with_its_effort() -> None:
    book = polishing()
    hot = wbgt(HOT)
    assert said(loads(book.shift(), book.jobs(), us(3300))) == [
        (0, 5, "light", None, False),
        (5, 10, "light", hot, False),
        (10, 20, "moderate", hot, False),
        (20, 30, "heavy", hot, False),
        (30, 40, "rest", hot, True),
        (40, 50, "moderate", hot, False),
        (50, 51, "moderate", hot, False),
        (51, 55, "light", hot, False),
    ]


def test_breaks_are_spent_where_rests_are_taken() -> None:
    book = polishing()
    found = loads(book.shift(), book.jobs(), us(3300), COOL)
    assert [x.wbgt_c for x in found if x.resting] == [wbgt(COOL)]
    assert {x.wbgt_c for x in found if not x.resting} == {None, wbgt(HOT)}
    assert [x.climate.reading for x in found if x.climate is not None and x.resting] == [HOT]


def test_a_rest_place_without_a_figure_is_the_work_place() -> None:
    book = polishing()
    nowhere = ev.ReadingTaken(air_c=math.nan, rh=50.0)
    args = book.shift(), book.jobs(), us(3300)
    assert loads(*args, nowhere) == loads(*args)


def test_what_a_stretch_was_said_to_be_decides_its_effort() -> None:
    book = polishing()
    book.press(3300, ev.GapJudged(us(600), us(900), "off"))
    book.press(3300, ev.GapJudged(us(900), us(1200), "not known"))
    found = said(loads(book.shift(), book.jobs(), us(3300)))
    assert found[2][2:] == ("rest", wbgt(HOT), True)
    assert found[3][2:] == ("moderate", wbgt(HOT), False)


def test_a_reading_is_believed_for_an_hour_and_no_longer() -> None:
    book = opened(POLISH)
    book.press(0, HOT)
    book.press(0, ev.WorkStarted("Polish", ("roof",), Turn()))
    found = loads(book.shift(), book.jobs(), us(2 * HOUR_S))
    assert said(found) == [
        (0, 60, "moderate", wbgt(HOT), False),
        (60, 120, "moderate", None, False),
    ]
    readings = climates(book.shift())
    assert in_force(readings, us(HOUR_S) - 1) == readings[0]
    assert in_force(readings, us(HOUR_S)) is None
    assert in_force(readings, us(0) - 1) is None


def test_a_reading_of_the_panel_leaves_the_air_in_force() -> None:
    book = opened(POLISH)
    book.press(0, HOT)
    book.press(600, ev.ReadingTaken(panel_c=44.0))
    book.press(1200, COOL)
    found = loads(book.shift(), book.jobs(), us(1800))
    assert [x.wbgt_c for x in found] == [wbgt(HOT), wbgt(COOL)]


def test_the_newest_reading_holds_even_if_it_says_nothing() -> None:
    book = opened(POLISH)
    book.press(0, HOT)
    book.press(600, ev.ReadingTaken(air_c=math.nan, rh=40.0))
    found = loads(book.shift(), book.jobs(), us(1200))
    assert [x.wbgt_c for x in found] == [wbgt(HOT), None]


def test_work_its_job_does_not_know_counts_as_moderate() -> None:
    book = opened(POLISH)
    book.press(0, ev.WorkStarted("Nowhere", ("roof",), Turn()))
    shift = book.shift()
    for jobs in (book.jobs(), {}):
        assert [x.effort for x in loads(shift, jobs, us(60))] == ["moderate"]


def test_loads_have_no_hole_and_fill_the_time_on_the_clock() -> None:
    book = polishing()
    found = loads(book.shift(), book.jobs(), us(3 * HOUR_S))
    assert all(a.end_us == b.start_us for a, b in pairwise(found))
    assert sum(x.end_us - x.start_us for x in found) == 3 * HOUR_US
    late = loads(book.shift(), book.jobs(), us(3 * HOUR_S), since_us=us(1500))
    assert late == found[-len(late) :]
    assert late[0].start_us <= us(1500) < late[0].end_us


def test_two_jobs_share_one_account() -> None:
    one = opened(POLISH)
    one.press(0, HOT)
    one.press(0, ev.WorkStarted("Polish", ("roof",), Turn()))
    two = opened(POLISH)
    two.press(0, opening(POLISH, number=2), job="job-2")
    two.press(0, HOT)
    two.press(0, ev.WorkStarted("Polish", ("roof",), Turn()))
    two.press(2000, ev.StepFinished("Polish", ("roof",), Turn()), job=JOB)
    two.press(2000, ev.WorkStarted("Polish", ("roof",), Turn()), job="job-2")
    assert two.odd() == []
    peaks = [peak(loads(b.shift(), b.jobs(), us(3600)), False) for b in (one, two)]
    assert peaks[0] is not None
    assert peaks[0] == peaks[1]
