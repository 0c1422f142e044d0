"""The panels of a job, in the order in which one goes round the vehicle."""

from __future__ import annotations

import re

from cartclock.engine.facts.job import Job
from cartclock.engine.plan import shapes
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.vehicle.paint import When

# Work that takes something off the paint: after it a reading is one "after". Common
# practice, no source.
_POLISHES = re.compile(r"\b(polish|compound|correct|cut|refin|sanding|wet sand)", re.IGNORECASE)
# Names of places without paint. Common practice, no source.
_UNPAINTED = re.compile(r"wheel|rim|tyre|tire|glass|screen|window|whole", re.IGNORECASE)
_OF_BODIES = frozenset(panel for shape in shapes.SHAPES for panel in shapes.panel_order(shape))


def panels(job: Job) -> tuple[str, ...]:
    """Every panel of the job once, in working order.

    The stage that goes over most panels of a body comes first, because that is the way
    round the vehicle; then the others. Test spots are no panels, unless there is nothing else.
    """
    found = [stage for stage in job.stages if not stage.trial] or list(job.stages)
    most = max(found, key=lambda stage: _of_body(job, stage), default=None)
    found.sort(key=lambda stage: stage is not most)
    return tuple(dict.fromkeys(s.panel for stage in found for s in job.of(stage.name)))


def painted(job: Job) -> tuple[str, ...]:
    """The panels that carry paint, in working order: those of a body; of a job that names none,
    every place that is not a wheel, a tyre, glass or the whole vehicle by its name.
    """
    found = panels(job)
    body = tuple(panel for panel in found if panel in _OF_BODIES)
    return body or tuple(panel for panel in found if not _UNPAINTED.search(panel))


def _of_body(job: Job, stage: Stage) -> int:
    return len({s.panel for s in job.of(stage.name)} & _OF_BODIES)


def paint_when(job: Job, panel: str) -> When:
    """Whether a reading of the panel now is one before or after the work: after, once any
    polishing of it was finished. A guess by the words of the plan, to be changed by hand."""
    for stint in job.stints:
        stage = job.stage(stint.stage)
        section = job.sections.get((stint.stage, stint.section))
        here = section is not None and section.panel == panel
        if here and not stage.trial and polishes(stage):
            return "after"
    return "before"


def polishes(stage: Stage) -> bool:
    """True if the stage takes something off the paint, by the words of the plan."""
    return any(_POLISHES.search(name) for name in (stage.name, *verbs(stage)))


def verbs(stage: Stage) -> set[str]:
    """The verbs of a stage's work steps."""
    return {step.say for step in stage.steps if isinstance(step, Work)}
