"""What jobs teach of a plan: minutes that are off, and sections that are larger than others.

A plan's minutes are what somebody thought a section would take. After some jobs the log knows
better; what it knows is proposed with how sure it is, and the worker decides. Spreads are those of
the forecast (`engine.ahead.durations`), so that a proposal and a forecast rest on the same belief.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import exp, fsum, log, sqrt
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.ahead.durations import SPREADS
from cartclock.engine.hours.lessons import JobLessons, Lesson, PanelLesson
from cartclock.engine.hours.usual import LEAST_MEASURED, StepKey, work_steps
from cartclock.engine.plan.plan import Plan, Stage, Work

# Eight times in ten the true value lies within so many standard errors (normal distribution).
_EIGHT_IN_TEN = 1.2815515655446004
# A smaller change is not worth a new plan. Our own judgement.
LEAST_CHANGE = 0.10
# From so many jobs on a proposal is called sure: a job's own pace moves it little by then. Our own
# judgement.
SURE_JOBS = 5
# From so many jobs on a proposal is made unasked: one job may have been an odd one. Our own
# judgement.
UNASKED_JOBS = 2
# How far panels of one stage differ before anything was measured, as a spread of logarithms. Our
# own judgement.
PANELS_APART = 0.40
# A weight is written in so many steps to 1. Our own judgement.
_STEPS = 20
NO_WEIGHTS: Mapping[tuple[str, str], float] = {}


class MinutesProposal(Struct, frozen=True):
    """A step of a plan whose minutes are off.

    Fields:
        stage, step: which work; `step` is its verb and which of that verb in the stage.
        over: "section" or "all": what the minutes are for, as in `Work`.
        planned_min: what the plan says, > 0.
        taken_min: what a piece took, the geometric mean, in minutes; of a section that weighs 1.
        low_min, high_min: eight times in ten the worker's own mean lies between them.
        take_min: what is proposed: `taken_min` as a plan would write it.
        n, jobs: how many measured pieces in how many jobs stand behind it.
    """

    stage: str
    step: StepKey
    over: Literal["section", "all"]
    planned_min: float
    taken_min: float
    low_min: float
    high_min: float
    take_min: float
    n: int
    jobs: int

    @property
    def sure(self) -> bool:
        """True if enough jobs stand behind it."""
        return self.jobs >= SURE_JOBS

    @property
    def work(self) -> str:
        """Which work: "Polish, wipe", "Polish, wipe, 2" the second time, "Rinse" of that alone."""
        _stage, verb, nth = self.step
        said = [self.stage] if verb.casefold() == self.stage.casefold() else [self.stage, verb]
        return ", ".join([*said, str(nth + 1)] if nth else said)


class PanelWeight(Struct, frozen=True):
    """How long a section of a panel takes beside the minutes of the steps of its stage.

    Fields:
        stage, panel: where.
        weight: > 0; 1 is the section that the plan's minutes are for.
        n, jobs: how many measured pieces in how many jobs stand behind it.
        planned: what the plan says of it, > 0.
    """

    stage: str
    panel: str
    weight: float
    n: int
    jobs: int
    planned: float = 1.0

    @property
    def beside(self) -> float:
        """How much longer than planned, beside the other sections of the stage."""
        return self.weight / self.planned

    @property
    def take(self) -> float:
        """The weight as a plan would write it: in twentieths, at least one."""
        return max(1, round(self.weight * _STEPS)) / _STEPS

    @property
    def tells(self) -> bool:
        """True if the plan's weight lies outside what eight times in ten is true of it, enough was
        measured, and the change is worth writing.
        """
        off = _EIGHT_IN_TEN / sqrt(PANELS_APART**-2 + self.n * SPREADS.noise**-2)
        far = abs(log(self.beside)) > off and abs(self.take / self.planned - 1.0) >= LEAST_CHANGE
        return far and self.n >= LEAST_MEASURED


def proposed_minutes(plan: Plan, jobs: Iterable[JobLessons]) -> tuple[MinutesProposal, ...]:
    """The steps of a plan whose minutes should be others, by their place in the plan.

    A step is named where its plan lies outside what eight times in ten is true of the worker, the
    change is worth writing, and enough pieces were measured. jobs: of one worker, each once.
    """
    found: dict[StepKey, list[Lesson]] = {}
    for job in jobs:
        for lesson in job.lessons:
            found.setdefault(lesson.step, []).append(lesson)
    proposals = []
    for stage in plan.stages:
        for _index, work, step in work_steps(stage):
            weight = 1.0 if work.over == "all" else stage.usual_weight
            proposal = _proposal(work, step, weight, found.get(step, ()))
            if proposal is not None:
                proposals.append(proposal)
    return tuple(proposals)


def _proposal(
    work: Work, step: StepKey, weight: float, found: Iterable[Lesson]
) -> MinutesProposal | None:
    """weight: of the usual section of the stage."""
    told = list(found)
    n = sum(one.n for one in told)
    if work.minutes <= 0 or n < LEAST_MEASURED:
        return None
    # Jobs weigh by what they say of the worker: few pieces say less, many no more than one pace.
    weights = [1.0 / (SPREADS.pace**2 + SPREADS.noise**2 / one.n) for one in told]
    mean = fsum(w * one.ln_seconds for w, one in zip(weights, told, strict=True)) / fsum(weights)
    mean -= log(weight)
    off = _EIGHT_IN_TEN / sqrt(fsum(weights))
    low, taken, high = (exp(mean + by) / 60.0 for by in (-off, 0.0, off))
    take = written_minutes(taken)
    if low <= work.minutes <= high or abs(take / work.minutes - 1.0) < LEAST_CHANGE:
        return None
    return MinutesProposal(
        stage=step[0],
        step=step,
        over=work.over,
        planned_min=work.minutes,
        taken_min=taken,
        low_min=low,
        high_min=high,
        take_min=take,
        n=n,
        jobs=len(told),
    )


def written_minutes(minutes: float) -> float:
    """Minutes as a plan would write them: whole ones from five on, else halves, at least a half;
    quarters under one."""
    if minutes >= 5:
        return float(round(minutes))
    if minutes >= 1:
        return round(minutes * 2) / 2
    return max(0.25, round(minutes * 4) / 4)


def planned_weights(plan: Plan) -> dict[tuple[str, str], float]:
    """Stage and panel -> what a section there weighs by the plan; of stages that have weights."""
    found: dict[tuple[str, str], list[float]] = {}
    for stage in plan.stages:
        for name in stage.sections if stage.weights else ():
            weight = stage.weight_of(name)
            found.setdefault((stage.name, stage.panel(name)), []).append(weight)
    return {at: fsum(weights) / len(weights) for at, weights in found.items()}


def panel_weights(
    found: Iterable[PanelLesson], planned: Mapping[tuple[str, str], float] = NO_WEIGHTS
) -> tuple[PanelWeight, ...]:
    """What a section of each panel weighs, by stage and panel; all measured pieces of a stage
    together weigh what the plan says.

    Few pieces leave a panel near its plan: how far panels are off is believed beforehand
    (`PANELS_APART`), and a piece by itself scatters as in the forecast.

    planned: as `planned_weights` tells them of the plan.
    """
    by_stage: dict[str, dict[str, list[PanelLesson]]] = {}
    for one in found:
        by_stage.setdefault(one.stage, {}).setdefault(one.panel, []).append(one)
    weights = []
    for stage, panels in sorted(by_stage.items()):
        pieces = {panel: sum(one.n for one in told) for panel, told in panels.items()}
        by_plan = {panel: planned.get((stage, panel), 1.0) for panel in panels}
        # What was measured stands beside the mean of the logarithms of all pieces.
        whole = sum(pieces.values())
        middle = fsum(pieces[panel] * log(by_plan[panel]) for panel in panels) / whole
        raw = {
            panel: by_plan[panel] * _believed(told, log(by_plan[panel]) - middle)
            for panel, told in panels.items()
        }
        average = fsum(raw[panel] * pieces[panel] for panel in panels)
        average /= fsum(by_plan[panel] * pieces[panel] for panel in panels)
        weights += [
            PanelWeight(
                stage,
                panel,
                raw[panel] / average,
                pieces[panel],
                len(panels[panel]),
                by_plan[panel],
            )
            for panel in sorted(panels)
        ]
    return tuple(weights)


def _believed(told: Iterable[PanelLesson], planned_ln: float) -> float:
    """By how much a panel takes longer than planned; planned_ln: as `PanelLesson.ln_ratio`."""
    lessons = list(told)
    n = sum(one.n for one in lessons)
    off = fsum(one.n * one.ln_ratio for one in lessons) / n - planned_ln
    return exp(off * PANELS_APART**2 / (PANELS_APART**2 + SPREADS.noise**2 / n))


def proposed_weights(plan: Plan, found: Iterable[PanelLesson]) -> tuple[PanelWeight, ...]:
    """What sections of a plan should weigh, by its stages and their panels: all measured panels of
    a stage of which at least one `tells` another weight than the plan.

    found: of one worker, by jobs on such a body.
    """
    weights = panel_weights(found, planned_weights(plan))
    proposed: list[PanelWeight] = []
    for stage in plan.stages:
        places = list(dict.fromkeys(map(stage.panel, stage.sections)))
        own = [one for one in weights if one.stage == stage.name and one.panel in places]
        if any(one.tells for one in own):
            proposed += sorted(own, key=lambda one: places.index(one.panel))
    return tuple(proposed)


def with_weights(plan: Plan, taken: Iterable[PanelWeight]) -> Plan:
    """The plan with other weights of sections; those that a plan gives by section are changed by
    as much as their panel's.
    """
    by_stage: dict[str, dict[str, PanelWeight]] = {}
    for one in taken:
        by_stage.setdefault(one.stage, {})[one.panel] = one
    return replace(
        plan,
        stages=tuple(
            replace(stage, weights=_weights(stage, by_stage[stage.name]))
            if stage.name in by_stage
            else stage
            for stage in plan.stages
        ),
    )


def _weights(stage: Stage, taken: Mapping[str, PanelWeight]) -> dict[str, float]:
    found: dict[str, float] = {}
    for name, weight in stage.weights.items():
        one = taken.get(stage.panel(name))
        found[name] = weight if one is None else replace(one, weight=weight * one.beside).take
    for panel, one in taken.items():
        found.setdefault(panel, one.take)
    return found
