"""The plan of a job as it stands: with what was changed, added and cut since it was opened."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.facts.job import Job
from cartclock.engine.plan.plan import Plan, Stage


def standing_plan(job: Job) -> Plan:
    """The plan of a job with its stages and sections as they are now; what was left out is in it,
    because that was of this vehicle.
    """
    stages = tuple(_stage(job, stage) for stage in job.stages)
    sections = {section for stage in stages for section in stage.sections}
    plan = job.opened.plan
    covers = {one: panels for one, panels in plan.covers.items() if one in sections}
    return replace(plan, stages=stages, covers=covers)


def _stage(job: Job, stage: Stage) -> Stage:
    there = job.of(stage.name)
    panels = {one.name: one.panel for one in there if one.name != one.panel}
    known = {one.name for one in there} | set(panels.values())
    return replace(
        stage,
        sections=tuple(one.name for one in there),
        panels=panels,
        effort_by={place: effort for place, effort in stage.effort_by.items() if place in known},
        weights={place: weight for place, weight in stage.weights.items() if place in known},
    )
