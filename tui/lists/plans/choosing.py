"""The lists from which a plan, and a stage of it, is chosen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from cartclock.engine.plan.plan import Plan, Stage
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line, nothing

Picked = Callable[[Stage, Plan], object]


def plans_at_hand(host: Host, shape: str = "") -> list[tuple[str, str, Plan]]:
    """The line of a list, text and content of every plan, starters first.

    shape: the body for which starters are read; "" as they come.
    """
    shelf = host.cart.shelf
    found = []
    for name in shelf.starters():
        text = shelf.starter_text(name, shape) if shape else shelf.plain_starter(name)
        found.append((name.replace("_", " "), text, shelf.read(text, name)))
    return found + [(name, text, plan) for name, (text, plan) in shelf.own_plans().items()]


def choose_stage(
    host: Host,
    shape: str,
    picked: Picked,
    closed: Callable[[], object] = nothing,
    last: tuple[str, str] = ("", ""),
) -> None:
    """Chooses a plan, and then a stage of it; `picked` is given both.

    Args:
        shape: the body for which starters are read.
        closed: what esc does.
        last: the plan and the stage that were picked before: that plan is offered again, with the
            stage behind that one.
    """

    def stages(plan: Plan) -> None:
        there = [stage.name for stage in plan.stages]
        at = there.index(last[1]) + 1 if plan.name == last[0] and last[1] in there else 0
        lines = [Line(stage.name, partial(picked, stage, plan)) for stage in plan.stages]
        host.sheet.open(f"{plan.name}: which stage?", lines, closed=closed, at=at % len(lines))

    plans = plans_at_hand(host, shape)
    lines = [Line(name, partial(stages, plan)) for name, _text, plan in plans]
    at = next((n for n, (_name, _text, plan) in enumerate(plans) if plan.name == last[0]), 0)
    host.sheet.open("A stage of which plan?", lines, closed=closed, at=at)


def behind(stages: Sequence[Stage], name: str, put: Callable[[str], object]) -> list[Line]:
    """A line a place for a stage: first, or behind each of the others; `put` is given that one."""
    lines = [Line("first", partial(put, ""))]
    return lines + [
        Line(f"behind {stage.name}", partial(put, stage.name))
        for stage in stages
        if stage.name != name
    ]
