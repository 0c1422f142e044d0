"""What is not done on a vehicle when a coat is about to be laid on it.

A coat shuts in what lies under it. So what the plan has in front of it is counted, and asked about
once before each layer; what was left out on purpose is not missing.
"""

from __future__ import annotations

from collections.abc import Collection

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import Section
from cartclock.engine.facts.turn import Turn

UNDONE = "undone_before"
# Of several stages, or panels, so many are named. Our own judgement.
_NAMED = 4


class Undone(Struct, frozen=True):
    """A stage in front of a coat with sections that are neither done nor left out.

    Fields:
        stage: its name.
        sections: those sections, in working order; at least one.
    """

    stage: str
    sections: tuple[Section, ...]


def undone(job: Job, stage_name: str) -> tuple[Undone, ...]:
    """The stages that the plan has in front of a stage and that are not done, in order.

    Raises KeyError if the job has no such stage.
    """
    names = [stage.name for stage in job.stages]
    if stage_name not in names:
        raise KeyError(stage_name)
    found = []
    for name in names[: names.index(stage_name)]:
        left = tuple(section for section in job.of(name) if not section.over)
        if left:
            found.append(Undone(name, left))
    return tuple(found)


def undone_question(job: Job, stage_name: str, sections: Collection[str], turn: Turn) -> str:
    """What is asked before a layer of a coat is begun; "" if there is nothing to ask.

    It is asked once for each layer, and for one that is laid again. What was put down half laid
    goes on without a question.

    job: as it is when what is in hand has ended. sections, turn: what is taken up.
    """
    stage = job.stage(stage_name)
    own = [job.sections[stage_name, name] for name in sections]
    if stage.kind != "coat" or turn.step != 0 or all(one.state == "held" for one in own):
        return ""
    found = undone(job, stage_name)
    if not found or _answered(job, stage_name, turn):
        return ""
    said = listed([f"{one.stage} {len(one.sections)}" for one in found])
    return f"Not done before the coat: {said}{_of_panels(own, found)}. Coat all the same?"


def _answered(job: Job, stage_name: str, turn: Turn) -> bool:
    """True if the worker went on all the same when this layer, of this pass, was begun."""
    return any(
        isinstance(row.event, ev.WorkStarted)
        and row.event.stage == stage_name
        and UNDONE in row.event.over
        and (row.event.turn.pass_, row.event.turn.layer) == (turn.pass_, turn.layer)
        for row in job.overruled
    )


def _of_panels(own: Collection[Section], found: Collection[Undone]) -> str:
    """What of it lies under the very panels that are taken up; "" if nothing does."""
    said = []
    for panel in dict.fromkeys(section.panel for section in own):
        stages = [one.stage for one in found if any(s.panel == panel for s in one.sections)]
        if stages:
            said.append(f"on {panel} itself {listed(stages)}")
    return f"; {listed(said)}" if said else ""


def listed(said: list[str]) -> str:
    """The first of several things that are said, and how many more there are."""
    more = f" and {len(said) - _NAMED} more" if len(said) > _NAMED else ""
    return f"{', '.join(said[:_NAMED])}{more}"
