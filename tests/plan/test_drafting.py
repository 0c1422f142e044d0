"""Plans made of plans: another body, cuts, stages in and out; each may stand in a file."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.plan.drafting import (
    body_cut,
    cut_panels,
    with_cuts,
    with_moved,
    with_product,
    with_revised,
    with_shape,
    with_stage,
    without_stage,
)
from cartclock.engine.plan.plan import Handover, Plan, Product, Use, Work
from cartclock.engine.plan.shapes import SHAPES, panel_order
from cartclock.engine.store.plan_file.reader import read_plan, starter, starters
from cartclock.engine.store.plan_file.writer import plan_text
from tests.kit.any_plan import plans

COAT = read_plan(starter("one_step_correction_and_coat"), "coat")
SEAL = read_plan(starter("decontamination_and_sealant"), "seal")


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("name", starters())
def test_another_body_is_cut_where_the_first_one_was(name: str, shape: str) -> None:
    before = read_plan(starter(name), name)
    found = with_shape(before, shape)
    assert found.shape == shape
    for was, stage in zip(before.stages, found.stages, strict=True):
        cut, made = body_cut(was, before.shape), body_cut(stage, shape)
        if cut is None:
            assert stage == was
            continue
        assert made is not None
        shared = set(panel_order(shape)) & set(panel_order(before.shape))
        counts = {panel: made.cuts.get(panel, 1) for panel in shared}
        assert counts == {panel: cut.cuts.get(panel, 1) for panel in shared}
    assert read_plan(plan_text(found), name) == found


@settings(max_examples=25)
@given(plans(), st.data())
def test_whatever_is_made_may_stand_in_a_file(plan: Plan, data: st.DataObject) -> None:
    names = [stage.name for stage in plan.stages]
    steps = ["shape", "cuts", "more"] + (["out"] if len(names) > 1 else [])
    for _ in range(3):
        match data.draw(st.sampled_from(steps)):
            case "shape":
                plan = with_shape(plan, data.draw(st.sampled_from(SHAPES)))
            case "cuts" if plan.shape:
                panel = data.draw(st.sampled_from(panel_order(plan.shape)))
                plan = with_cuts(plan, {panel: data.draw(st.integers(1, 4))})
            case "more":
                source = data.draw(st.sampled_from([COAT, SEAL]))
                stage = data.draw(st.sampled_from(source.stages))
                after = data.draw(st.sampled_from(["", *(s.name for s in plan.stages)]))
                plan = with_stage(plan, stage, source, after)
            case "out" if len(plan.stages) > 1:
                plan = without_stage(plan, data.draw(st.sampled_from(plan.stages)).name)
    assert read_plan(plan_text(plan), "plan") == plan


def test_a_bonnet_is_cut_where_a_stage_goes_over_the_whole_body() -> None:
    found = with_cuts(COAT, {"bonnet": 3, "roof": 1})
    for stage in found.stages:
        cut = body_cut(stage, "estate")
        if cut is not None:
            assert cut.cuts.get("bonnet") == 3 and "roof" not in cut.cuts
            assert "bonnet middle" in stage.sections
    assert cut_panels(found)["bonnet"] == 3
    assert found.stages[3] == COAT.stages[3]


def test_a_stage_of_another_plan_brings_what_it_uses_and_its_body() -> None:
    van = with_shape(COAT, "van")
    stage = next(one for one in SEAL.stages if one.name == "Sealant")
    found = with_stage(van, stage, SEAL, "Wash")
    names = [one.name for one in found.stages]
    assert names.index("Sealant") == names.index("Wash") + 1
    added = found.stages[names.index("Sealant")]
    assert body_cut(added, "van") is not None
    used = {u.product for step in stage.steps if isinstance(step, Work) for u in step.uses}
    assert used and all(found.product(one) for one in used)
    again = with_stage(found, stage, SEAL, "Wash")
    assert [one.name for one in again.stages].count("Sealant 2") == 1
    assert len(again.products) == len(found.products)


def test_a_stage_taken_out_takes_what_only_it_used() -> None:
    plan = replace(COAT, handover=Handover("PT12H", "Coat", "label of the pack"))
    found = without_stage(plan, "Coat")
    assert found.product("coat") is None and found.product("shampoo") is not None
    assert found.handover is None and not [c for c in found.aftercare if c.after == "Coat"]
    kept = without_stage(plan, "Polish")
    assert all("Polish" not in spot.redo for s in kept.stages for spot in s.high_spot)


def test_a_stage_moves_and_stays_at_the_ends() -> None:
    names = [stage.name for stage in COAT.stages]
    first = with_moved(COAT, names[1], -1)
    assert [stage.name for stage in first.stages][:2] == [names[1], names[0]]
    assert with_moved(COAT, names[0], -1) == COAT
    assert with_moved(COAT, names[-1], 1) == COAT
    longer = replace(COAT.stages[0], layers=1, effort="heavy")
    assert with_revised(COAT, longer).stages[0] == longer


def test_another_product_stands_in_each_step() -> None:
    other = Product("glass", "Glass coat", "drops")
    found = with_product(COAT, "coat", other)
    assert found.product("glass") == other and found.product("coat") is None
    uses = [
        use
        for stage in found.stages
        for step in stage.steps
        if isinstance(step, Work)
        for use in step.uses
    ]
    assert Use("glass", 10.0, 15.0) in uses or any(use.product == "glass" for use in uses)
    assert not any(use.product == "coat" for use in uses)
