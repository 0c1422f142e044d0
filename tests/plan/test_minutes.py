"""Minutes of a plan file changed line by line: nothing else of it is another."""

from __future__ import annotations

import difflib

import pytest

from cartclock.engine.hours.usual import StepKey
from cartclock.engine.plan.plan import Work
from cartclock.engine.store.plan_file.minutes import with_minutes
from cartclock.engine.store.plan_file.reader import read_plan, starter
from cartclock.engine.trouble import Refused

STARTERS = ("one_step_correction_and_coat", "two_layer_coat_overnight", "maintenance_wash")


@pytest.mark.parametrize("name", STARTERS)
def test_one_step_is_changed_and_no_other_line(name: str) -> None:
    text = starter(name)
    plan = read_plan(text, name)
    for stage in plan.stages:
        for index, step in enumerate(stage.steps):
            if not isinstance(step, Work) or step.minutes <= 0:
                continue
            before = [s for s in stage.steps[:index] if isinstance(s, Work) and s.say == step.say]
            key: StepKey = (stage.name, step.say, len(before))
            made = with_minutes(text, {key: 41.5})
            lines = [
                line
                for line in difflib.ndiff(text.splitlines(), made.splitlines())
                if line[0] in "+-"
            ]
            assert len(lines) == 2 and "minutes = 41.5" in lines[1], (key, lines)
            found = next(one for one in read_plan(made, name).stages if one.name == stage.name)
            work = found.steps[index]
            assert isinstance(work, Work) and work.minutes == 41.5


def test_several_at_once_and_none() -> None:
    text = starter("one_step_correction_and_coat")
    assert with_minutes(text, {}) == text
    made = with_minutes(text, {("Arrival", _first(text, "Arrival"), 0): 30.0})
    assert "minutes = 30\n" in made


def _first(text: str, stage: str) -> str:
    found = next(one for one in read_plan(text, "plan").stages if one.name == stage)
    work = found.steps[0]
    assert isinstance(work, Work)
    return work.say


def test_what_is_not_there_or_stands_otherwise_is_refused() -> None:
    text = starter("maintenance_wash")
    with pytest.raises(Refused, match="no step wax in a stage Wash"):
        with_minutes(text, {("Wash", "wax", 0): 5.0})
    inline = (
        'format = 1\nname = "Wash"\n[[stage]]\nname = "Wash"\nsections = ["roof"]\n'
        'step = [{ work = "wash", minutes = 4 }]\n'
    )
    assert read_plan(inline, "inline").stages[0].name == "Wash"
    with pytest.raises(Refused, match="by hand"):
        with_minutes(inline, {("Wash", "wash", 0): 5.0})


def test_a_comment_and_an_odd_way_of_writing_stay() -> None:
    text = (
        'format = 1\nname = "Wash"\n[[stage]]\nname = "Wash"\nsections = ["roof"]\n'
        '[[ stage . step ]]\nwork = "wash"\nminutes   =  4.0   # a guess\n'
    )
    assert with_minutes(text, {("Wash", "wash", 0): 5.5}) == text.replace("4.0", "5.5")
