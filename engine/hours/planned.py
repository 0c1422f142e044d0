"""What the plan gives the hands, and how much of it is done: its own minutes, nothing learned."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import Section, next_turn, work_of
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.times import Instant, Length


def planned_us(job: Job, stage: Stage) -> Length:
    """What the plan gives the hands for a stage, microseconds: every layer on every section that
    is not left out, once, done or not.
    """
    there = [section.name for section in job.of(stage.name) if section.state != "left out"]
    minutes = sum(stage.minutes_of(step, there) for step in stage.steps if isinstance(step, Work))
    return Length(round(minutes * stage.layers * MINUTE_US) if there else 0)


def planned_left_us(job: Job, stages: Iterable[Stage], now_us: Instant) -> Length:
    """What of it is left on these stages; what is in hand, or was put down, counts for what its
    plan leaves.
    """
    return Length(round(sum(_left_minutes(job, stage, now_us) for stage in stages) * MINUTE_US))


def work_done(job: Job, stages: Iterable[Stage], now_us: Instant) -> float:
    """Which share of the work on these stages is done, 0 to 1: by the plan's minutes, or by the
    number of sections where the plan has none.
    """
    stages = list(stages)
    planned = sum(planned_us(job, stage) for stage in stages)
    if planned:
        return max(0.0, 1.0 - planned_left_us(job, stages, now_us) / planned)
    there = [section.over for stage in stages for section in job.of(stage.name)]
    return sum(there) / len(there) if there else 1.0


def _left_minutes(job: Job, stage: Stage, now_us: Instant) -> float:
    hands = 0.0
    together: dict[tuple[int, int], float] = {}
    left = [section for section in job.of(stage.name) if not section.over]
    alike = Counter(_taken(section) for section in left)
    for section in left:
        turn: Turn | None = section.turn
        while turn is not None:
            work = work_of(stage, turn)
            minutes = stage.minutes_of(work, (section.name,))
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
            turn = next_turn(stage, turn)
    return hands + sum(together.values())


def _taken(section: Section) -> tuple[object, ...]:
    """The same for sections that one press took up."""
    return section.turn, section.worker, section.first_us, section.taken_us, section.hands_us
