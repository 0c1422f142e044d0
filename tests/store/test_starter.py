"""Starter plans: they read with every body, can be worked, and own up to their examples."""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.plan.plan import Wait, Work
from cartclock.engine.plan.shapes import SHAPES
from cartclock.engine.store.plan_file.reader import (
    examples,
    read_plan,
    starter,
    starters,
    with_body,
)
from cartclock.engine.trouble import Refused

CP = "common practice, no source"
GOOD = (Path(__file__).parent / "good_plan.toml").read_text(encoding="utf-8")


def test_their_names() -> None:
    assert starters() == (
        "decontamination_and_sealant",
        "maintenance_wash",
        "one_step_correction_and_coat",
        "two_layer_coat_overnight",
    )


@pytest.mark.parametrize("body", SHAPES)
@pytest.mark.parametrize("name", starters())
def test_every_starter_reads_with_every_body(name: str, body: str) -> None:
    plan = read_plan(with_body(starter(name), body), f"{name}.toml")
    by_body = [s for s in plan.stages if {"roof", "bonnet"} <= {s.panel(x) for x in s.sections}]
    assert plan.shape == body
    lid = {"saloon": "boot lid", "coupe": "boot lid", "van": "driver barn door"}
    for stage in by_body:
        if "front bumper" in stage.sections:
            assert lid.get(body, "tailgate") in {stage.panel(x) for x in stage.sections}


def test_another_body_keeps_the_comments() -> None:
    text = starter("one_step_correction_and_coat")
    other = with_body(text, "coupe")
    assert 'body = "estate"' in text
    assert 'body = "estate"' not in other
    assert other.replace('body = "coupe"', 'body = "estate"') == text


def test_another_body_leaves_comments_and_sentences_alone() -> None:
    text = (
        '# sections = { body = "van" }\nsay = "body = none"\n'
        'sections = { split = { roof = 2 }, body = "van" }'
    )
    assert with_body(text, "SUV") == text.replace('2 }, body = "van"', '2 }, body = "SUV"')


def test_unknown_names_are_refused_with_the_near_miss() -> None:
    with pytest.raises(Refused, match='did you mean "maintenance_wash"'):
        starter("maintenance-wash")
    with pytest.raises(Refused, match="no starter plan"):
        starter("../../pyproject")
    with pytest.raises(Refused, match='did you mean "SUV"'):
        with_body("", "suv")


@pytest.mark.parametrize("name", starters())
def test_every_wait_and_every_promise_is_marked_as_an_example(name: str) -> None:
    plan = read_plan(starter(name), name)
    waits = [s for stage in plan.stages for s in stage.steps if isinstance(s, Wait)]
    assert waits
    assert all(wait.example for wait in waits)
    assert all(stage.gap.example for stage in plan.stages if stage.gap)
    assert all(stage.cure.example for stage in plan.stages if stage.cure)
    assert plan.aftercare
    assert all(line.source == "example" for line in plan.aftercare)


@pytest.mark.parametrize("name", starters())
def test_hands_reach_every_window_of_a_starter(name: str) -> None:
    """A window opens after the last touch and closes after the first."""
    for stage in read_plan(starter(name), name).stages:
        at_once = len(stage.sections) if stage.press == "stage" else 1
        steps = stage.steps
        for before, wait, then in zip(steps, steps[1:], steps[2:], strict=False):
            if isinstance(before, Work) and isinstance(wait, Wait) and isinstance(then, Work):
                opens_s = before.minutes * 60 * at_once + wait.opens_s
                assert opens_s <= wait.closes_s - then.minutes * 60 * at_once, stage.name


@pytest.mark.parametrize("name", starters())
def test_every_starter_begins_with_the_arrival(name: str) -> None:
    first = read_plan(starter(name), name).stages[0]
    assert (first.name, first.effort, first.press) == ("Arrival", "light", "stage")
    assert first.sections == ("whole vehicle",)
    (step,) = first.steps
    assert isinstance(step, Work)
    assert step.say.startswith("walk round")
    assert step.minutes > 0


