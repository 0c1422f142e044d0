"""How long a piece of work usually takes this worker: learned from what was finished.

Only hands count: a panel that was put down for a call took as long as the hands were on it.
What was filled in afterwards with times shared out evenly was not measured, and what was done
again is other work; neither is learned from.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from math import fsum

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import SECOND_US, Section, Stint, work_of
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.facts.turn import Turn
from cartclock.engine.hours.partition import Piece, partition
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.press import Press
from cartclock.engine.times import Instant, Length

# The mean of fewer says little. Our own judgement.
LEAST_MEASURED = 3
# A shorter piece, as a share of what the plan gives it, is a key that was pressed twice, and no
# measure of anybody's hands. Our own judgement.
SLIP = 0.05

# Stage, verb of the work step, and the how manieth step of that verb in the stage it is (from
# 0): a plan may be changed between two jobs, and the work is still the same.
StepKey = tuple[str, str, int]


class Timed(Struct, frozen=True):
    """One measured piece of work.

    Fields:
        worker: whose hands.
        step: what was done.
        at_us: when it was finished.
        seconds: hands on it, for one section (of a step over all: for all of them), > 0.
        planned_s: what the plan gives it; 0.0 if the plan says nothing.
        panel: where it was; "" if it went over several.
    """

    worker: str
    step: StepKey
    at_us: Instant
    seconds: float
    planned_s: float = 0.0
    panel: str = ""


class Usual(Struct, frozen=True):
    """What a step usually takes.

    Fields:
        seconds: for one section (of a step over all: for all of them); the geometric mean.
        of: how many measured ones it is the mean of, `LEAST_MEASURED` or more.
        whose: whose they are; "yours", or as the shop's carts are told of others.
    """

    seconds: float
    of: int
    whose: str = "yours"


UsualOf = Callable[[StepKey], Usual | None]


def no_usual(step: StepKey) -> Usual | None:
    """Nothing was measured yet."""
    return None


def step_of(stage: Stage, turn: Turn) -> StepKey:
    """What a turn of a stage is, whatever else the plan holds; KeyError if it points at none."""
    work = work_of(stage, turn)
    before = [s for s in stage.steps[: turn.step] if isinstance(s, Work) and s.say == work.say]
    return stage.name, work.say, len(before)


def work_steps(stage: Stage) -> tuple[tuple[int, Work, StepKey], ...]:
    """The work of a stage, each with its place among the steps and with what it is."""
    return tuple(
        (index, step, step_of(stage, Turn(step=index)))
        for index, step in enumerate(stage.steps)
        if isinstance(step, Work)
    )


def timed(job: Job, shifts: Iterable[Shift], since: Press | None = None) -> list[Timed]:
    """The measured work of a job, by the time it was finished.

    since: only work finished by this press or a later one is told.
    shifts: those in which the job was worked, whole. A piece at which several workers had a
    hand is nobody's measure and is left out, and so is a slip of the finger.
    """
    together: dict[tuple[object, ...], list[Stint]] = {}
    for stint in job.stints:
        later = since is None or stint.press >= since
        if later and not stint.shared and stint.turn.pass_ == 1:
            together.setdefault((stint.press, stint.stage, stint.turn), []).append(stint)
    last_us = max((stint.last_us for stint in job.stints), default=0)
    asked = [stint for stints in together.values() for stint in stints] if since else []
    since_us = min((stint.first_us for stint in asked), default=0)
    # By the section worked, or every stint would go over the pieces of the whole job.
    pieces: dict[str, dict[str, list[Piece]]] = {}
    for shift in shifts:
        own = pieces.setdefault(shift.worker, {})
        for piece in _hands(job.id, shift, Instant(last_us), since_us):
            for name in piece.sections:
                own.setdefault(name, []).append(piece)
    found = []
    for stints in together.values():
        one = stints[0]
        first_us = min(stint.first_us for stint in stints)
        names = {stint.section for stint in stints}
        by_worker = {
            who: _length_us(_of(own, names), one.stage, names, first_us, one.last_us)
            for who, own in pieces.items()
        }
        mine_us = by_worker.pop(one.worker, 0)
        if mine_us <= 0 or any(by_worker.values()):
            continue
        stage = job.stage_of(one)
        work = work_of(stage, one.turn)
        share = 1 if work.over == "all" else len(stints)
        panels = {job.sections[one.stage, name].panel for name in names}
        seconds = mine_us / share / SECOND_US
        planned_s = stage.minutes_of(work, names) / share * 60.0
        if seconds < planned_s * SLIP:
            continue
        found.append(
            Timed(
                worker=one.worker,
                step=step_of(stage, one.turn),
                at_us=one.last_us,
                seconds=seconds,
                planned_s=planned_s,
                panel=panels.pop() if len(panels) == 1 else "",
            )
        )
    return sorted(found, key=lambda one: one.at_us)


def _of(pieces: Mapping[str, list[Piece]], names: Collection[str]) -> Iterable[Piece]:
    """The pieces of these sections; one in which several were in hand is one piece."""
    return {piece.start_us: piece for name in names for piece in pieces.get(name, ())}.values()


def _hands(job_id: str, shift: Shift, now_us: Instant, since_us: int = 0) -> list[Piece]:
    # Without jobs nothing is stood by, and hands are what they are.
    pieces = partition(shift, {}, now_us, since_us)
    return [piece for piece in pieces if piece.kind == "hands" and piece.job == job_id]


def _length_us(
    pieces: Iterable[Piece], stage: str, names: Collection[str], first_us: int, last_us: int
) -> int:
    return sum(
        min(piece.end_us, last_us) - max(piece.start_us, first_us)
        for piece in pieces
        if piece.stage == stage
        and not set(names).isdisjoint(piece.sections)
        and piece.start_us < last_us
        and piece.end_us > first_us
    )


def on_it_us(job: Job, hands: Hands, shift: Shift, now_us: Instant) -> Length:
    """How long the hands of this shift were on what is in hand now, microseconds."""
    first_us = min(
        (job.sections[hands.stage, name].first_us or now_us for name in hands.sections),
        default=now_us,
    )
    pieces = _hands(job.id, shift, now_us, first_us)
    return Length(_length_us(pieces, hands.stage, hands.sections, first_us, now_us))


def against(stage: Stage, hands: Hands, usual: UsualOf) -> tuple[str, float]:
    """What the time on it is held against: whose usual time or "planned", and seconds; 0.0 if
    nothing is."""
    work = work_of(stage, hands.turn)
    planned_s = stage.minutes_of(work, hands.sections) * 60
    known = usual(step_of(stage, hands.turn)) if hands.turn.pass_ == 1 else None
    if known is None:
        return "planned", planned_s
    if work.over == "all":
        return known.whose, known.seconds
    weights = fsum(map(stage.weight_of, hands.sections))
    return known.whose, known.seconds * weights / stage.usual_weight


class InStage(Struct, frozen=True):
    """What is in hand among the sections of its stage.

    Fields:
        place: "panel 7 of 18", "piece 3 of 22"; "" where one press takes all there is, and for what
            is done again.
        past, mine, there: how many are past this step, in hand, and in the stage: panels where a
            press takes a panel, else sections; where `place` says nothing those that are over.
    """

    place: str
    past: int
    mine: int
    there: int


def in_stage(job: Job, hands: Hands) -> InStage:
    """What is in hand among the sections of its stage; the same until a row comes."""
    stage = job.stage(hands.stage)
    there = job.of(hands.stage)
    by_panel = stage.press == "panel"
    unit = {s.name: stage.panel(s.name) if by_panel else s.name for s in there}
    mine = {unit[name] for name in hands.sections}
    units = set(unit.values())
    if hands.turn.pass_ > 1 or len(mine) >= len(units):
        return InStage("", sum(s.over for s in there), len(hands.sections), len(there))
    at = (hands.turn.layer, hands.turn.step)
    first = min(i for i, s in enumerate(there) if s.name in hands.sections)

    def past_it(index: int, section: Section) -> bool:
        # What another worker has in hand before this one is counted before it.
        if section.state == "left out" or (section.state == "in hand" and index < first):
            return True
        return section.state == "done" or (section.turn.layer, section.turn.step) > at

    past = units - {unit[s.name] for i, s in enumerate(there) if not past_it(i, s)} - mine
    # What is one panel is called so; a piece of one is the piece that a rest stands before.
    whole = len({stage.panel(s.name) for s in there}) == len(units)
    noun = "panel" if whole else "piece"
    place = f"{noun} {len(past) + 1} of {len(units)}"
    if len(mine) > 1:
        place = f"{noun}s {len(past) + 1} to {len(past) + len(mine)} of {len(units)}"
    return InStage(place, len(past), len(mine), len(units))
