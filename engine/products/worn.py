"""Pads and towels: which are in use, on how many sections each was, and what is to be washed.

A pad serves one vehicle, one stage and one worker, and is washed when the shift ends: nothing of
one paint, polish or machine is carried into the next. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import get_args

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.turn import Turn
from cartclock.engine.facts.words import sections_text
from cartclock.engine.plan.plan import Stage, Wear, WearKind, Work

WORN = "pad_or_towel_kept"
"""Id of the rule that is overruled by going on with what is worn."""


class Worn(Struct, frozen=True):
    """What one worker wears on one stage in one shift.

    Fields:
        stage, wear: where, and what the plan says of it.
        sections: on how many sections the one in use was, that in hand among them.
        changed: how many were laid aside for a fresh one.
        kept: on how many of its sections it was when its worker went on with it the last time.
    """

    stage: str
    wear: Wear
    sections: int
    changed: int
    kept: int = 0

    @property
    def due(self) -> bool:
        """True if the plan takes a fresh one now, and the worker did not go on with it since."""
        return self.sections - self.kept >= self.wear.sections

    @property
    def used(self) -> int:
        """How many were used, that in use among them."""
        return self.changed + (self.sections > 0)

    @property
    def text(self) -> str:
        """The one in use in few words: "soft pad, 4 sections"."""
        return f"{self.wear.name}, {sections_text(self.sections)}"


def wears_of(stage: Stage, steps: Iterable[int] | None = None) -> tuple[Wear, ...]:
    """What the steps of a stage wear, each name of a kind once; steps None: all of them."""
    found: dict[tuple[WearKind, str], Wear] = {}
    for index in range(len(stage.steps)) if steps is None else steps:
        step = stage.steps[index]
        for wear in step.wears if isinstance(step, Work) else ():
            found.setdefault((wear.kind, wear.name), wear)
    return tuple(found.values())


def worn(job: Job, stage: Stage, wear: Wear, shift: Shift) -> Worn:
    """How one pad or towel of a stage stands for the worker of a shift."""
    taken = [row for row in job.facts if _is_fresh(row, stage, wear, shift)]
    since_us = max([shift.on_us, *(row.at_us for row in taken)])
    steps = {
        index
        for index, step in enumerate(stage.steps)
        if isinstance(step, Work) and any(_same(wear, one) for one in step.wears)
    }

    def place(section: str, turn: Turn) -> tuple[str, int, int]:
        # A section that is worked in several steps is one; a layer is worked anew.
        return section, turn.pass_, turn.layer

    ended = [
        stint
        for stint in job.stints
        if stint.stage == stage.name
        and stint.turn.step in steps
        and stint.worker == shift.worker
        and stint.last_us > since_us
    ]
    kept = 0
    for row in job.overruled:
        if _goes_on(row, stage, shift):
            worked = {place(one.section, one.turn) for one in ended if one.last_us <= row.at_us}
            # Where another one was due, nothing was said of this one.
            if len(worked) - kept >= wear.sections:
                kept = len(worked)
    on_this = {place(stint.section, stint.turn) for stint in ended}
    on_this |= {
        place(section.name, section.turn)
        for section in job.of(stage.name)
        if section.state == "in hand"
        and section.worker == shift.worker
        and section.turn.step in steps
    }
    return Worn(stage.name, wear, len(on_this), len(taken), kept)


def _same(one: Wear, other: Wear) -> bool:
    return (one.kind, one.name) == (other.kind, other.name)


def _is_fresh(row: Row, stage: Stage, wear: Wear, shift: Shift) -> bool:
    event = row.event
    return (
        isinstance(event, ev.FreshTaken)
        and (event.stage, event.what, event.name) == (stage.name, wear.kind, wear.name)
        and row.worker == shift.worker
        and row.at_us >= shift.on_us
    )


def _goes_on(row: Row, stage: Stage, shift: Shift) -> bool:
    event = row.event
    return (
        isinstance(event, ev.WorkStarted)
        and event.stage == stage.name
        and WORN in event.over
        and row.worker == shift.worker
    )


def all_worn(job: Job, shift: Shift) -> tuple[Worn, ...]:
    """Every pad and towel of a job, in the order of its stages."""
    return tuple(worn(job, stage, wear, shift) for stage in job.stages for wear in wears_of(stage))


def in_use(job: Job, shift: Shift) -> tuple[Worn, ...]:
    """Those that were used in a shift, and those of stages that are still to be worked."""
    still = {section.stage for section in job.sections.values() if not section.over}
    return tuple(one for one in all_worn(job, shift) if one.used or one.stage in still)


def to_wash(jobs: Iterable[Job], shift: Shift) -> str:
    """What was used in a shift, by kind: "4 pads, 9 towels"; "" if nothing was."""
    used = dict.fromkeys(get_args(WearKind), 0)
    for job in jobs:
        for one in all_worn(job, shift):
            used[one.wear.kind] += one.used
    said = (f"{count} {kind}{'' if count == 1 else 's'}" for kind, count in used.items() if count)
    return ", ".join(said)
