"""The hour's budget of heat, against a second reckoner's days."""

from __future__ import annotations

import csv
import math
import random
from pathlib import Path

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.body import budget as budget_rules
from cartclock.engine.body import exposure, stretch
from cartclock.engine.body.budget import Ahead, Air, Budget, PlannedWork, budget
from cartclock.engine.body.stretch import Stretch
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.figures.heat import niosh_table_minutes
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Length

VECTORS = Path(__file__).parent / "vectors" / "hour_budget.csv"
LINES = VECTORS.read_text(encoding="utf-8").splitlines()
assert LINES[0].startswith("# source: ")
ROWS = list(csv.DictReader(LINES[1:]))
# Two rules within half a minute of each other: either name will do.
GRADES = {"no work": "not here"}


def _us(minutes: str) -> int:
    return round(float(minutes) * MINUTE_US)


def _effort(name: str) -> Effort:
    assert name in ("rest", "light", "moderate", "heavy")
    return name


def _past(row: dict[str, str]) -> list[Stretch]:
    found = []
    for part in filter(None, row["past_minutes"].split(";")):
        effort, said = part.split()
        minutes, _, other = said.partition("@")
        wbgt, _, adjusted = other.partition("/")
        resting = effort == "rest"
        here = float(row["rest_wbgt_c"] if resting else wbgt or row["wbgt_c_by_meter"])
        air = float(adjusted or row["adjusted_f"])
        found.append(Stretch(_us(minutes), _effort(effort), here, air))
    return found


def _judged(row: dict[str, str]) -> Budget:
    pieces = tuple(
        PlannedWork(_us(minutes), _effort(effort))
        for effort, minutes in (part.split() for part in row["ahead_minutes"].split(";"))
    )
    off = row["trigger_f"] == "off"
    return budget(
        _past(row),
        Ahead(
            pieces,
            _us(row["in_hand_left_min"]),
            _us(row["next_unit_min"]),
            row["film_in_play"] == "1",
            _us(row["meal_in_min"]) if row["meal_in_min"] else None,
        ),
        Air(
            float(row["wbgt_c_by_meter"]),
            float(row["rest_wbgt_c"]),
            float(row["adjusted_f"]),
            None if off else float(row["trigger_f"]),
            off,
        ),
        row["acclimatized"] == "1",
    )


@pytest.mark.parametrize(
    "row",
    ROWS,
    ids=[f"NIOSH 2016-106 by a second reckoner: {row['row']} {row['note']}" for row in ROWS],
)
def test_hour(row: dict[str, str]) -> None:
    found = _judged(row)
    assert found.grade == GRADES.get(row["grade"], row["grade"])
    left = None if found.left_us is None else found.left_us / MINUTE_US
    assert left == (pytest.approx(float(row["left_min"]), abs=0.5) if row["left_min"] else None)
    assert found.rest_us == _us(row["rest_min"])
    assert found.rule == row["rule"]
    assert found.work_minutes == pytest.approx(float(row["work_min_per_hour"]), abs=0.1)
    assert found.light_minutes == pytest.approx(float(row["light_min_per_hour"]), abs=0.1)


EFFORTS: tuple[Effort, ...] = ("light", "moderate", "heavy")
ROUND_US = 1000
NONE = Length(0)

efforts = st.sampled_from(EFFORTS)
minutes_ = st.integers(1, 30).map(lambda n: n * MINUTE_US)
pieces_ = st.lists(st.builds(PlannedWork, minutes_, efforts), min_size=1, max_size=8).map(tuple)
airs = st.builds(
    Air,
    wbgt_c=st.integers(200, 330).map(lambda n: n / 10),
    rest_wbgt_c=st.integers(180, 330).map(lambda n: n / 10),
    adjusted_f=st.none() | st.integers(70, 112).map(float),
    index_f=st.none() | st.integers(70, 120).map(float),
)


@st.composite
def pasts(draw: st.DrawFn) -> list[Stretch]:
    """Up to two hours in one air, with rests between."""
    air = draw(airs)
    kinds = draw(st.lists(st.tuples(minutes_, st.sampled_from(("rest", *EFFORTS))), max_size=8))
    return [
        Stretch(length, effort, air.rest_wbgt_c if effort == "rest" else air.wbgt_c, air.adjusted_f)
        for length, effort in kinds
    ]


