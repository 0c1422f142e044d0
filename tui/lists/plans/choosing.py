"""The lists from which a plan, and a stage of it, is chosen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from cartclock.engine.plan.plan import Plan, Stage
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line, nothing

Picked = Callable[[Stage, Plan], object]


def plans_at_hand(host: Host, picked: Callable[[str, Plan], object], shape: str = "") -> list[Line]:
    """A line a plan, starters first; `picked` is given its text and what it says.

    shape: the body for which starters are read; "" as they come.
    """
    shelf = host.cart.shelf
    lines = []
    for name in shelf.starters():
        text = shelf.starter_text(name, shape) if shape else shelf.plain_starter(name)
        plan = shelf.read(text, name)
        lines.append(Line(name.replace("_", " "), partial(picked, text, plan)))
    for name, (text, plan) in shelf.own_plans().items():
        lines.append(Line(name, partial(picked, text, plan)))
    return lines


def choose_stage(
    host: Host, shape: str, picked: Picked, closed: Callable[[], object] = nothing
) -> None:
    """Chooses a plan, and then a stage of it; `picked` is given both.

    shape: the body for which starters are read; closed: what esc does.
    """

    def stages(_text: str, plan: Plan) -> None:
        lines = [Line(stage.name, partial(picked, stage, plan)) for stage in plan.stages]
        host.sheet.open(f"{plan.name}: which stage?", lines, closed=closed)

    host.sheet.open("A stage of which plan?", plans_at_hand(host, stages, shape), closed=closed)


def behind(stages: Sequence[Stage], name: str, put: Callable[[str], object]) -> list[Line]:
    """A line a place for a stage: first, or behind each of the others; `put` is given that one."""
    lines = [Line("first", partial(put, ""))]
    return lines + [
        Line(f"behind {stage.name}", partial(put, stage.name))
        for stage in stages
        if stage.name != name
    ]
