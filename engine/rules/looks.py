"""Rules for what is seen afterwards: the second look at a film, and water that got on one.

As in `engine.rules.rules`, each returns the events of one press or raises `Refused`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from cartclock.engine.dates import spoken_near, up_to_minute
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.job_events import Found
from cartclock.engine.facts.layers import OnTop, on_top
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.turn import Turn
from cartclock.engine.films.cure import due, high_spot_remedy
from cartclock.engine.films.cure import looks as waiting
from cartclock.engine.films.wet import Drying, by_stage, caught, nothing_wet
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.rules.rules import Drafts, section_of, stage_of
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

Then = Literal["noted", "remedy", "layer", "all"]
"""What follows a finding: nothing, the plan's remedy for its age, the layer laid anew, or all."""


def find_fine(scene: Scene, job_id: str, stage: str, sections: tuple[str, ...]) -> Drafts:
    """The layer on top of these sections was looked at again and is fine."""
    _lies_open(scene, job_id, stage, sections)
    return (Draft(ev.SectionChecked(stage, sections, "fine"), job_id),)


def leave_unseen(
    scene: Scene, job_id: str, stage: str, sections: tuple[str, ...], why: str
) -> Drafts:
    """Nobody looks at the layer on top of these sections, for this reason."""
    _lies_open(scene, job_id, stage, sections)
    return (Draft(ev.SectionChecked(stage, sections, "not looked at", why), job_id),)


def find(
    scene: Scene, job_id: str, stage: str, section: str, found: Found, then: Then = "noted"
) -> Drafts:
    """Something on the layer on top of a section, and what is done about it.

    What is done is work on that section from then on: with "remedy" the last step of its layer,
    or, where the plan's remedy is the last one, the layer laid anew; with "layer" or "all" that
    layer or every layer laid anew, behind the stages that the last remedy does again on the
    panel.
    """
    job = scene.job(job_id)
    plan_stage = stage_of(job, stage)
    (one,) = _lies_open(scene, job_id, stage, (section,))
    if then == "noted":
        return (Draft(ev.SectionChecked(stage, (section,), found), job_id),)
    do, anew = remedy_text(plan_stage, scene.now_us - one.touched_us, then)
    if not do:
        raise Refused("The plan has no remedy for that; it can be laid anew, or noted.")
    if plan_stage.layers > 1 and anew:
        do += ", all layers" if then == "all" else ", this layer only"
    checked = Draft(ev.SectionChecked(stage, (section,), found, do), job_id)
    pass_ = job.sections[stage, section].turn.pass_ + 1
    works = [index for index, step in enumerate(plan_stage.steps) if isinstance(step, Work)]
    turn = Turn(pass_, 1 if then == "all" else one.layer, 0 if anew else works[-1])
    why = f"{found}: {do}"
    reopened = Draft(ev.SectionReopened(stage, (section,), turn, why), job_id)
    before = _done_before(job, plan_stage, one, why) if anew else ()
    return (checked, *before, reopened)


def remedy_text(stage: Stage, age_us: int, then: Then) -> tuple[str, bool]:
    """What is done to a layer of that age, "" if the plan says nothing, and if it is laid anew."""
    spot = high_spot_remedy(stage, age_us)
    if then == "remedy":
        return ("", False) if spot is None else (spot.do, spot.until_s is None)
    last = stage.high_spot[-1].do if stage.high_spot else "do it again"
    return last, True


def _done_before(job: Job, stage: Stage, one: OnTop, why: str) -> tuple[Draft, ...]:
    """What the last remedy does again before the layer is laid anew: on the section of the same
    name, and where a stage has none on all of the panel.
    """
    drafts = []
    for name in stage.high_spot[-1].redo if stage.high_spot else ():
        there = job.of(name) if name in job.order else []
        same = [section for section in there if section.name == one.section]
        for section in same or [section for section in there if section.panel == one.panel]:
            if section.state == "done":
                turn = Turn(section.turn.pass_ + 1, 1, 0)
                drafts.append(Draft(ev.SectionReopened(name, (section.name,), turn, why), job.id))
    return tuple(drafts)


def _lies_open(scene: Scene, job_id: str, stage: str, names: tuple[str, ...]) -> tuple[OnTop, ...]:
    """The layers on top of these sections; refuses where none lies open."""
    job = scene.job(job_id)
    plan_stage = stage_of(job, stage)
    if not names:
        raise Refused("Name what was looked at.")
    open_now = {one.section: one for one in on_top(job, plan_stage)}
    for name in names:
        section = section_of(job, stage, name)
        if name not in open_now:
            raise Refused(f"{name} is {section.told}; only what is done is looked at again.")
    return tuple(open_now[name] for name in names)


def lying_open(jobs: Iterable[Job]) -> list[tuple[Job, Stage, OnTop]]:
    """The finished layers on which something can be found, newest first.

    Those of open jobs that nothing covers, in stages that ask for a look or have a remedy.
    """
    found = [
        (job, stage, one)
        for job in jobs
        for stage in (job.stages if job.state == "open" else ())
        if stage.check is not None or stage.high_spot
        for one in on_top(job, stage)
    ]
    return sorted(found, key=lambda there: -there[2].touched_us)


def nothing_open(jobs: Mapping[str, Job], now_us: Instant, zone: str) -> str:
    """Why nothing can be looked at, as a sentence; "" if a layer lies open."""
    return "" if lying_open(jobs.values()) else not_due(jobs, now_us, zone)


def not_due(jobs: Mapping[str, Job], now_us: Instant, zone: str) -> str:
    """Why there is no check to be made, as a sentence; "" if one is due."""
    if due(jobs, now_us):
        return ""
    ahead = [look.opens_us for job in jobs.values() for look in waiting(job)]
    if not ahead:
        return "No look is due."
    opens = spoken_near(up_to_minute(min(ahead)), now_us, zone)
    return f"No look is due; the next one opens at {opens}."


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