def test_a_maintenance_wash_is_planned_in_few_presses() -> None:
    """That it is worked in eight is pressed in `tests/screens/test_starter_presses.py`."""
    plan = read_plan(starter("maintenance_wash"), "maintenance_wash")
    assert all(stage.press == "stage" for stage in plan.stages)
    taken_up = sum(isinstance(step, Work) for s in plan.stages for step in s.steps)
    waits = sum(isinstance(step, Wait) for s in plan.stages for step in s.steps)
    finishing_and_closing = 2
    assert taken_up + waits + finishing_and_closing <= 8


@pytest.mark.parametrize("day_h", [12], ids=[f"one full day, {CP}"])
def test_a_correction_fills_a_day(day_h: int) -> None:
    plan = read_plan(starter("one_step_correction_and_coat"), "x")
    minutes = sum(
        step.minutes * (1 if step.over == "all" else len(stage.sections))
        for stage in plan.stages
        for step in stage.steps
        if isinstance(step, Work)
    )
    meal_and_rests = 30 + 4 * 15
    assert abs((minutes + meal_and_rests) / 60 - day_h) <= 0.5


def test_each_is_named_by_stage_and_step() -> None:
    said = examples(read_plan(starter("two_layer_coat_overnight"), "x"))
    assert said[3:7] == (
        'stage "Coat", step 2: the flash, 1m15s to 6m, is an example; '
        "copy it from the label of your pack.",
        'stage "Coat": the gap between layers, 8h to 24h, is an example; '
        "copy it from the label of your pack.",
        'stage "Coat": the cure, at least 12h, is an example; copy it from the label of your pack.',
        'aftercare 1, "Keep it dry: no rain, no dew, no sprinklers.": its time is an example; '
        "copy it from the label of your pack and write that as its source.",
    )


def test_a_plan_from_the_pack_has_none_left() -> None:
    assert examples(read_plan(GOOD.replace(", example = true", ""), "x")) == ()


def test_a_hand_over_that_is_an_example_is_named_too() -> None:
    key = 'handover = { not_before = "PT12H", after = "Coat", source = "example" }'
    text = GOOD.replace(", example = true", "").replace("format = 1", f"format = 1\n{key}")
    assert examples(read_plan(text, "x")) == (
        'handover, PT12H after "Coat": its time is an example; '
        "copy it from the label of your pack and write that as its source.",
    )


@pytest.mark.parametrize("name", ["one_step_correction_and_coat", "two_layer_coat_overnight"])
def test_the_line_a_starter_offers_for_the_hand_over_reads(name: str) -> None:
    text = starter(name)
    offered = text.replace("# handover = ", "handover = ")
    assert offered != text
    plan = read_plan(offered, "x")
    assert plan.handover is not None and plan.handover.after == "Coat"


@pytest.mark.parametrize("name", starters())
def test_a_starter_says_what_its_work_wears_and_that_no_source_says_so(name: str) -> None:
    assert f"a pad or towel is for: {CP}." in starter(name)
    plan = read_plan(starter(name), name)
    works = [(s, w) for s in plan.stages for w in s.steps if isinstance(w, Work)]
    assert {w.wears[0].kind for s, w in works if "dry" in w.say} == {"towel"}
    # A polish and a coat are worn on: pads by what spreads, towels by what takes off.
    spreads = [w for s, w in works if w.say in ("polish", "apply", "spread") and not s.trial]
    takes_off = [w for s, w in works if w.say.startswith(("level", "buff"))]
    assert all([one.kind for one in w.wears] == ["pad"] for w in spreads)
    assert all([one.kind for one in w.wears] == ["towel"] for w in takes_off)


@pytest.mark.parametrize("name", starters())
def test_one_press_over_all_sections_wears_no_more_than_it_has(name: str) -> None:
    """A change is offered between two presses: within one nobody would be told."""
    for stage in read_plan(starter(name), name).stages:
        if stage.press == "stage":
            wears = [one for w in stage.steps if isinstance(w, Work) for one in w.wears]
            assert all(one.sections >= len(stage.sections) for one in wears), stage.name
