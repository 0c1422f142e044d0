"""What is left of a job by its plan: the hands, and the waits that no work can fill.

No forecast: the plan's own minutes, nothing learned, and no rest. The stages come one after
the other; inside a stage the hands work while films wait, so a stage takes as long as all its
work, or as its longest single section with its waits, whichever is longer.
"""

from __future__ import annotations

from msgspec import Struct

from engine.job.events import Turn
from engine.job.job import Job
from engine.job.plan import Stage
from engine.job.rows import MINUTE_US
from engine.job.section import SECOND_US, Section, next_turn, wait_after, work_of


class Remaining(Struct, frozen=True):
    """What is left.

    Fields:
        work_us: hands on it, one pair.
        total_us: with the waits that the work does not fill, at least `work_us`.
        whole: False if a work step that is left has no minutes in the plan.
        over: True if nothing is left at all.
    """

    work_us: int
    total_us: int
    whole: bool
    over: bool


def remaining(job: Job, now_us: int) -> Remaining:
    """What is left of the job at `now_us`; what is in hand counts for what its plan leaves."""
    work_us = total_us = 0
    whole = over = True
    for stage in job.stages:
        left = [section for section in job.of(stage.name) if not section.over]
        if not left:
            continue
        over = False
        chains_us = [_chain_us(stage, section, now_us) for section in left]
        hands_us = _hands_us(stage, left, now_us)
        turns = {turn for section in left for turn in _turns(stage, section.turn)}
        whole = whole and all(work_of(stage, turn).minutes > 0 for turn in turns)
        work_us += hands_us
        total_us += max(hands_us, *chains_us)
    return Remaining(work_us, total_us, whole, over)


def _turns(stage: Stage, turn: Turn) -> list[Turn]:
    """This work and all behind it on the same section."""
    found = [turn]
    while (following := next_turn(stage, found[-1])) is not None:
        found.append(following)
    return found


def _minutes_us(stage: Stage, turn: Turn) -> int:
    return round(work_of(stage, turn).minutes * MINUTE_US)


def _spent_us(stage: Stage, section: Section, now_us: int) -> int:
    """What of the plan's minutes of the step in hand is used up."""
    if section.state != "in hand" or section.first_us is None:
        return 0
    return min(now_us - section.first_us, _minutes_us(stage, section.turn))


def _chain_us(stage: Stage, section: Section, now_us: int) -> int:
    """How long one section takes alone, its waits included."""
    found = -_spent_us(stage, section, now_us)
    if section.window is not None:
        found += max(0, section.window.opens_us - now_us)
    turns = _turns(stage, section.turn)
    for turn in turns:
        found += _minutes_us(stage, turn)
        wait = wait_after(stage, turn)
        if wait is not None and turn != turns[-1]:
            found += wait[1].opens_s * SECOND_US
    return found


def _hands_us(stage: Stage, left: list[Section], now_us: int) -> int:
    """All work of the stage; a step over all sections counts once."""
    single_us = 0
    together: dict[tuple[int, int, int], int] = {}
    for section in left:
        spent_us = _spent_us(stage, section, now_us)
        for turn in _turns(stage, section.turn):
            minutes_us = _minutes_us(stage, turn) - (spent_us if turn == section.turn else 0)
            if work_of(stage, turn).over == "all":
                key = (turn.pass_, turn.layer, turn.step)
                together[key] = min(minutes_us, together.get(key, minutes_us))
            else:
                single_us += minutes_us
    return single_us + sum(together.values())
