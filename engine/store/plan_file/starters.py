"""Starter plans that come with the program, to be filled in from the packs in hand.

A starter is common practice, no source. Every length of time that a label decides carries
`example = true` in it (aftercare: `source = "example"`), and stays a named example until the
worker has copied the length from the pack.
"""

from __future__ import annotations

import re
from importlib import resources

from cartclock.engine.plan.plan import EXAMPLE, Plan, Wait
from cartclock.engine.plan.shapes import SHAPES
from cartclock.engine.store.plan_file.duration import spelled
from cartclock.engine.store.plan_file.tables import instead_of, quoted
from cartclock.engine.trouble import Refused

_COPY = "is an example; copy it from the label of your pack."

_BODY = re.compile(
    r"""^(shape\s*=\s*|\s*sections\s*=\s*\{[^#\n]*?\bbody\s*=\s*)("[^"\n]*"|'[^'\n]*')""",
    re.MULTILINE,
)


def starters() -> tuple[str, ...]:
    """Names of the starter plans, in alphabetical order."""
    found = (resources.files("cartclock.engine") / "plans").iterdir()
    return tuple(sorted(f.name.removesuffix(".toml") for f in found if f.name.endswith(".toml")))


def starter(name: str) -> str:
    """TOML text of a starter plan with its comments.

    Raises:
        Refused: there is no starter of that name.
    """
    if name not in starters():
        raise Refused(f"no starter plan is called {quoted(name)}; {instead_of(name, starters())}")
    return (resources.files("cartclock.engine") / "plans" / f"{name}.toml").read_text(
        encoding="utf-8"
    )


def with_body(text: str, body: str) -> str:
    """The text of a plan with its `shape` and every `sections = { body = "..." }` set to another
    body shape.

    Comments and everything else stay as they are.

    Args:
        text: TOML text.
        body: one of `engine.plan.shapes.SHAPES`.

    Raises:
        Refused: there is no such body shape.
    """
    if body not in SHAPES:
        raise Refused(f"no body shape is called {quoted(body)}; {instead_of(body, SHAPES)}")
    return _BODY.sub(rf'\g<1>"{body}"', text)


def examples(plan: Plan) -> tuple[str, ...]:
    """One sentence for every length of time that is still the starter's example, in plan order."""
    found: list[str] = []
    for stage in plan.stages:
        place = f"stage {quoted(stage.name)}"
        for number, step in enumerate(stage.steps, 1):
            if isinstance(step, Wait) and step.example:
                span = f"{spelled(step.opens_s)} to {spelled(step.closes_s)}"
                found.append(f"{place}, step {number}: the {step.say}, {span}, {_COPY}")
        gap, cure = stage.gap, stage.cure
        if gap is not None and gap.example:
            span = f"{spelled(gap.opens_s)} to {spelled(gap.closes_s)}"
            found.append(f"{place}: the gap between layers, {span}, {_COPY}")
        if cure is not None and cure.example:
            found.append(f"{place}: the cure, at least {spelled(cure.at_least_s)}, {_COPY}")
    for number, line in enumerate(plan.aftercare, 1):
        if line.source == EXAMPLE:
            found.append(
                f"aftercare {number}, {quoted(line.say)}: its time is an example; "
                "copy it from the label of your pack and write that as its source."
            )
    if plan.handover is not None and plan.handover.source == EXAMPLE:
        found.append(
            f"handover, {plan.handover.not_before} after {quoted(plan.handover.after)}: its time "
            "is an example; copy it from the label of your pack and write that as its source."
        )
    return tuple(found)
