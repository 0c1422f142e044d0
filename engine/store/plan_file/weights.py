"""A plan file's text with the weights of some sections changed; all else stays, comments too."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping

from cartclock.engine.plan.plan import Plan
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.trouble import PlanFault, Refused

_STAGE = re.compile(r"\s*\[\[\s*stage\s*\]\]")
_STEP = re.compile(r"\s*\[\[\s*stage\s*\.\s*step\s*\]\]")
_WEIGHTS = re.compile(r"\s*weights\s*=")
_BARE = re.compile(r"[A-Za-z0-9_-]+")


def text_weighing(text: str, plan: Plan) -> str:
    """The text of a plan with the weights that another has.

    Args:
        text: TOML text of a plan without a fault.
        plan: the same but for the weights of its sections.

    Raises Refused if they stand in the file in a way that cannot be changed line by line; then the
    file is to be changed by hand.
    """
    before = read_plan(text, "the plan")
    changed = {
        stage.name: stage.weights
        for stage, was in zip(plan.stages, before.stages, strict=True)
        if stage.weights != was.weights
    }
    names = [stage.get("name") for stage in tomllib.loads(text).get("stage", ())]
    wanted = {names.index(name): told for name, told in changed.items() if name in names}
    lines: list[str] = []
    stage = -1
    open_ = False
    for line in text.splitlines(keepends=True):
        if _STAGE.match(line):
            stage, open_ = stage + 1, stage + 1 in wanted
        elif open_ and _WEIGHTS.match(line):
            continue
        elif open_ and _STEP.match(line):
            lines.append(_line(wanted[stage]))
            open_ = False
        lines.append(line)
    made = "".join(lines)
    try:
        right = read_plan(made, "the plan") == plan
    except PlanFault:
        right = False
    if not right:
        raise Refused("The weights stand in that file in another way; change them by hand.")
    return made


def _line(weights: Mapping[str, float]) -> str:
    told = (f"{_key(name)} = {weight:g}" for name, weight in weights.items())
    return f"weights = {{ {', '.join(told)} }}\n"


def _key(name: str) -> str:
    """A key as TOML writes it."""
    return name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)
