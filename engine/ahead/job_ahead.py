"""An open job with what is believed of its work, and what of it is left for the hands."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, log

from msgspec import Struct

from cartclock.engine.ahead.durations import Measured, Today
from cartclock.engine.ahead.play import piece_in_hand
from cartclock.engine.ahead.played import Played, Weights
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import Section
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
        weights: what its panels weigh beside what the plan says, as earlier jobs taught.
        from_shop: whether other carts of the shop taught of it.
        again: what of it the worker left for a break or a call, which goes on first.
    """

    job: Job
    today: Today
    learned: int = 0
    gone_us: Length | None = None
    weights: Weights = {}
    from_shop: bool = False
    again: tuple[Section, ...] = ()


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
    piece = piece_in_hand(one.job, now_us, one.weights)
    if piece is None:
        return None
    if piece.work_us <= 0:
        return 0.0, 0.0
    job = one.job
    gone_us = one.gone_us
    if gone_us is None:
        touched = [job.sections[piece.stage, name].first_us for name in piece.sections]
        gone_us = Length(now_us - min(at for at in (*touched, now_us) if at is not None))
    key = step_of(job.stage(piece.stage), piece.turn)
    return one.today.left_in_hand(key, piece.work_us / MINUTE_US, gone_us / MINUTE_US)


def as_weighed(measured: Measured, job: Job, weights: Weights) -> Measured:
    """What was measured of a job, each step beside what the panels weigh on which it was done: of
    the large ones alone it says less of what is left than it seems to.
    """
    stages = {stage for stage, _panel in weights if stage in job.order}
    stages |= {stage.name for stage in job.stages if stage.weights}
    if not stages or not measured:
        return measured
    done: dict[StepKey, list[float]] = {}
    for stint in job.stints:
        if stint.stage in stages and stint.turn.pass_ == 1:
            panel = job.sections[stint.stage, stint.section].panel
            stage = job.stage(stint.stage)
            weight = stage.weight_of(stint.section) * weights.get((stint.stage, panel), 1.0)
            done.setdefault(step_of(stage, stint.turn), []).append(log(weight))
    # Of a whole stage nothing is taken away: the earlier jobs were measured as they are.
    whole = {
        name: _mean(
            [
                log(job.stage(name).weight_of(one.name) * weights.get((name, one.panel), 1.0))
                for one in job.of(name)
            ]
        )
        for name in stages
    }
    return {
        step: (many, mean - _mean(done[step]) + whole[step[0]]) if step in done else (many, mean)
        for step, (many, mean) in measured.items()
    }


def _mean(found: Sequence[float]) -> float:
    return fsum(found) / len(found) if found else 0.0


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
