"""Weights of a plan file changed: nothing else of it is another."""

from __future__ import annotations

import difflib

import pytest
from msgspec.structs import replace

from cartclock.engine.plan.plan import Plan
from cartclock.engine.store.plan_file.derived import derived
from cartclock.engine.store.plan_file.reader import read_plan, starter
from cartclock.engine.trouble import Refused

TEXT = (
    'format = 1\nname = "Wash"\n[[stage]]\nname = "Wash"   # by hand\n'
    'sections = ["roof", "left mirror"]\n[[ stage . step ]]\nwork = "wash"\nminutes = 4\n'
)


def weighing(text: str, stage: str, weights: dict[str, float]) -> Plan:
    plan = read_plan(text, "plan")
    stages = [replace(s, weights=weights) if s.name == stage else s for s in plan.stages]
    return replace(plan, stages=tuple(stages))


@pytest.mark.parametrize("name", ["one_step_correction_and_coat", "two_layer_coat_overnight"])
def test_a_line_comes_into_each_stage_and_no_other_is_changed(name: str) -> None:
    text = starter(name)
    for stage in read_plan(text, name).stages:
        wanted = weighing(text, stage.name, {stage.sections[0]: 1.25, stage.sections[-1]: 0.5})
        made = derived(text, wanted)
        lines = difflib.ndiff(text.splitlines(), made.splitlines())
        changed = [line for line in lines if line[0] in "+-"]
        assert len(changed) == 1 and changed[0].startswith("+ weights = {"), changed
        assert read_plan(made, name) == wanted


def test_weights_that_stand_there_are_replaced() -> None:
    once = derived(TEXT, weighing(TEXT, "Wash", {"roof": 1.6}))
    assert "\nweights = { roof = 1.6 }\n[[ stage" in once
    again = derived(once, weighing(once, "Wash", {"roof": 1.5, "left mirror": 0.4}))
    assert '\nweights = { roof = 1.5, "left mirror" = 0.4 }\n' in again
    assert again.count("weights") == 1
    assert derived(TEXT, read_plan(TEXT, "plan")) == TEXT


def test_what_stands_in_another_way_is_refused() -> None:
    inline = TEXT.replace(
        '[[ stage . step ]]\nwork = "wash"\nminutes = 4\n',
        'step = [{ work = "wash", minutes = 4 }]\n',
    )
    with pytest.raises(Refused, match="by hand"):
        derived(inline, weighing(inline, "Wash", {"roof": 2.0}))


def test_weights_of_dotted_keys_are_replaced() -> None:
    spread = TEXT.replace("[[ stage", "weights.roof = 2.0\n[[ stage", 1)
    wanted = weighing(spread, "Wash", {"roof": 3.0})
    assert read_plan(derived(spread, wanted), "plan") == wanted
