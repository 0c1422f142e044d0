"""A plan file's text with the minutes of some steps changed; all else stays, comments too."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping

from msgspec.structs import replace

from cartclock.engine.hours.usual import StepKey, work_steps
from cartclock.engine.plan.plan import Plan, Work
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.trouble import Refused

_HEADER = re.compile(r"\s*\[\[\s*(stage|stage\s*\.\s*step)\s*\]\]")
_MINUTES = re.compile(r"(\s*minutes\s*=\s*)[0-9_.eE+-]+")


def with_minutes(text: str, minutes: Mapping[StepKey, float]) -> str:
    """The text of a plan with other minutes.

    Args:
        text: TOML text of a plan without a fault.
        minutes: for each step that is to change, > 0.

    Raises Refused if a step is not in the plan, or stands in the file in a way that cannot be
    changed line by line; then the file is to be changed by hand.
    """
    before = read_plan(text, "the plan")
    places = _places(text, before, minutes)
    lines = text.splitlines(keepends=True)
    stage = step = -1
    for index, line in enumerate(lines):
        header = _HEADER.match(line)
        if header is not None:
            stage, step = (stage + 1, -1) if header[1] == "stage" else (stage, step + 1)
        elif (stage, step) in places:
            changed = f"{places[stage, step]:g}"
            lines[index] = _MINUTES.sub(lambda told, to=changed: told[1] + to, line, count=1)  # type: ignore[misc]  # the loop's own value
    made = "".join(lines)
    if read_plan(made, "the plan") != _changed(before, minutes):
        raise Refused("The minutes stand in that file in another way; change them by hand.")
    return made


def _places(
    text: str, plan: Plan, minutes: Mapping[StepKey, float]
) -> dict[tuple[int, int], float]:
    """(which stage, which step) of the file -> the minutes it is to have."""
    names = [stage.get("name") for stage in tomllib.loads(text).get("stage", ())]
    keys = {
        key: (names.index(stage.name), index)
        for stage in plan.stages
        if stage.name in names
        for index, _work, key in work_steps(stage)
    }
    missing = [key for key in minutes if key not in keys]
    if missing:
        raise Refused(f"That plan has no step {missing[0][1]} in a stage {missing[0][0]}.")
    return {keys[key]: told for key, told in minutes.items()}


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
