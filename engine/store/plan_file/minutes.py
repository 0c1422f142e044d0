"""A plan file's text with the minutes of some steps changed; all else stays, comments too."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from cartclock.engine.hours.usual import StepKey, work_steps
from cartclock.engine.plan.plan import Plan, Work
from cartclock.engine.store.plan_file.derived import derived
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.trouble import Refused


def with_minutes(text: str, minutes: Mapping[StepKey, float]) -> str:
    """The text of a plan with other minutes.

    Args:
        text: TOML text of a plan without a fault.
        minutes: for each step that is to change, > 0.

    Raises Refused if a step is not in the plan, or stands in the file in a way that cannot be
    changed piece by piece; then the file is to be changed by hand.
    """
    before = read_plan(text, "the plan")
    known = {key for stage in before.stages for _index, _work, key in work_steps(stage)}
    missing = [key for key in minutes if key not in known]
    if missing:
        raise Refused(f"That plan has no step {missing[0][1]} in a stage {missing[0][0]}.")
    return derived(text, _changed(before, minutes))


def _changed(plan: Plan, minutes: Mapping[StepKey, float]) -> Plan:
    stages = []
    for stage in plan.stages:
        keys = {index: key for index, _work, key in work_steps(stage)}
        steps = tuple(
            replace(step, minutes=float(f"{minutes[keys[index]]:g}"))
            if isinstance(step, Work) and keys[index] in minutes
            else step
            for index, step in enumerate(stage.steps)
        )
        stages.append(replace(stage, steps=steps))
    return replace(plan, stages=tuple(stages))
