"""Rules for what is seen afterwards: the second look at a film, and water that got on one.

As in `engine.rules.rules`, each returns the events of one press or raises `Refused`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cartclock.engine.dates import spoken_near
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US, Draft
from cartclock.engine.films.cure import SecondLook, due, high_spot_remedy
from cartclock.engine.films.cure import looks as waiting
from cartclock.engine.films.wet import Drying, by_stage, caught, nothing_wet
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules import changes
from cartclock.engine.rules.rules import Drafts, section_of, stage_of
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused


def find_fine(scene: Scene, job_id: str, stage: str, sections: tuple[str, ...]) -> Drafts:
    """These finished sections were looked at again and are fine."""
    job = scene.job(job_id)
    stage_of(job, stage)
    if not sections:
        raise Refused("Name what was looked at.")
    for name in sections:
        _must_be_done(scene, job_id, stage, name)
    return (Draft(ev.SectionChecked(stage, sections, "fine"), job_id),)


def find_high_spot(
    scene: Scene, job_id: str, stage: str, section: str, again: bool = False
) -> Drafts:
    """A high spot on a finished section, with the remedy for its age; `again`: it is redone."""
    job = scene.job(job_id)
    plan_stage = stage_of(job, stage)
    last_us = _must_be_done(scene, job_id, stage, section)
    do, _last = high_spot_remedy(plan_stage, scene.now_us - last_us)
    checked = Draft(ev.SectionChecked(stage, (section,), "high spot", do), job_id)
    if not again:
        return (checked,)
    return (checked, *changes.redo(scene, job_id, stage, (section,), "high spot"))


def _must_be_done(scene: Scene, job_id: str, stage: str, name: str) -> int:
    """The last touch of a finished section; refuses any other."""
    section = section_of(scene.job(job_id), stage, name)
    if section.state != "done" or section.finished_us is None:
        raise Refused(f"{name} is {section.state}; only what is done is looked at again.")
    return section.finished_us


def due_looks(jobs: Mapping[str, Job], now_us: Instant, zone: str) -> tuple[SecondLook, ...]:
    """The checks that are due, most urgent first; refuses if none is."""
    found = due(jobs, now_us)
    if not found:
        raise Refused(not_due(jobs, now_us, zone))
    return found


def not_due(jobs: Mapping[str, Job], now_us: Instant, zone: str) -> str:
    """Why there is no check to be made, as a sentence; "" if one is due."""
    if due(jobs, now_us):
        return ""
    ahead = [look.opens_us for job in jobs.values() for look in waiting(job)]
    if not ahead:
        return "No check is due."
    opens_us = -(-min(ahead) // MINUTE_US) * MINUTE_US
    return f"No check is due; the next one opens at {spoken_near(Instant(opens_us), now_us, zone)}."


def wet_jobs(jobs: Sequence[Job], now_us: Instant) -> list[tuple[Job, tuple[Drying, ...]]]:
    """Those of the jobs with something inside its dry time, and what it is; refuses if none."""
    found = [(job, wet) for job in jobs if (wet := caught(job, now_us))]
    if not found:
        raise Refused(nothing_wet(jobs))
    return found


def get_wet(
    scene: Scene, job_ids: tuple[str, ...], stage: str = "", sections: tuple[str, ...] = ()
) -> Drafts:
    """Water got on these vehicles: everything inside its dry time is marked, stage by stage.

    Closed jobs may be among them. `sections` of `stage`: only these, if they are inside it.
    """
    drafts = []
    for job_id in job_ids:
        job = scene.jobs.get(job_id)
        if job is None:
            raise Refused("There is no such job.")
        found = by_stage(caught(job, scene.now_us))
        if sections:
            for name in sections:
                if name not in found.get(stage, ()):
                    raise Refused(f"{name} is not inside its dry time; nothing was marked.")
            found = {stage: sections}
        drafts += [Draft(ev.WaterTouched(where, names), job_id) for where, names in found.items()]
    if not drafts:
        raise Refused(nothing_wet(scene.jobs[job_id] for job_id in job_ids))
    return tuple(drafts)
