"""Which places of a vehicle the sections of a job go over, and of which body they are."""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.plan.shapes import SHAPES, matches, panel_order, panels_called
from cartclock.engine.vehicle.plan_view import plan_view


class Covered(Struct, frozen=True):
    """What a section or a place of damage goes over.

    Fields:
        name: of the section, or the place as it was noted.
        places: of the vehicle's plan view, at least one; panels in the body's working order.
    """

    name: str
    places: tuple[str, ...]


def body_shape(job: Job) -> str:
    """The body of the vehicle, one of `engine.plan.shapes.SHAPES`; "" if nobody told.

    A plan that was read before files told it shows its body by its panels: of several bodies
    with the same panels the first is as good as the others, because it names the same places.
    """
    if job.opened.plan.shape:
        return job.opened.plan.shape
    worked = [{stage.panel(name) for name in stage.sections} for stage in job.stages]
    for shape in SHAPES:
        if set(panel_order(shape)) in worked:
            return shape
    return ""


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
    told = job.opened.plan.covers
    found = {
        name: told.get(name) or told.get(panel) or _called(panel, shape)
        for name, panel in panel_of.items()
    }
    return tuple(Covered(name, places) for name, places in found.items() if places)


def _called(name: str, shape: str) -> tuple[str, ...]:
    panels = panels_called(name, shape)
    if panels:
        return panels
    drawn = [place.name for place in plan_view(shape).places]
    return tuple(one for one in drawn if matches(name, one) or matches(name.removesuffix("s"), one))
