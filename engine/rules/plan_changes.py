"""Rules that change the plan of a job: a stage otherwise for what is to come, or at another place.

Nothing of it touches what was laid: a film in play and a section that is done keep the lengths of
time by which they were laid.
"""

from __future__ import annotations

from cartclock.engine.dates import iso_parts
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import MOST_OF_A_LENGTH, Job
from cartclock.engine.facts.job_events import ChangeSource
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.stage_changes import frame, well_made
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import Aftercare, Handover, Stage
from cartclock.engine.rules.rules import Drafts, stage_of
from cartclock.engine.trouble import Refused


def revise_stage(
    scene: Scene, job_id: str, was: Stage, stage: Stage, source: ChangeSource = "by hand"
) -> Drafts:
    """A stage is otherwise for all of it that is still to come.

    was: the stage as it was looked at when it was changed.
    """
    job = scene.job(job_id)
    if stage_of(job, was.name) != was:
        raise Refused(f"{was.name} was changed meanwhile; look at it again.")
    if stage == was:
        raise Refused(f"Nothing of {was.name} is otherwise.")
    refuse_steps(stage)
    if was.name in job.begun and frame(stage) != frame(was):
        raise Refused(
            f"{was.name} was begun: its steps and layers stay. Minutes, amounts and windows can "
            "be changed, and a stage can be added behind it."
        )
    return (Draft(ev.StageRevised(was, stage, source), job_id),)


def refuse_steps(stage: Stage) -> None:
    """Refuses a stage whose steps cannot be done one behind the other."""
    if not well_made(stage):
        raise Refused(
            "A stage begins and ends with a step done by hand, and has no two waits in a row."
        )


def move_stage(scene: Scene, job_id: str, stage: str, after: str) -> Drafts:
    """A stage is done behind another; "" puts it first."""
    job = scene.job(job_id)
    moved = stage_of(job, stage)
    names = [one.name for one in job.stages]
    place = names.index(stage)
    if after in (stage, names[place - 1] if place else ""):
        raise Refused(f"{stage} stands there already.")
    if after:
        stage_of(job, after)
    order = [one for one in job.stages if one is not moved]
    order.insert([one.name for one in order].index(after) + 1 if after else 0, moved)
    _refuse_remedies(job, order)
    return (Draft(ev.StageMoved(stage, after), job_id),)


def revise_aftercare(scene: Scene, job_id: str, was: Aftercare, care: Aftercare) -> Drafts:
    """A line of the aftercare has another length of time, or another source.

    was: the line as it was looked at when it was changed.
    """
    job = scene.job(job_id)
    if was not in job.opened.plan.aftercare:
        raise Refused("That line was changed meanwhile; look at it again.")
    if care == was:
        raise Refused("Nothing of that line is otherwise.")
    for name in ("until", "from_", "every"):
        _refuse_length(getattr(was, name), getattr(care, name))
    return (Draft(ev.AftercareRevised(was, care), job_id),)


def revise_handover(scene: Scene, job_id: str, was: Handover, handover: Handover) -> Drafts:
    """How long after its stage the vehicle is not handed over is another length, or has another
    source.

    was: as it was looked at when it was changed.
    """
    job = scene.job(job_id)
    if was != job.opened.plan.handover:
        raise Refused("The hand-over was changed meanwhile; look at it again.")
    if handover == was:
        raise Refused("Nothing of the hand-over is otherwise.")
    _refuse_length(was.not_before, handover.not_before)
    return (Draft(ev.HandoverRevised(was, handover), job_id),)


def _refuse_length(was: str, text: str) -> None:
    parts = iso_parts(text)
    if text != was and not (len(parts) == 1 and parts[0][1] <= MOST_OF_A_LENGTH):
        raise Refused(f"Write 1 to {MOST_OF_A_LENGTH}.")


def _refuse_remedies(job: Job, order: list[Stage]) -> None:
    """A remedy for a high spot does stages again that stand before its own."""
    before: set[str] = set()
    for stage in order:
        for spot in stage.high_spot:
            behind = next((n for n in spot.redo if n in job.order and n not in before), None)
            if behind is not None:
                raise Refused(
                    f"{behind} stays in front of {stage.name}, whose remedy for a high spot does "
                    "it again."
                )
        before.add(stage.name)
