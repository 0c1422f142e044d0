"""What is proposed of a plan: enough, clear and worth writing; and what panels weigh."""

from __future__ import annotations

import random
from math import exp, log
from statistics import geometric_mean

import pytest
from msgspec.structs import replace

from cartclock.engine.ahead.durations import SPREADS
from cartclock.engine.history.proposals import (
    MinutesProposal,
    PanelWeight,
    panel_weights,
    planned_weights,
    proposed_minutes,
    proposed_weights,
    with_weights,
    written_minutes,
)
from cartclock.engine.hours.lessons import JobLessons, PanelLesson, added_up, by_panel
from cartclock.engine.hours.usual import LEAST_MEASURED, StepKey, Timed
from cartclock.engine.plan.plan import Plan, Stage, Work

HALVES = ("roof left", "roof right", "bonnet left", "bonnet right")
POLISH = Stage("Polish", HALVES, (Work("polish", 8.0), Work("wipe", 2.0)))
PLAN = Plan("one step", (POLISH, Stage("Rinse", ("all",), (Work("rinse", 0.0, over="all"),))))
POLISHED: StepKey = ("Polish", "polish", 0)
WIPED: StepKey = ("Polish", "wipe", 0)


def job(number: int, minutes: dict[StepKey, list[float]]) -> JobLessons:
    pieces = [
        Timed("me", step, n, one * 60.0, 480.0)
        for step, found in minutes.items()
        for n, one in enumerate(found)
    ]
    return JobLessons(f"job {number}", PLAN.name, "estate", number, added_up(pieces))


def proposed(*jobs: dict[StepKey, list[float]]) -> tuple[MinutesProposal, ...]:
    return proposed_minutes(PLAN, [job(number, told) for number, told in enumerate(jobs)])


def test_what_takes_eleven_of_eight_is_proposed_with_how_sure_it_is() -> None:
    one = [10.5, 11.0, 11.5, 11.0]
    (found,) = proposed(*[{POLISHED: one, WIPED: [2.0, 2.1, 1.9]}] * 6)
    assert (found.stage, found.step, found.over) == ("Polish", POLISHED, "section")
    assert (found.planned_min, found.take_min, found.n, found.jobs) == (8.0, 11.0, 24, 6)
    assert found.taken_min == pytest.approx(geometric_mean(one))
    assert found.low_min < found.taken_min < found.high_min
    assert found.low_min > 8.0
    assert found.sure


def test_one_job_says_less_than_many() -> None:
    slow = {POLISHED: [16.0] * 8}
    (once,), (often,) = proposed(slow), proposed(*[slow] * 6)
    assert (once.sure, often.sure) == (False, True)
    assert once.high_min - once.low_min > often.high_min - often.low_min
    # Its own pace alone could have made a day a fifth slower: nothing is said of that.
    assert proposed({POLISHED: [9.6] * 8}) == ()


def test_too_few_too_near_and_without_minutes_nothing_is_proposed() -> None:
    assert proposed() == ()
    assert proposed({POLISHED: [20.0] * (LEAST_MEASURED - 1)}) == ()
    # Sure, and not worth a plan.
    assert proposed(*[{POLISHED: [8.4] * 20}] * 40) == ()
    assert proposed(*[{("Rinse", "rinse", 0): [5.0] * 5}] * 5) == ()
    assert proposed(*[{("Another", "polish", 0): [5.0] * 5}] * 5) == ()


def test_what_goes_faster_is_proposed_too() -> None:
    (found,) = proposed(*[{WIPED: [0.5] * 6}] * 4)
    assert (found.planned_min, found.take_min) == (2.0, 0.5)


def test_eight_times_in_ten_the_true_mean_lies_within() -> None:
    """Workers drawn by the belief itself, so that the check is of the arithmetic."""
    chance = random.Random(4)
    inside = 0
    for _ in range(400):
        true = log(30.0)
        told = []
        for _job in range(3):
            mean = true + chance.gauss(0, SPREADS.pace)
            told.append({POLISHED: [exp(chance.gauss(mean, SPREADS.noise)) for _ in range(4)]})
        (found,) = proposed(*told)
        inside += found.low_min <= 30.0 <= found.high_min
    assert 0.75 <= inside / 400 <= 0.85


def test_minutes_are_written_as_somebody_would() -> None:
    assert [written_minutes(one) for one in (11.3, 5.4, 4.3, 1.2, 0.6, 0.02)] == [
        *(11.0, 5.0, 4.5, 1.0, 0.5),
        0.25,
    ]


def pieces(of: dict[str, list[float]], step: StepKey = POLISHED) -> list[Timed]:
    return [
        Timed("me", step, n, one * 60.0, 480.0, panel)
        for panel, found in of.items()
        for n, one in enumerate(found)
    ]


