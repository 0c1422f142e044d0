"""A plan as the text of a new plan file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from cartclock.engine.plan.plan import Plan, Stage, Step
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.store.plan_file.values import (
    Values,
    aftercare_values,
    product_values,
    stage_values,
    step_values,
    tool_values,
    top_values,
)
from cartclock.engine.trouble import Refused

# A list that is longer stands on lines of its own; as wide as those of the starters.
_WIDE = 100
# What a key needs no quotation marks for (toml.io, 1.0, keys).
_BARE = re.compile(r"[A-Za-z0-9_-]+")


def plan_text(plan: Plan) -> str:
    """The TOML text of a plan that reads back to the same plan.

    Raises:
        PlanFault: a plan file must not say that; every fault of it, with what would be right.
        Refused: the plan says something that no plan file has words for.
    """
    parts = [_lines(top_values(plan))]
    parts += [product_text(product_values(one)) for one in plan.products]
    parts += [entry("[[tool]]", tool_values(one)) for one in plan.tools]
    parts += [stage_text(one, plan.shape) for one in plan.stages]
    parts += [entry("[[aftercare]]", aftercare_values(one)) for one in plan.aftercare]
    text = "\n".join(parts)
    checked(text, plan)
    return text


def checked(text: str, plan: Plan) -> None:
    """Looks whether a text reads as the plan.

    Raises:
        PlanFault: it has faults.
        Refused: it reads as another plan.
    """
    if read_plan(text, plan.name) != plan:
        raise Refused("No plan file has words for this plan; nothing was written.")


def product_text(values: Values) -> str:
    """A `[[product]]`."""
    return entry("[[product]]", values)


def stage_text(stage: Stage, shape: str) -> str:
    """A `[[stage]]` with its steps."""
    steps = [step_text(step) for step in stage.steps]
    return "".join((entry("[[stage]]", stage_values(stage, shape)), *steps))


def step_text(step: Step) -> str:
    """A `[[stage.step]]`."""
    return entry("[[stage.step]]", step_values(step))


def entry(header: str, values: Values) -> str:
    """A table with its header."""
    return f"{header}\n{_lines(values)}"


def _lines(values: Values) -> str:
    """A line a key."""
    return "".join(
        f"{_key(key)} = {inline(value, len(key) + 3)}\n" for key, value in values.items()
    )


def inline(value: Any, before: int = 0) -> str:
    """A value as it stands behind its key; a long list on lines of its own.

    before: characters in front of it.
    """
    import tomlkit  # it takes longer to load than most commands take

    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{_key(key)} = {inline(one)}' for key, one in value.items())} }}"
    if not isinstance(value, list):
        return str(tomlkit.item(value).as_string())
    said = [inline(one) for one in value]
    whole = f"[{', '.join(said)}]"
    if before + len(whole) <= _WIDE:
        return whole
    return "[\n" + "".join(f"    {one},\n" for one in said) + "]"


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else inline(key)
