"""Rules that change what is to be done: skip, redo, cut, add, and fill in what was not pressed.

As in `engine.rules.rules`, each returns the events of one press or raises `Refused`.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import film_runs
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.section import next_turn, wait_after, work_of
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.turn import Turn
from cartclock.engine.films import gate
from cartclock.engine.films.undone import UNDONE, undone_question
from cartclock.engine.films.waves import wave_then_us
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import Product, Stage, Tool, Work
from cartclock.engine.rules.rules import (
    NO_REASONS,
    Drafts,
    amounts_of,
    name_of,
    section_of,
    stage_of,
)
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused


def skip(scene: Scene, job_id: str, stage: str, sections: tuple[str, ...], why: str = "") -> Drafts:
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
            raise Refused(f"{name} is {section.told} already.")
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
) -> Drafts:
    """These sections are to be done again from the first step of `layer` on."""
    job = scene.job(job_id)
    drafts = []
    for name in sections:
        section = section_of(job, stage, name)
        if section.state not in ("done", "left out") and not section.between_layers:
            raise Refused(f"{name} is {section.told}; only what is done or left out is done again.")
        if not 1 <= layer <= job.stage(stage).layers:
            raise Refused(f"{stage} has no layer {layer}.")
        turn = Turn(section.turn.pass_ + 1, layer, 0)
        drafts.append(Draft(ev.SectionReopened(stage, (name,), turn, why), job_id))
    return tuple(drafts)


def split(scene: Scene, job_id: str, stage: str, section: str, into: tuple[str, ...]) -> Drafts:
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


def split_several(
    scene: Scene, job_id: str, stage: str, cuts: Mapping[str, tuple[str, ...]]
) -> Drafts:
    """Cuts several sections of a stage in one press; `cuts`: section -> what it becomes."""
    drafts: list[Draft] = []
    names: set[str] = set()
    for section, into in cuts.items():
        if names & set(into):
            raise Refused(f"{stage} would have a section twice.")
        names |= set(into)
        drafts += split(scene, job_id, stage, section, into)
    if not drafts:
        raise Refused("Name the sections that are to be cut.")
    return tuple(drafts)


def halves(job: Job, stage: str, section: str) -> tuple[str, str]:
    """Names for the two halves of a section that the stage does not have yet."""
    for first, second in (("left", "right"), ("front", "rear"), ("upper", "lower")):
        names = (f"{section} {first}", f"{section} {second}")
        if all((stage, name) not in job.sections for name in names):
            return names
    return (f"{section} 1", f"{section} 2")


def _new_name(name: str) -> None:
    if not name.strip() or len(name) > 60 or not name.isprintable():
        raise Refused("A name has 1 to 60 characters and no control characters.")


def add_section(
    scene: Scene, job_id: str, stage: str, section: str, panel: str = "", after: str = ""
) -> Drafts:
    """Adds a section the plan did not have."""
    job = scene.job(job_id)
    _new_name(section)
    stage_of(job, stage)
    if (stage, section) in job.sections:
        raise Refused(f"{stage} has a section {section} already.")
    return (Draft(ev.SectionAdded(stage, section, panel, after), job_id),)


def add_stage(
    scene: Scene,
    job_id: str,
    stage: Stage,
    after: str = "",
    products: tuple[Product, ...] = (),
    tools: tuple[Tool, ...] = (),
) -> Drafts:
    """Adds a stage the plan did not have, with the products and tools that it brings along."""
    job = scene.job(job_id)
    _new_name(stage.name)
    if stage.name in job.order:
        raise Refused(f"There is a stage {stage.name} already.")
    by_hand = [isinstance(step, Work) for step in stage.steps]
    if not stage.sections or not by_hand or not by_hand[-1]:
        raise Refused("A stage needs sections and steps, the last one done by hand.")
    if not by_hand[0] or any(not one and not other for one, other in pairwise(by_hand)):
        raise Refused("A stage begins with a step done by hand and has no two waits in a row.")
    if len(set(stage.sections)) != len(stage.sections):
        raise Refused("A stage has no section twice.")
    for section in stage.sections:
        _new_name(section)
    return (Draft(ev.StageAdded(stage, after, products, tools), job_id),)


def fill_in(
    scene: Scene,
    job_id: str,
    stage: str,
    sections: tuple[str, ...],
    from_us: Instant,
    to_us: int,
    over: Mapping[str, str] = NO_REASONS,
) -> Drafts:
    """Several sections were done between two times: shared evenly over them, and marked so.

    Before a coat it asks, as `take_up` does, what lies under it undone, and what the gate says of
    the readings at its beginning; not what is only for work to come.

    Each section is taken through the rest of its layer. What the worker has in hand may be
    the first of them; then its beginning stands. Waits inside the layer leave no window,
    because nobody saw them; the gap behind the layer does.
    """
    job, shift = scene.job(job_id), scene.on
    if not sections or len(set(sections)) != len(sections):
        raise Refused("Name the sections that were done, each once.")
    plan_stage = stage_of(job, stage)
    hands = shift.doing
    in_hand: tuple[str, ...] = ()
    drafts: list[Draft] = []
    if isinstance(hands, Hands) and (hands.job, hands.stage) == (job_id, stage):
        if not set(hands.sections) <= set(sections):
            raise Refused(f"{name_of(hands.sections)} is in hand and must be among them.")
        in_hand, from_us = hands.sections, shift.since_us
    if to_us > scene.now_us or from_us >= to_us:
        raise Refused("The end of that stretch must lie after its beginning and not ahead.")
    _ask_late(scene, over, job, stage, tuple(n for n in sections if n not in in_hand), from_us)
    held: tuple[str, ...] = ()
    if len(in_hand) > 1 and isinstance(hands, Hands) and _rest(plan_stage, hands.turn):
        # One section goes through its steps while the others of the same press wait.
        held = in_hand[1:]
        drafts.append(Draft(ev.WorkPutDown(stage, held, hands.turn), job_id, from_us))
    ordered = (*in_hand, *(name for name in sections if name not in in_hand))
    count = len(ordered)
    cuts = [from_us + (to_us - from_us) * index // count for index in range(count + 1)]
    begun = {(s.turn.layer, s.turn.step) for s in job.stints if s.stage == stage}
    for name, (start_us, end_us) in zip(ordered, pairwise(cuts), strict=True):
        section = section_of(job, stage, name)
        if section.over or (section.state == "in hand" and name not in in_hand):
            raise Refused(f"{name} is {section.told}.")
        going_on = name in in_hand and name not in held
        for turn, a_us, b_us in _shared(plan_stage, section.turn, start_us, end_us):
            if not (going_on and turn == section.turn):
                said = {} if any(isinstance(d.event, ev.WorkStarted) for d in drafts) else over
                started = ev.WorkStarted(stage, (name,), turn, dict(said))
                drafts.append(Draft(started, job_id, Instant(a_us)))
            drafts += _finished(job_id, plan_stage, name, turn, Instant(b_us), begun)
    return tuple(drafts)


def _ask_late(
    scene: Scene,
    over: Mapping[str, str],
    job: Job,
    stage: str,
    names: tuple[str, ...],
    from_us: Instant,
) -> None:
    """Asks before a layer of a coat that is entered afterwards; nothing while a film is in play."""
    begun = [section_of(job, stage, name) for name in names]
    begun = [one for one in begun if not one.over and one.turn.step == 0]
    if job.stage(stage).kind != "coat" or not begun or film_runs(scene.jobs.values(), scene.now_us):
        return
    turn = begun[0].turn
    laid = tuple(one.name for one in begun if one.turn == turn)
    missing = undone_question(job, stage, laid, turn)
    if missing and UNDONE not in over:
        raise Asks(UNDONE, missing)
    wave_us = wave_then_us(job, stage, turn.layer, from_us)
    for rule_id, sentence in gate.asks(job, stage, laid, turn, scene.on, from_us, wave_us):
        # Whether a reading lasts as long as the layer is of no use once it is laid.
        if rule_id != gate.READING_ENDS and rule_id not in over:
            raise Asks(rule_id, sentence)


def _rest(stage: Stage, turn: Turn) -> list[Turn]:
    """The work steps behind `turn` in the same layer."""
    found = []
    following = next_turn(stage, turn)
    while following is not None and following.layer == turn.layer:
        found.append(following)
        following = next_turn(stage, following)
    return found


def _shared(stage: Stage, turn: Turn, from_us: int, to_us: int) -> list[tuple[Turn, int, int]]:
    """The steps of one section with their times, by the planned minutes; they fill it exactly."""
    turns = [turn, *_rest(stage, turn)]
    weights = [max(work_of(stage, one).minutes, 0.001) for one in turns]
    found = []
    begun_us, spent = from_us, 0.0
    for one, weight in zip(turns, weights, strict=True):
        spent += weight
        end_us = from_us + round((to_us - from_us) * spent / sum(weights))
        end_us = to_us if one == turns[-1] else end_us
        found.append((one, begun_us, end_us))
        begun_us = end_us
    return found


def _finished(
    job_id: str, stage: Stage, name: str, turn: Turn, at_us: Instant, begun: set[tuple[int, int]]
) -> list[Draft]:
    """A shared step's end and what it took; only the gap behind the layer leaves a window."""
    wait = wait_after(stage, turn)
    marks = wait[1] if wait is not None and wait[0] == "gap" else None
    finished = ev.StepFinished(stage.name, (name,), turn, marks, shared=True)
    drafts = [Draft(finished, job_id, at_us)]
    amounts = amounts_of(work_of(stage, turn), 1, (turn.layer, turn.step) in begun)
    begun.add((turn.layer, turn.step))
    if amounts:
        drafts.append(Draft(ev.ProductUsed(stage.name, (name,), turn, amounts), job_id, at_us))
    return drafts
