"""What is left of a job by its plan: the hands, and the waits that no work can fill.

No forecast: the plan's own minutes, nothing learned, and no rest. The stages come one after
the other; inside a stage the hands work while films wait, so a stage takes as long as all its
work, or as its longest single section with its waits, whichever is longer.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import Section, next_turn, wait_after, work_of
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.times import Instant, Length


class Remaining(Struct, frozen=True):
    """What is left.

    Fields:
        work_us: hands on it, one pair.
        total_us: with the waits that the work does not fill, at least `work_us`.
        whole: False if a work step that is left has no minutes in the plan.
        over: True if nothing is left at all.
    """

    work_us: Length
    total_us: Length
    whole: bool
    over: bool


def remaining(job: Job, now_us: Instant) -> Remaining:
    """What is left of the job at `now_us`; what is in hand, or was put down, counts for what its
    plan leaves.
    """
    work = total = 0.0
    whole = over = True
    for stage in job.stages:
        left = [section for section in job.of(stage.name) if not section.over]
        if not left:
            continue
        over = False
        hands, longest = stage_minutes(job, stage, now_us)
        turns = {turn for section in left for turn in _turns(stage, section.turn)}
        whole = whole and all(work_of(stage, turn).minutes > 0 for turn in turns)
        work += hands
        total += max(hands, longest)
    return Remaining(Length(round(work * MINUTE_US)), Length(round(total * MINUTE_US)), whole, over)


def stage_minutes(job: Job, stage: Stage, now_us: Instant) -> tuple[float, float]:
    """(minutes of hands, minutes of the section that needs longest, waits included) of a stage."""
    hands, longest = 0.0, 0.0
    together: dict[tuple[int, int], float] = {}
    left = [section for section in job.of(stage.name) if not section.over]
    alike = Counter(_taken(section) for section in left)
    for section in left:
        passed = 0.0
        window = section.window
        if window is not None:
            passed = max(0, window.opens_us - now_us) / MINUTE_US
        turn: Turn | None = section.turn
        while turn is not None:
            work = work_of(stage, turn)
            minutes = work.minutes
            if turn == section.turn:
                # The hands went from one to the next of what one press took up.
                many = 1 if work.over == "all" else alike[_taken(section)]
                worked = section.worked_us(now_us) / MINUTE_US / many
                minutes = max(0.0, minutes - worked)
            if work.over == "all":
                # One press takes all sections, so its minutes count once.
                key = (turn.layer, turn.step)
                together[key] = max(together.get(key, 0.0), minutes)
            else:
                hands += minutes
            wait = wait_after(stage, turn)
            passed += minutes + (0 if wait is None else wait[1].opens_s / 60)
            turn = next_turn(stage, turn)
        longest = max(longest, passed)
    return hands + sum(together.values()), longest


def planned_us(job: Job, stage: Stage) -> Length:
    """What the plan gives the hands for a stage, microseconds: every layer on every section that
    is not left out, once, done or not.
    """
    there = sum(section.state != "left out" for section in job.of(stage.name))
    minutes = sum(
        step.minutes * (1 if step.over == "all" else there)
        for step in stage.steps
        if isinstance(step, Work)
    )
    return Length(round(minutes * stage.layers * MINUTE_US) if there else 0)


def work_done(job: Job, stages: Iterable[Stage], now_us: Instant) -> float:
    """Which share of the work on these stages is done, 0 to 1: by the plan's minutes, or by the
    number of sections where the plan has none.
    """
    stages = list(stages)
    planned = sum(planned_us(job, stage) for stage in stages)
    if planned:
        left = sum(stage_minutes(job, stage, now_us)[0] for stage in stages) * MINUTE_US
        return max(0.0, 1.0 - left / planned)
    there = [section.over for stage in stages for section in job.of(stage.name)]
    return sum(there) / len(there) if there else 1.0


def _taken(section: Section) -> tuple[object, ...]:
    """The same for sections that one press took up."""
    return section.turn, section.worker, section.first_us, section.taken_us, section.hands_us


def _turns(stage: Stage, turn: Turn) -> list[Turn]:
    """This work and all behind it on the same section."""
    found = [turn]
    while (following := next_turn(stage, found[-1])) is not None:
        found.append(following)
    return found
