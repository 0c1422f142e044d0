"""What made a job later than its plan so far: the largest causes of a slip."""

from __future__ import annotations

from collections.abc import Mapping
from math import exp

from msgspec import Struct

from cartclock.engine.ahead.durations import Measured
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.partition import partition
from cartclock.engine.hours.usual import StepKey, work_steps
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.times import Instant, Length

# What took less is no cause, and so many are named. Our own judgement.
LEAST_US = 5 * MINUTE_US
MOST_CAUSES = 4

_BREAKS = {"rest": "rests", "heat": "rests by the heat", "meal": "meals", "away": "away"}


class Cause(Struct, frozen=True):
    """What took time, and how much."""

    what: str
    length_us: Length


def causes(
    job: Job, jobs: Mapping[str, Job], shift: Shift | None, measured: Measured, now_us: Instant
) -> tuple[Cause, ...]:
    """The largest causes, the longest first: what in this shift was no hands on the job since they
    were first on it, and by how much its stages took longer than planned.

    Args:
        measured: what was measured of the job.
    """
    found: dict[str, float] = {}
    pieces = [] if shift is None else partition(shift, jobs, now_us)
    first_us = next((p.start_us for p in pieces if p.kind == "hands" and p.job == job.id), now_us)
    for piece in pieces:
        if piece.start_us < first_us:
            continue
        match piece.kind:
            case "break":
                what = _BREAKS.get(piece.what, piece.what)
            case "other":
                what = piece.what
            case "standing by":
                what = "standing by"
            case "hands" if piece.job != job.id:
                what = "other jobs"
            case _:
                continue
        found[what] = found.get(what, 0.0) + piece.length_us
    for stage in job.stages:
        over = sum(_over_us(measured, stage, key, work) for _index, work, key in work_steps(stage))
        found[f"{stage.name} over its plan"] = over
    told = [Cause(what, Length(round(took))) for what, took in found.items() if took >= LEAST_US]
    return tuple(sorted(told, key=lambda one: -one.length_us)[:MOST_CAUSES])


def _over_us(measured: Measured, stage: Stage, key: StepKey, work: Work) -> float:
    many, mean = measured.get(key, (0, 0.0))
    return many * stage.usual_minutes(work) * (exp(mean) - 1) * MINUTE_US
