"""A plan made of others: stages chosen, moved and left out, another body, panels cut. Pure.

Every answer is a plan again; whether a file may say it is asked when it is written.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.plan.plan import Plan, Product, Stage, Step, Work
from cartclock.engine.plan.shapes import (
    MOST_PIECES,
    SHAPES,
    effort_by_body,
    panel_order,
    shape_sections,
)


class BodyCut(Struct, frozen=True):
    """How the sections of a stage are cut from a body.

    Fields:
        shape: one of `engine.plan.shapes.SHAPES`.
        cuts: panel -> number of sections, 2 and more; a panel that is whole is not named.
        first, round_car: as for `engine.plan.shapes.panel_order`.
    """

    shape: str
    cuts: dict[str, int]
    first: str = ""
    round_car: bool = False


def body_cut(stage: Stage, shape: str) -> BodyCut | None:
    """How the sections of a stage are cut from that body; None if they are not all of it, in an
    order of its own.
    """
    if shape not in SHAPES or len(stage.sections) < 2:
        return None
    counts = Counter(stage.panel(section) for section in stage.sections)
    order = panel_order(shape)
    if set(counts) != set(order) or max(counts.values()) > MOST_PIECES:
        return None
    cuts = {panel: counts[panel] for panel in order if counts[panel] > 1}
    begins = stage.panel(stage.sections[0])
    for first, round_car in (("", False), ("", True), (begins, False), (begins, True)):
        if shape_sections(shape, cuts, first, round_car) == (stage.sections, stage.panels):
            return BodyCut(shape, cuts, first, round_car)
    return None


def with_shape(plan: Plan, shape: str) -> Plan:
    """The plan for another body; stages cut from the body are cut from the other alike."""
    order = panel_order(shape)

    def recut(cut: BodyCut) -> BodyCut:
        cuts = {panel: count for panel, count in cut.cuts.items() if panel in order}
        return BodyCut(shape, cuts, cut.first if cut.first in order else "", cut.round_car)

    covers = {
        section: panels
        for section, panels in plan.covers.items()
        if section not in order and all(panel in order for panel in panels)
    }
    return replace(_recut(replace(plan, covers=covers), recut), shape=shape)


def with_cuts(plan: Plan, cuts: Mapping[str, int]) -> Plan:
    """The plan with panels cut into so many sections, in every stage cut from the body.

    cuts: panel -> number of sections; what is not within 1 to `engine.plan.shapes.MOST_PIECES` is
        the nearer end.
    """
    kept = {panel: max(1, min(MOST_PIECES, count)) for panel, count in cuts.items()}

    def recut(cut: BodyCut) -> BodyCut:
        made = {panel: count for panel, count in {**cut.cuts, **kept}.items() if count > 1}
        return replace(cut, cuts=made)

    return _recut(plan, recut)


def cut_panels(plan: Plan) -> dict[str, int]:
    """Panel -> the most sections that a stage of the plan cuts it into, of those that are cut."""
    found: dict[str, int] = {}
    for stage in plan.stages:
        cut = body_cut(stage, plan.shape)
        for panel, count in cut.cuts.items() if cut else ():
            found[panel] = max(count, found.get(panel, 0))
    return found


def _recut(plan: Plan, how: Callable[[BodyCut], BodyCut]) -> Plan:
    stages = []
    for stage in plan.stages:
        cut = body_cut(stage, plan.shape)
        stages.append(stage if cut is None else _cut(stage, how(cut)))
    sections = {section for stage in stages for section in stage.sections}
    covers = {section: panels for section, panels in plan.covers.items() if section in sections}
    return replace(plan, stages=tuple(stages), covers=covers)


def _cut(stage: Stage, cut: BodyCut) -> Stage:
    sections, panels = shape_sections(cut.shape, cut.cuts, cut.first, cut.round_car)
    known = {*sections, *panels.values()}
    # Effort that follows from the body follows from the other one; a word of the worker's stays.
    follows = stage.effort_by == effort_by_body(
        cut.shape, stage.sections, stage.panels, stage.effort
    )
    efforts = (
        effort_by_body(cut.shape, sections, panels, stage.effort)
        if follows and stage.effort_by
        else {place: effort for place, effort in stage.effort_by.items() if place in known}
    )
    return replace(
        stage,
        sections=sections,
        panels=panels,
        effort_by=efforts,
        weights={place: weight for place, weight in stage.weights.items() if place in known},
    )


def with_stage(plan: Plan, stage: Stage, source: Plan, after: str = "") -> Plan:
    """The plan with a stage of another plan behind one of its own ("": first), and the products
    and tools that it names. A name or an id that the plan has already is the plan's: the stage
    gets a number behind its name.
    """
    taken = {one.name for one in plan.stages}
    name, number = stage.name, 2
    while name in taken:
        name, number = f"{stage.name} {number}", number + 1
    cut = body_cut(stage, source.shape)
    added = replace(stage, name=name)
    if cut is not None and plan.shape in SHAPES:
        other = with_shape(replace(source, stages=(added,)), plan.shape)
        added = other.stages[0]
    place = 1 + next((n for n, one in enumerate(plan.stages) if one.name == after), -1)
    before = {one.name for one in plan.stages[:place]}
    spots = (
        replace(spot, redo=tuple(one for one in spot.redo if one in before))
        for spot in added.high_spot
    )
    added = replace(added, high_spot=tuple(spots))
    ids, tools = {one.id for one in plan.products}, {one.id for one in plan.tools}
    used, held = used_by((added,)), tools_of((added,))
    return replace(
        plan,
        stages=(*plan.stages[:place], added, *plan.stages[place:]),
        products=plan.products + tuple(one for one in source.products if one.id in used - ids),
        tools=plan.tools + tuple(one for one in source.tools if one.id in held - tools),
    )


def used_by(stages: Iterable[Stage]) -> set[str]:
    """Ids of the products that the steps of these stages use."""
    works = (step for stage in stages for step in stage.steps if isinstance(step, Work))
    return {use.product for work in works for use in work.uses}


def tools_of(stages: Iterable[Stage]) -> set[str]:
    """Ids of the tools that the steps of these stages name."""
    works = (step for stage in stages for step in stage.steps if isinstance(step, Work))
    return {work.tool for work in works} - {""}


def without_stage(plan: Plan, name: str) -> Plan:
    """The plan without one of its stages, what only it used, and what was told of its end."""
    left = tuple(stage for stage in plan.stages if stage.name != name)
    gone = tuple(stage for stage in plan.stages if stage.name == name)
    products = used_by(gone) - used_by(left)
    tools = tools_of(gone) - tools_of(left)
    handover = plan.handover
    stages = tuple(
        replace(
            stage,
            high_spot=tuple(
                replace(spot, redo=tuple(one for one in spot.redo if one != name))
                for spot in stage.high_spot
            ),
        )
        for stage in left
    )
    sections = {section for stage in left for section in stage.sections}
    return replace(
        plan,
        stages=stages,
        products=tuple(one for one in plan.products if one.id not in products),
        tools=tuple(one for one in plan.tools if one.id not in tools),
        aftercare=tuple(care for care in plan.aftercare if care.after != name),
        handover=None if handover is not None and handover.after == name else handover,
        covers={one: panels for one, panels in plan.covers.items() if one in sections},
    )


def with_moved(plan: Plan, name: str, by: int) -> Plan:
    """The plan with a stage so many places later, earlier if under 0; at an end it stays."""
    order = list(plan.stages)
    place = next(n for n, stage in enumerate(order) if stage.name == name)
    stage = order.pop(place)
    order.insert(max(0, min(len(order), place + by)), stage)
    return replace(plan, stages=tuple(order))


def with_revised(plan: Plan, stage: Stage) -> Plan:
    """The plan with one of its stages, by its name, otherwise."""
    stages = (stage if one.name == stage.name else one for one in plan.stages)
    return replace(plan, stages=tuple(stages))


def with_product(plan: Plan, id_: str, other: Product) -> Plan:
    """The plan with another product, counted in the same unit, in the place of one of its own."""

    def renamed(stage: Stage) -> Stage:
        steps = tuple(_renamed(step, id_, other.id) for step in stage.steps)
        return replace(stage, steps=steps)

    products = tuple(other if one.id == id_ else one for one in plan.products)
    return replace(plan, products=products, stages=tuple(map(renamed, plan.stages)))


def _renamed(step: Step, id_: str, other: str) -> Step:
    if not isinstance(step, Work):
        return step
    uses = (replace(use, product=other) if use.product == id_ else use for use in step.uses)
    return replace(step, uses=tuple(uses))
