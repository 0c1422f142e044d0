"""Which places of a vehicle the sections of a job go over, and of which body they are."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.plan.plan import Plan, Stage
from cartclock.engine.plan.shapes import SHAPES, matches, panel_order, panels_called
from cartclock.engine.vehicle.plan_view import plan_view


class Covered(Struct, frozen=True):
    """What a section or a place of damage goes over.

    Fields:
        name: of the section, or the place as it was noted.
        places: of the vehicle's plan view, at least one; panels in the body's working order.
        part: True if the name says more than these: "bonnet and trim" of a body without trim.
    """

    name: str
    places: tuple[str, ...]
    part: bool = False


def body_shape(job: Job) -> str:
    """The body of the vehicle, one of `engine.plan.shapes.SHAPES`; "" if nobody told.

    A plan that was read before files told it shows its body by its panels: of several bodies
    with the same panels the first is as good as the others, because it names the same places.
    """
    return _shape(job.opened.plan, job.stages)


def _shape(plan: Plan, stages: Iterable[Stage]) -> str:
    if plan.shape:
        return plan.shape
    worked = [{stage.panel(name) for name in stage.sections} for stage in stages]
    return next((shape for shape in SHAPES if set(panel_order(shape)) in worked), "")


def covered(job: Job) -> tuple[Covered, ...]:
    """What every section of the job and every place of damage goes over; only where the plan or
    the name tells. A name that means no panel may mean glass or wheels.
    """
    shape = body_shape(job)
    if not shape:
        return ()
    # What a section is a piece of; a piece of a section goes over what the whole of it does.
    panel_of = {name: section.panel for (_stage, name), section in job.sections.items()}
    noted = (row.event.panel for row in job.facts if isinstance(row.event, ev.DamageNoted))
    panel_of |= {panel: panel for panel in noted if panel not in panel_of}
    plan = job.opened.plan
    found = (_covered(plan, shape, name, panel) for name, panel in panel_of.items())
    return tuple(one for one in found if one.places)


def placing_remarks(plan: Plan) -> tuple[str, ...]:
    """What a check of a plan says of sections that are not placed, whole sentences; no fault.

    Named are those on no place of the body by their names, and those whose names say more than is
    placed, in the plan's order; a test spot is no section of a paper. () of a plan that tells no
    body.
    """
    shape = _shape(plan, plan.stages)
    if not shape:
        return ()
    stages = [stage for stage in plan.stages if not stage.trial]
    found = (
        _covered(plan, shape, name, stage.panel(name))
        for stage in stages
        for name in stage.sections
    )
    names = dict.fromkeys(one.name for one in found if one.part or not one.places)
    if not names:
        return ()
    return (
        f"Not placed on the {shape} by what they are called: {', '.join(names)}. Papers name them "
        "beside its drawing, and say of no panel that nothing is on it; covers in the plan file "
        "places them.",
    )


def _covered(plan: Plan, shape: str, name: str, panel: str) -> Covered:
    """What a section that is a piece of `panel` goes over; `places` may be ()."""
    told = plan.covers.get(name) or plan.covers.get(panel)
    if told:
        return Covered(name, told)
    parts = [_called(part, shape) for part in panel.split(" and ")]
    places = {place for part in parts for place in part}
    order = dict.fromkeys((*panel_order(shape), *(one.name for one in plan_view(shape).places)))
    return Covered(name, tuple(one for one in order if one in places), not all(parts))


def _called(name: str, shape: str) -> tuple[str, ...]:
    panels = panels_called(name, shape)
    if panels:
        return panels
    drawn = [place.name for place in plan_view(shape).places]
    return tuple(one for one in drawn if matches(name, one) or matches(name.removesuffix("s"), one))