def test_a_mirror_is_not_a_bonnet() -> None:
    lessons = [*by_panel(pieces({"bonnet": [12.0] * 2, "mirror": [3.0] * 2}))] * 20
    found = {one.panel: one for one in panel_weights(lessons)}
    assert found["bonnet"].weight / found["mirror"].weight == pytest.approx(4.0, rel=0.05)
    assert found["bonnet"].weight + found["mirror"].weight == pytest.approx(2.0)
    assert (found["mirror"].n, found["mirror"].jobs) == (40, 20)
    (few, _mirror) = panel_weights(lessons[:2])
    assert 1.0 < few.weight < found["bonnet"].weight


def test_panels_are_held_against_the_same_step_of_the_same_job() -> None:
    slow = by_panel(pieces({"bonnet": [24.0], "roof": [12.0]}))
    fast = by_panel(pieces({"bonnet": [12.0], "roof": [6.0]}))
    assert [one.ln_ratio for one in slow] == pytest.approx([one.ln_ratio for one in fast])
    both = by_panel([*pieces({"bonnet": [24.0], "roof": [12.0]}), *pieces({"roof": [2.0]}, WIPED)])
    # Of a step on one panel alone nothing can be said.
    assert both == slow
    assert by_panel(pieces({"": [3.0, 4.0]})) == ()
    assert panel_weights([]) == ()


def test_a_plan_that_weighs_its_panels_is_learned_from_as_it_stands() -> None:
    lessons = [*by_panel(pieces({"bonnet": [12.0] * 2, "mirror": [3.0] * 2}))] * 20
    free = {one.panel: one for one in panel_weights(lessons)}
    right = {("Polish", "bonnet"): 1.6, ("Polish", "mirror"): 0.4}
    found = {one.panel: one for one in panel_weights(lessons, right)}
    # The plan says already what they were: nothing is to be changed.
    assert [found[name].beside for name in ("bonnet", "mirror")] == pytest.approx([1.0, 1.0])
    assert [found[name].weight for name in ("bonnet", "mirror")] == pytest.approx([1.6, 0.4])
    assert not any(one.tells for one in found.values())
    # One that has them the other way round is corrected, and weighs as much in all.
    wrong = {("Polish", "bonnet"): 0.4, ("Polish", "mirror"): 1.6}
    turned = {one.panel: one for one in panel_weights(lessons, wrong)}
    assert turned["bonnet"].weight == pytest.approx(free["bonnet"].weight, rel=0.05)
    assert sum(one.weight for one in turned.values()) == pytest.approx(2.0)
    assert all(one.tells for one in turned.values())


def test_weights_are_proposed_where_a_plan_has_others() -> None:
    polish = Stage("Polish", ("bonnet left", "bonnet right", "mirror"), (Work("polish", 8.0),),
                   panels={"bonnet left": "bonnet", "bonnet right": "bonnet"})  # fmt: skip
    plan = Plan("invented", (polish,))
    lessons = [*by_panel(pieces({"bonnet": [12.0] * 2, "mirror": [3.0]}))] * 10
    found = proposed_weights(plan, lessons)
    assert [(one.panel, one.planned) for one in found] == [("bonnet", 1.0), ("mirror", 1.0)]
    taken = with_weights(plan, found)
    assert taken.stages[0].weights == {one.panel: one.take for one in found}
    assert planned_weights(taken) == {("Polish", one.panel): one.take for one in found}
    assert proposed_weights(taken, lessons) == ()
    assert proposed_weights(plan, lessons[:2]) == ()
    # What the plan gives by section keeps its own proportion.
    apart = replace(polish, weights={"bonnet left": 0.5, "mirror": 1.0})
    again = with_weights(Plan("invented", (apart,)), proposed_weights(Plan("i", (apart,)), lessons))
    weights = again.stages[0].weights
    assert set(weights) == {"bonnet left", "mirror", "bonnet"}
    assert weights["bonnet left"] < weights["bonnet"]


def test_the_minutes_proposed_are_of_a_section_that_weighs_one() -> None:
    weights = {"bonnet": 4.0, "mirror": 1.0}
    polish = Stage("Polish", ("bonnet", "mirror"), (Work("polish", 8.0),), weights=weights)
    lessons = added_up(pieces({"bonnet": [12.0] * 9, "mirror": [3.0] * 9}))
    taught = [JobLessons(f"job {n}", "invented", "", n, lessons) for n in range(6)]
    (found,) = proposed_minutes(Plan("invented", (polish,)), taught)
    assert found.taken_min == pytest.approx(3.0)
    (plain,) = proposed_minutes(Plan("invented", (replace(polish, weights={}),)), taught)
    assert plain.taken_min == pytest.approx(6.0)


def test_a_stage_where_all_is_alike_weighs_one() -> None:
    lessons = [PanelLesson("me", "Wash", panel, 3, 0.0) for panel in ("roof", "door")]
    assert panel_weights(lessons) == (
        PanelWeight("Wash", "door", 1.0, 3, 1),
        PanelWeight("Wash", "roof", 1.0, 3, 1),
    )
