"""Rules that change what is to be done: skip, redo, cut, add, and fill in what was not pressed.

As in `engine.job.rules`, each returns the events of one press or raises `Refused`.
"""

from __future__ import annotations

from engine.job import events as ev
from engine.job.events import Turn
from engine.job.plan import Stage, Work
from engine.job.rows import Draft
from engine.job.rules import Press, Scene, name_of, section_of
from engine.job.section import Section, next_turn, work_of
from engine.job.shift import Hands
from engine.trouble import Refused


def skip(scene: Scene, job_id: str, stage: str, sections: tuple[str, ...], why: str = "") -> Press:
    """These sections will not be done; in this worker's hands they are put down first."""
    job = scene.job(job_id)
    drafts: list[Draft] = []
    hands = scene.shift.doing if scene.shift is not None else None
    mine: tuple[str, ...] = ()
    if isinstance(hands, Hands) and (hands.job, hands.stage) == (job_id, stage):
        mine = tuple(name for name in sections if name in hands.sections)
        if mine:
            drafts.append(Draft(ev.WorkPutDown(stage, mine, hands.turn), job_id))
    for name in sections:
        section = section_of(job, stage, name)
        if section.over:
            raise Refused(f"{name} is {section.state} already.")
        if section.state == "in hand" and name not in mine:
            raise Refused(f"{name} is in the hands of {section.worker}.")
    return (*drafts, Draft(ev.SectionSkipped(stage, sections, why), job_id))


def redo(
    scene: Scene,
    job_id: str,
    stage: str,
    sections: tuple[str, ...],
    why: str = "",
    layer: int = 1,
) -> Press:
    """These sections are to be done again from the first step of `layer` on."""
    job = scene.job(job_id)
    drafts = []
    for name in sections:
        section = section_of(job, stage, name)
        if section.state not in ("done", "skipped"):
            raise Refused(f"{name} is {section.state}; only what is done or skipped is redone.")
        if not 1 <= layer <= job.stage(stage).layers:
            raise Refused(f"{stage} has no layer {layer}.")
        turn = Turn(section.turn.pass_ + 1, layer, 0)
        drafts.append(Draft(ev.SectionReopened(stage, (name,), turn, why), job_id))
    return tuple(drafts)


def split(scene: Scene, job_id: str, stage: str, section: str, into: tuple[str, ...]) -> Press:
    """Cuts a section that was never touched into others."""
    job = scene.job(job_id)
    found = section_of(job, stage, section)
    if not found.untouched:
        raise Refused(f"{section} was touched already; only an untouched section can be cut.")
    if len(into) < 2 or len(set(into)) != len(into):
        raise Refused("A section is cut into at least two, with different names.")
    for name in into:
        _new_name(name)
        if (stage, name) in job.sections:
            raise Refused(f"{stage} has a section {name} already.")
    return (Draft(ev.SectionSplit(stage, section, into), job_id),)


def _new_name(name: str) -> None:
    if not name.strip() or len(name) > 60 or any(ord(c) < 32 for c in name):
        raise Refused("A name has 1 to 60 characters and no control characters.")


def add_section(
    scene: Scene, job_id: str, stage: str, section: str, panel: str = "", after: str = ""
) -> Press:
    """Adds a section the plan did not have."""
    job = scene.job(job_id)
    _new_name(section)
    if stage not in job.order:
        raise Refused(f"There is no stage {stage}.")
    if (stage, section) in job.sections:
        raise Refused(f"{stage} has a section {section} already.")
    return (Draft(ev.SectionAdded(stage, section, panel, after), job_id),)


def add_stage(scene: Scene, job_id: str, stage: Stage, after: str = "") -> Press:
    """Adds a stage the plan did not have."""
    job = scene.job(job_id)
    _new_name(stage.name)
    if stage.name in job.order:
        raise Refused(f"There is a stage {stage.name} already.")
    if not stage.sections or not stage.steps or not isinstance(stage.steps[-1], Work):
        raise Refused("A stage needs sections and steps, the last one done by hand.")
    return (Draft(ev.StageAdded(stage, after), job_id),)


def fill_in(
    scene: Scene, job_id: str, stage: str, sections: tuple[str, ...], from_us: int, to_us: int
) -> Press:
    """Several sections were done between two times: shared evenly over them, and marked so.

    Each section is taken through the rest of its layer. What the worker has in hand may be
    the first of them; then its beginning stands. Waits inside the layer leave no window,
    because nobody saw them; the gap behind the layer does.
    """
    job, shift = scene.job(job_id), scene.on
    if not sections or len(set(sections)) != len(sections):
        raise Refused("Name the sections that were done, each once.")
    drafts: list[Draft] = []
    hands = shift.doing
    in_hand: tuple[str, ...] = ()
    if isinstance(hands, Hands) and (hands.job, hands.stage) == (job_id, stage):
        in_hand = tuple(name for name in sections if name in hands.sections)
        if in_hand != hands.sections:
            raise Refused(f"{name_of(hands.sections)} is in hand and must be among them.")
        from_us = shift.since_us
    if to_us > scene.now_us or from_us >= to_us:
        raise Refused("The end of that stretch must lie after its beginning and not ahead.")
    ordered = (*in_hand, *(name for name in sections if name not in in_hand))
    count = len(ordered)
    cuts = [from_us + (to_us - from_us) * index // count for index in range(count + 1)]
    plan_stage = job.stage(stage)
    for index, name in enumerate(ordered):
        section = section_of(job, stage, name)
        if section.over or (section.state == "in hand" and name not in in_hand):
            raise Refused(f"{name} is {section.state}.")
        drafts += _filled(job_id, plan_stage, section, cuts[index], cuts[index + 1])
    return tuple(drafts)


def _filled(job_id: str, stage: Stage, section: Section, from_us: int, to_us: int) -> list[Draft]:
    turns = [section.turn]
    while True:
        following = next_turn(stage, turns[-1])
        if following is None or following.layer != turns[-1].layer:
            break
        turns.append(following)
    weights = [max(work_of(stage, turn).minutes, 0.001) for turn in turns]
    drafts: list[Draft] = []
    begun_us, spent = from_us, 0.0
    for turn, weight in zip(turns, weights, strict=True):
        spent += weight
        end_us = (
            to_us
            if turn == turns[-1]
            else from_us + round((to_us - from_us) * spent / sum(weights))
        )
        names = (section.name,)
        if section.state != "in hand" or turn != turns[0]:
            started = ev.WorkStarted(stage.name, names, turn)
            drafts.append(Draft(started, job_id, begun_us))
        marks = None
        if turn == turns[-1] and stage.gap is not None and turn.layer < stage.layers:
            marks = ev.Marks(stage.gap.opens_s, stage.gap.due_s, stage.gap.closes_s)
        finished = ev.StepFinished(stage.name, names, turn, marks, shared=True)
        drafts.append(Draft(finished, job_id, end_us))
        amounts = {u.product: u.amount for u in work_of(stage, turn).uses}
        if amounts:
            drafts.append(Draft(ev.ProductUsed(stage.name, names, turn, amounts), job_id, end_us))
        begun_us = end_us
    return drafts
