"""An open job with what is believed of its work, and what of it is left for the hands."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.ahead.durations import Today
from cartclock.engine.ahead.play import Played, play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.turn import Turn
from cartclock.engine.hours.usual import StepKey, step_of, work_steps
from cartclock.engine.times import Instant, Length


class JobAhead(Struct, frozen=True, eq=False):
    """An open job with what is believed of its work.

    Fields:
        job: its fold.
        today: what is believed of the rest of it.
        learned: from how many earlier jobs of this worker; 0: from the plan only.
        gone_us: how long the hands were on what is in hand; None: since its first touch.
    """

    job: Job
    today: Today
    learned: int = 0
    gone_us: Length | None = None


def steps_of(job: Job) -> tuple[StepKey, ...]:
    """The kinds of work steps of a job's plan, each once."""
    found = (key for stage in job.stages for _index, _work, key in work_steps(stage))
    return tuple(dict.fromkeys(found))


def factors_of(one: JobAhead) -> dict[tuple[str, int], float]:
    """(stage, step) -> by how much its work is expected to take longer than planned."""
    return {
        (stage.name, index): one.today.expected(key)
        for stage in one.job.stages
        for index, _work, key in work_steps(stage)
    }


def left_in_hand(one: JobAhead, now_us: Instant) -> tuple[float, float] | None:
    """What is left of what is in hand, in minutes and their square; None if nothing is."""
    if not any(section.state == "in hand" for section in one.job.sections.values()):
        return None
    played = play(one.job, now_us, hands_gone_us=0, ahead_us=0)
    if not played or not played[0].in_hand:
        return None
    piece = played[0]
    if piece.work_us <= 0:
        return 0.0, 0.0
    job = one.job
    gone_us = one.gone_us
    if gone_us is None:
        touched = [job.sections[piece.stage, name].first_us for name in piece.sections]
        gone_us = Length(now_us - min(at for at in (*touched, now_us) if at is not None))
    key = step_of(job.stage(piece.stage), piece.turn)
    return one.today.left_in_hand(key, piece.work_us / MINUTE_US, gone_us / MINUTE_US)


def by_step(job: Job, pieces: Sequence[Played]) -> list[tuple[StepKey, float, int]]:
    """Step, planned minutes of one piece, how many, of what is left beside what is in hand."""
    counts: dict[tuple[str, int, float], int] = {}
    for piece in pieces:
        if not piece.in_hand and piece.work_us > 0:
            one = piece.work_us / MINUTE_US / piece.units
            key = (piece.stage, piece.turn.step, one)
            counts[key] = counts.get(key, 0) + piece.units
    return [
        (step_of(job.stage(stage), Turn(1, 1, step)), minutes, many)
        for (stage, step, minutes), many in counts.items()
    ]
