"""What a job teaches: how long each step took each worker, as few numbers that can be added up.

Times are looked at by their logarithms: a step takes half or double as easily, and the mean of the
logarithms is not moved much by the one panel that took an hour. What is not learned from:

- work that was filled in afterwards with times shared out evenly, that is done again, or that
  several workers had in hand (`engine.hours.usual.timed`);
- a film that nobody looked at until it was ready (`engine.films.flashing.watched_flashes`): that
  its time had run out says nothing of the film. Hands on it count like all others.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import exp, fsum, log

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.usual import LEAST_MEASURED, StepKey, Timed, Usual, timed
from cartclock.engine.times import Instant

# A shorter piece was a slip of the finger; its logarithm would outweigh all others. Our own
# judgement.
LEAST_SECONDS = 1.0


class Lesson(Struct, frozen=True):
    """What the measured pieces of one step of a job came to for one worker.

    Fields:
        worker: whose hands.
        step: what was done.
        planned_s: what the plan of that job gives a piece, seconds, the geometric mean; 0.0 if it
            says nothing.
        n: measured pieces, > 0.
        ln_seconds: mean of the natural logarithms of their seconds.
        ln_variance: mean square of what those deviate from it, >= 0.
        seconds: all of them together, > 0.
        last_us: when the last was finished.
    """

    worker: str
    step: StepKey
    planned_s: float
    n: int
    ln_seconds: float
    ln_variance: float
    seconds: float
    last_us: Instant

    @property
    def ln_ratio(self) -> float | None:
        """Mean of ln(taken / planned); None if the plan says nothing."""
        return self.ln_seconds - log(self.planned_s) if self.planned_s > 0 else None


class PanelLesson(Struct, frozen=True):
    """How much longer or shorter a section of one panel took a worker than the sections of its
    stage in that job.

    Fields:
        worker: whose hands.
        stage, panel: where.
        n: measured pieces, > 0.
        ln_ratio: mean of ln(seconds / what the same step took on average in that job).
    """

    worker: str
    stage: str
    panel: str
    n: int
    ln_ratio: float


class JobLessons(Struct, frozen=True):
    """What one job taught one worker.

    Fields:
        job: its UUID.
        plan: the name of its plan.
        shape: the body of the vehicle (`engine.plan.shapes.SHAPES`); "" if the plan tells none.
        last_us: when the worker finished a measured piece of it last.
        lessons: a step each, by stage, verb and number.
    """

    job: str
    plan: str
    shape: str
    last_us: Instant
    lessons: tuple[Lesson, ...]

    @property
    def measured(self) -> dict[StepKey, tuple[int, float]]:
        """Of each step with planned minutes: measured pieces, mean of ln(taken / planned)."""
        return {
            one.step: (one.n, ratio) for one in self.lessons if (ratio := one.ln_ratio) is not None
        }


def lessons(job: Job, shifts: Iterable[Shift]) -> tuple[Lesson, ...]:
    """What a job taught each of its workers, by worker and step.

    shifts: those in which the job was worked, whole.
    """
    return added_up(timed(job, shifts))


def added_up(pieces: Iterable[Timed]) -> tuple[Lesson, ...]:
    """Measured pieces of one job by worker and step."""
    by_step: dict[tuple[str, StepKey], list[Timed]] = {}
    for piece in pieces:
        by_step.setdefault((piece.worker, piece.step), []).append(piece)
    return tuple(_lesson(worker, step, found) for (worker, step), found in sorted(by_step.items()))


def by_panel(pieces: Iterable[Timed]) -> tuple[PanelLesson, ...]:
    """Measured pieces of one job by worker, stage and panel, beside the same step elsewhere.

    Of a step that was done on one panel alone nothing can be said.
    """
    by_step: dict[tuple[str, StepKey], list[Timed]] = {}
    for piece in pieces:
        if piece.panel:
            by_step.setdefault((piece.worker, piece.step), []).append(piece)
    found: dict[tuple[str, str, str], list[float]] = {}
    for (worker, step), same in by_step.items():
        if len({piece.panel for piece in same}) < 2:
            continue
        logs = [log(max(piece.seconds, LEAST_SECONDS)) for piece in same]
        mean = fsum(logs) / len(logs)
        for piece, one in zip(same, logs, strict=True):
            found.setdefault((worker, step[0], piece.panel), []).append(one - mean)
    return tuple(
        PanelLesson(*where, len(ratios), fsum(ratios) / len(ratios))
        for where, ratios in sorted(found.items())
    )


def _lesson(worker: str, step: StepKey, found: list[Timed]) -> Lesson:
    logs = [log(max(one.seconds, LEAST_SECONDS)) for one in found]
    n, mean = len(logs), fsum(logs) / len(logs)
    return Lesson(
        worker=worker,
        step=step,
        planned_s=_planned_s(found),
        n=n,
        ln_seconds=mean,
        ln_variance=fsum((one - mean) ** 2 for one in logs) / n,
        seconds=fsum(one.seconds for one in found),
        last_us=max(one.at_us for one in found),
    )


def _planned_s(found: Sequence[Timed]) -> float:
    told = {one.planned_s for one in found}
    if len(told) == 1 or min(told) <= 0:
        return min(told)
    return exp(fsum(log(one.planned_s) for one in found) / len(found))


def usual(found: Iterable[Lesson]) -> Usual | None:
    """What a step usually takes by the lessons of several jobs; None if too little was measured."""
    weighed = [(one.n, one.ln_seconds) for one in found]
    n = sum(many for many, _mean in weighed)
    if n < LEAST_MEASURED:
        return None
    return Usual(exp(fsum(many * mean for many, mean in weighed) / n), n)