def worked(past: list[Stretch], ahead: Ahead, air: Air, by_us: int) -> tuple[list[Stretch], Ahead]:
    """The same day so much of the plan later."""
    done, plan = list(past), []
    left_us = by_us
    for piece in (*ahead.pieces, PlannedWork(10 * HOUR_US, "light")):
        now_us = min(left_us, piece.length_us)
        if now_us:
            done.append(Stretch(now_us, piece.effort, air.wbgt_c, air.adjusted_f))
        if piece.length_us > now_us:
            plan.append(PlannedWork(piece.length_us - now_us, piece.effort))
        left_us -= now_us
    return done, Ahead(tuple(plan), plan[0].length_us, ahead.next_us)


@given(pasts(), pieces_, airs, st.booleans(), st.floats(0.05, 0.95))
@example(
    [Stretch(_us("1"), "light", 20.0, None)],
    (PlannedWork(_us("1"), "heavy"),),
    Air(30.7, 18.0, None, None),
    True,
    0.5,
)
def test_while_reading_and_plan_stand_only_the_time_gone_is_taken_off(
    past: list[Stretch], pieces: tuple[PlannedWork, ...], air: Air, used: bool, share: float
) -> None:
    """The reminder after an hour without hands off goes by how heavy the work of the hour ahead is:
    where heavy work is done it may fall silent, and another rule speaks later."""
    ahead = Ahead(pieces, pieces[0].length_us, 0)
    found = budget(past, ahead, air, used)
    assume(found.grade != "not here" and found.left_us)
    assert found.left_us is not None
    by_us = int(found.left_us * share)
    assume(by_us > 0)
    later = budget(*worked(past, ahead, air, by_us), air, used)
    if later.grade == "not here":
        return
    assert found.rule != "hour" or later.left_us is None or later.left_us >= found.left_us - by_us
    if (found.rule == "hour") == (later.rule == "hour"):
        assert later.left_us == pytest.approx(found.left_us - by_us, abs=ROUND_US)


@given(pasts(), pieces_, airs, st.booleans(), st.floats(0, 2), st.integers(0, 4))
def test_a_hotter_air_or_heavier_work_never_allows_more(
    past: list[Stretch],
    pieces: tuple[PlannedWork, ...],
    air: Air,
    used: bool,
    hotter_c: float,
    hotter_f: int,
) -> None:
    ahead = Ahead(pieces, pieces[0].length_us, 0)
    found = budget(past, ahead, air, used)
    adjusted = None if air.adjusted_f is None else air.adjusted_f + hotter_f
    hot = replace(air, wbgt_c=air.wbgt_c + hotter_c, adjusted_f=adjusted)
    heavier = replace(ahead, pieces=tuple(PlannedWork(p.length_us, "heavy") for p in pieces))
    for other in (budget(past, ahead, hot, used), budget(past, heavier, air, used)):
        assert other.work_minutes <= found.work_minutes + 1e-6
        if found.left_us is not None:
            assert other.left_us is not None
            assert other.left_us <= found.left_us + ROUND_US


@given(pasts(), pieces_, airs, st.booleans(), st.floats(0, 1), st.floats(0, 2))
def test_now_is_said_only_when_what_was_read_is_over_limit_or_table(
    past: list[Stretch],
    pieces: tuple[PlannedWork, ...],
    air: Air,
    used: bool,
    guard_c: float,
    guard_f: float,
) -> None:
    ahead = Ahead(pieces, pieces[0].length_us, pieces[0].length_us)
    guarded = budget(past, ahead, replace(air, guard_c=guard_c, guard_f=guard_f), used)
    bare = budget(past, ahead, air, used)
    if guarded.grade == "now":
        assert bare.grade in ("now", "not here")
        assert bare.rule in ("limit", "table")


@given(pasts(), pieces_, airs, st.booleans())
def test_a_rest_taken_in_full_buys_a_quarter_of_an_hour(
    past: list[Stretch], pieces: tuple[PlannedWork, ...], air: Air, used: bool
) -> None:
    ahead = Ahead(pieces, pieces[0].length_us, 0)
    found = budget(past, ahead, air, used)
    assume(found.grade == "now" and found.rest_us)
    rested = [*past, Stretch(found.rest_us, "rest", air.rest_wbgt_c, None)]
    later = budget(rested, ahead, air, used)
    assert later.left_us is None or later.left_us >= 15 * MINUTE_US - ROUND_US


