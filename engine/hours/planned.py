"""What the plan gives the hands, and how much of it is done: its own minutes, nothing learned."""

from __future__ import annotations

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
    # A press that takes all sections there are: its minutes count once.
    over_all: dict[tuple[int, int], float] = {}
    # What is in hand or was put down, by the press that took it: its minutes, and what was done.
    taken: dict[tuple[object, ...], tuple[float, float]] = {}
    for section in job.of(stage.name):
        turn: Turn | None = None if section.over else section.turn
        while turn is not None:
            work = work_of(stage, turn)
            minutes = stage.minutes_of(work, (section.name,))
            worked = section.worked_us(now_us) / MINUTE_US if turn == section.turn else 0.0
            if work.over == "all":
                key = (turn.layer, turn.step)
                over_all[key] = max(over_all.get(key, 0.0), minutes - worked)
            elif worked > 0:
                # The hands went from one section to the next.
                before, _worked = taken.get(_taken(section), (0.0, 0.0))
                taken[_taken(section)] = before + minutes, worked
            else:
                hands += minutes
            turn = next_turn(stage, turn)
    begun = sum(max(0.0, minutes - worked) for minutes, worked in taken.values())
    return hands + begun + sum(over_all.values())


def _taken(section: Section) -> tuple[object, ...]:
    """The same for sections that one press took up."""
    return section.turn, section.worker, section.first_us, section.taken_us, section.hands_us
