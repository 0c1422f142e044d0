"""One go at a layer: since when the work on it and its films follow each other, and what is left.

A wave begins with the first film that is laid after a pause and lasts while one work step or wait
of the layer follows the other. What was measured before it began holds until it ends. A film that
is put down ends it.
"""

from __future__ import annotations

from collections.abc import Mapping

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.plan.plan import Work
from cartclock.engine.times import Instant

Factors = Mapping[tuple[str, int], float]
"""Stage and step of a plan -> expected over planned length; 1 where it is not named."""

PLANNED: Factors = {}
"""Every step takes as long as planned."""

# A look at what was laid, a towel, a drink: so long a pause does not end a wave. Our own judgement.
PAUSE_US = 5 * MINUTE_US


def as_planned(_job_id: str) -> Factors:
    """The work of every job takes as long as planned."""
    return PLANNED


def wave_since_us(job: Job, stage_name: str, layer: int, now_us: Instant) -> Instant | None:
    """When the wave began that runs on a layer of a stage; None if none does.

    Raises KeyError if the job has no such stage.
    """
    held = any(s.state == "held" for s in job.of(stage_name) if s.turn.layer == layer)
    return None if held else wave_then_us(job, stage_name, layer, now_us)


def wave_then_us(job: Job, stage_name: str, layer: int, at_us: Instant) -> Instant | None:
    """When the wave began that ran at an earlier instant; None if none did.

    A film that was put down in it and gone on with later counts as one that went on: at the gate
    it was asked about. Raises KeyError if the job has no such stage.
    """
    spans = [
        (stint.first_us, stint.last_us)
        for stint in job.stints
        if (stint.stage, stint.turn.layer) == (stage_name, layer)
    ]
    spans += [
        (window.first_us, at_us if window.ended_us is None else window.ended_us)
        for window in (*job.windows, *job.films)
        if (window.stage, window.turn.layer) == (stage_name, layer) and window.kind != "gap"
    ]
    spans += [
        (section.first_us, at_us)
        for section in job.of(stage_name)
        if section.turn.layer == layer
        and section.state == "in hand"
        and section.first_us is not None
    ]
    spans = [(first_us, min(last_us, at_us)) for first_us, last_us in spans if first_us < at_us]
    since_us = at_us
    # Backwards by their ends, as long as each one reaches what is known already.
    for first_us, last_us in sorted(spans, key=lambda span: span[1], reverse=True):
        if since_us - last_us > PAUSE_US:
            break
        since_us = min(since_us, first_us)
    return since_us if since_us < at_us else None


def wave_minutes(job: Job, stage_name: str, layer: int, factors: Factors = PLANNED) -> float:
    """Minutes of work that a layer is expected to take still, waits left out: others fill them.

    Raises KeyError if the job has no such stage.
    """
    stage = job.stage(stage_name)
    left = [s for s in job.of(stage_name) if not s.over and s.turn.layer == layer]
    total = 0.0
    for index, step in enumerate(stage.steps):
        if isinstance(step, Work):
            there = [one.name for one in left if one.turn.step <= index]
            if there:
                total += stage.minutes_of(step, there) * factors.get((stage_name, index), 1.0)
    return total