@given(pasts(), pieces_, airs, st.booleans(), st.floats(0.05, 0.95))
@example(
    [Stretch(_us("10"), "heavy", 26.9, None)],
    (PlannedWork(_us("1"), "light"),),
    Air(20.0, 29.0, None, None),
    False,
    0.125,
)
def test_what_a_rest_still_takes_is_told_to_one_end(
    past: list[Stretch], pieces: tuple[PlannedWork, ...], air: Air, used: bool, share: float
) -> None:
    """In a break: while reading and plan stand its end does, or it was long enough before."""
    assume(past and past[-1].effort != "rest")
    ahead = Ahead(pieces, NONE, pieces[0].length_us)
    found = budget(past, ahead, air, used, resting=True)
    assume(found.grade in ("soon", "now") and found.rest_us)
    part_us = Length(int(found.rest_us * share) or 1)
    rested = [*past, Stretch(part_us, "rest", air.rest_wbgt_c, None)]
    later = budget(rested, ahead, air, used, resting=True)
    assert later.grade != "not here"
    if later.grade in ("soon", "now") and later.rule == found.rule:
        assert part_us + later.rest_us == found.rest_us


def test_a_step_less_of_rest_is_short_by_the_rule_that_is_named() -> None:
    """Where it is another than the one that calls: one hour in thirty, so they are drawn freely."""
    draw, seen = random.Random(1), set()
    for _ in range(500):
        c = (draw.randint(230, 300) / 10, draw.randint(200, 290) / 10)
        air = Air(*c, float(draw.randint(84, 100)), float(draw.randint(80, 110)))
        past = [
            Stretch(_us(str(minutes)), draw.choice(("rest", *EFFORTS)), air.wbgt_c, air.adjusted_f)
            for minutes in draw.choices(range(1, 31), k=draw.randint(0, 8))
        ]
        pieces = tuple(
            PlannedWork(_us(str(minutes)), draw.choice(EFFORTS))
            for minutes in draw.choices(range(1, 31), k=draw.randint(1, 8))
        )
        ahead = Ahead(pieces, NONE, pieces[0].length_us)
        found = budget(past, ahead, air, False)
        if found.grade in ("soon", "now") and found.rest_rule != found.rule:
            short = Length(found.rest_us - 5 * MINUTE_US)
            less = [*past, Stretch(short, "rest", air.rest_wbgt_c, None)]
            assert budget(less, ahead, air, False).rule == found.rest_rule
            seen.add(found.rest_rule)
    assert seen == {"limit", "table", "two hours"}


@given(pasts(), pieces_, airs, st.booleans(), st.integers(1, 120))
def test_a_rest_before_a_meal_is_never_shorter_for_it(
    past: list[Stretch], pieces: tuple[PlannedWork, ...], air: Air, used: bool, minutes: int
) -> None:
    """It buys the work up to the meal where that is not long after what it buys anyway."""
    ahead = Ahead(pieces, pieces[0].length_us, pieces[0].length_us)
    meal = replace(ahead, meal_us=Length(minutes * MINUTE_US))
    plain, found = (budget(past, one, air, used) for one in (ahead, meal))
    assume(plain.rule in ("limit", "table") and found.grade == plain.grade)
    assert (found.left_us, found.rule) == (plain.left_us, plain.rule)
    assert found.rest_us >= plain.rest_us


def test_a_rest_buys_the_work_up_to_a_meal_that_comes_soon_after() -> None:
    """Half an hour of the plan would end ten minutes before the meal and be called once more."""
    air = Air(26.41, 26.41, 94.4, 97.31)
    plan = (PlannedWork(Length(120 * MINUTE_US), "moderate"),)
    past = [Stretch(Length(45 * MINUTE_US), "moderate", 26.41, 94.4)]
    plain = budget(past, Ahead(plan, NONE, NONE), air, False)
    assert (plain.grade, plain.rule) == ("now", "limit")
    meal_us = Length(plain.rest_us + 40 * MINUTE_US)
    found = budget(past, Ahead(plan, NONE, NONE, meal_us=meal_us), air, False)
    assert found.rest_us > plain.rest_us
    rested = [*past, Stretch(found.rest_us, "rest", 26.41, None)]
    later = budget(rested, Ahead(plan, NONE, NONE), air, False)
    assert later.left_us is None or later.left_us >= meal_us - found.rest_us - ROUND_US


@given(pieces_, airs, st.booleans())
def test_who_obeys_in_one_air_is_never_over_limit_or_table(
    pieces: tuple[PlannedWork, ...], air: Air, used: bool
) -> None:
    """Three hours of the plan again and again, every rest taken where it is called."""
    done: list[Stretch] = []
    ahead = Ahead(pieces, pieces[0].length_us, 0)
    gone_us = 0
    while gone_us < 3 * HOUR_US:
        found = budget(done, ahead, air, used)
        assert found.grade != "now" or not done or done[-1].effort != "rest"
        if found.grade == "not here" or (found.grade == "now" and not found.rest_us):
            break
        if found.left_us == 0:
            done.append(Stretch(found.rest_us, "rest", air.rest_wbgt_c, None))
            gone_us += found.rest_us
            continue
        step_us = min(found.left_us or HOUR_US, ahead.pieces[0].length_us)
        done, ahead = worked(done, ahead, air, step_us)
        if len(ahead.pieces) < len(pieces):
            ahead = replace(ahead, pieces=(*ahead.pieces[:-1], *pieces))
            ahead = replace(ahead, in_hand_us=ahead.pieces[0].length_us)
        gone_us += step_us
        # Half-minute cells of the last hour, by plain sums that share nothing with the code.
        assert_within(done, air, used)


def assert_within(done: list[Stretch], air: Air, used: bool) -> None:
    """The last hour is within the limit and the table's hour, worked out second by second."""
    cells: list[tuple[float, float, float]] = []
    for one in reversed(done):
        watts = {"rest": 115.0, "light": 180.0, "moderate": 300.0, "heavy": 415.0}[one.effort]
        allowed = None
        if one.adjusted_f is not None and one.effort != "rest":
            allowed = niosh_table_minutes(one.adjusted_f, one.effort)
        cost = 60 / allowed if allowed else 0.0
        cells += [(one.wbgt_c, watts, cost)] * (one.length_us // 1_000_000)
        if len(cells) >= 3600:
            break
    cells = cells[:3600]
    cells += [(air.rest_wbgt_c, 115.0, 0.0)] * (3600 - len(cells))
    wbgt, watts, spent = (math.fsum(cell[i] for cell in cells) / 3600 for i in range(3))
    limit = 56.7 - 11.5 * math.log10(watts) if used else 59.9 - 14.1 * math.log10(watts)
    resting_over = air.rest_wbgt_c > (
        56.7 - 11.5 * math.log10(115) if used else 59.9 - 14.1 * math.log10(115)
    )
    assert wbgt <= limit + 0.01 or resting_over
    assert spent <= 1.001


def test_what_need_not_be_looked_at_changes_no_verdict(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = random.Random(8)
    asked = []
    for _ in range(150):
        wbgt_c = rng.uniform(22.0, 31.0)
        # Half of the days are steady, so that every way of it is gone.
        swing = rng.choice((0.0, 3.0))
        past = [
            Stretch(
                Length(round(rng.uniform(3.0, 40.0) * MINUTE_US)),
                rng.choice(("rest", "light", "moderate", "heavy")),
                wbgt_c - rng.uniform(0.0, swing),
                90.0 + rng.uniform(-1.0, 3.0) * swing,
            )
            for _ in range(rng.randrange(1, 7))
        ]
        pieces = tuple(
            PlannedWork(
                Length(round(rng.uniform(5.0, 120.0) * MINUTE_US)),
                rng.choice(("light", "moderate", "heavy")),
            )
            for _ in range(rng.randrange(1, 4))
        )
        air = Air(wbgt_c, wbgt_c - rng.choice((0.0, 4.0)), 92.0, 93.0, guard_c=swing / 3)
        next_us = Length(round(rng.uniform(0.0, 30.0) * MINUTE_US))
        asked.append((past, Ahead(pieces, Length(0), next_us), air, rng.random() < 0.5))
    found = [budget(*one) for one in asked]
    assert len({one.grade for one in found}) == 4
    monkeypatch.setattr(exposure, "_hardens", lambda _run, _from_us: False)
    monkeypatch.setattr(stretch._Sum, "rises_from", lambda _self, _from_us: False)
    monkeypatch.setattr(budget_rules._Stage, "_rests_coolest", False)
    assert [budget(*one) for one in asked] == found
