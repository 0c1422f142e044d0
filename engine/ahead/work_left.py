"""What is left of the open jobs for one pair of hands, lined up by how long it takes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property
from math import sqrt

from msgspec.structs import replace

from cartclock.engine.ahead.durations import Sum, sum_of
from cartclock.engine.ahead.job_ahead import JobAhead, by_step, factors_of, left_in_hand
from cartclock.engine.ahead.line_up import LineUp
from cartclock.engine.ahead.play import Woken, played_on
from cartclock.engine.ahead.played import Played
from cartclock.engine.body.exposure import hardest_effort
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.films.waves import Factors
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Instant, Length

# How much the lengths of two jobs hang together: one pair of hands, one day. Our own judgement.
JOBS_ALIKE = 0.5
# Of what was put down so much is left at least, a share of the plan. Our own judgement.
LEAST_LEFT = 0.1


class WorkLeft:
    """What is left of jobs as of an instant.

    Args:
        jobs: the open ones, the one in front first.
        woken: tells of the nights from an instant on; None: there are none.
    """

    def __init__(
        self,
        jobs: Sequence[JobAhead],
        now_us: Instant,
        woken: Callable[[Instant], Woken] | None = None,
    ) -> None:
        self._jobs, self._now_us, self._woken = jobs, now_us, woken
        self._at = {one.job.id: i for i, one in enumerate(jobs)}
        self._lines: dict[float, LineUp] = {}
        self._sums: dict[str, Sum] = {}
        self._efforts: dict[tuple[str, str, tuple[str, ...]], Effort] = {}

    def as_of(self, now_us: Instant) -> WorkLeft:
        """The same as of another instant, told anew only where the clock makes it another: where
        something is in hand, put down or waited for. The instants of its pieces may be those of
        another beginning.
        """
        todo = all(
            section.over or section.state == "todo"
            for one in self._jobs
            for section in one.job.sections.values()
        )
        return self if todo else WorkLeft(self._jobs, now_us, self._woken)

    def up_to(self, job_id: str, scale: float = 1.0) -> Sequence[Played]:
        """The pieces up to the last one of a job.

        scale: of all lengths expected, by which they are played.
        """
        return self._line(scale).up_to(self._at[job_id])

    @property
    def last_job(self) -> str:
        """The job of which the last piece is expected; "" if nothing is left."""
        pieces = self._line(1.0).whole()
        return pieces[-1].job if pieces else ""

    def lengths(self, pieces: Sequence[Played], scale: float) -> list[int]:
        """Lengths of the pieces; what is in hand is played as long as it takes already."""
        found = []
        for piece in pieces:
            factor = self._factors[self._at[piece.job]].get((piece.stage, piece.turn.step), 1.0)
            found.append(round(piece.work_us * (1.0 if piece.in_hand else factor * scale)))
        return found

    def sum_up_to(self, job_id: str) -> Sum:
        """How long all work up to the end of a job takes, in minutes."""
        if job_id not in self._sums:
            self._sums[job_id] = self.sum_of(self.up_to(job_id))
        return self._sums[job_id]

    def sum_of(self, pieces: Sequence[Played]) -> Sum:
        """How long some of it takes, in minutes."""
        parts = []
        for i, one in enumerate(self._jobs):
            own = [p for p in pieces if p.job == one.job.id]
            if own:
                rest = self._in_hand[i] if own[0].in_hand else None
                parts.append(sum_of(one.today, by_step(one.job, own), rest))
        return _together(parts)

    def effort(self, piece: Played) -> Effort:
        """How hard a piece is."""
        key = piece.job, piece.stage, piece.sections
        effort = self._efforts.get(key)
        if effort is None:
            job = self._jobs[self._at[piece.job]].job
            effort = self._efforts[key] = hardest_effort(job, piece.stage, piece.sections)
        return effort

    @cached_property
    def _factors(self) -> list[Factors]:
        return [factors_of(one) for one in self._jobs]

    @cached_property
    def _put_down(self) -> set[str]:
        """The jobs of which something was put down."""
        return {
            one.job.id
            for one in self._jobs
            if any(section.state == "held" for section in one.job.sections.values())
        }

    @cached_property
    def _in_hand(self) -> list[tuple[float, float] | None]:
        return [left_in_hand(one, self._now_us) for one in self._jobs]

    def _line(self, scale: float) -> LineUp:
        """The pieces of all jobs."""
        if scale not in self._lines:
            self._lines[scale] = self._played(scale)
        return self._lines[scale]

    def _played(self, scale: float) -> LineUp:
        plays = []
        for one, factors, rest in zip(self._jobs, self._factors, self._in_hand, strict=True):
            pieces = played_on(
                one.job,
                self._now_us,
                factors={key: factor * scale for key, factor in factors.items()},
                in_hand_us=None if rest is None else round(rest[0] * scale * MINUTE_US),
                weights=one.weights,
                woken=None if self._woken is None else self._woken(self._now_us),
                again=one.again,
            )
            plays.append(map(self._begun_already, pieces))
        return LineUp(plays, self._now_us)

    def _begun_already(self, piece: Played) -> Played:
        """What was put down has what was done of it behind it."""
        if piece.job not in self._put_down:
            return piece
        job = self._jobs[self._at[piece.job]].job
        sections = [job.sections[piece.stage, name] for name in piece.sections]
        if piece.in_hand or not any(one.state == "held" for one in sections):
            return piece
        # The hands went from one to the next of what one press took up.
        done_us = max(
            (
                one.worked_us(self._now_us)
                for one in sections
                if one.state == "held" and one.turn == piece.turn
            ),
            default=0,
        )
        least_us = round(piece.work_us * LEAST_LEFT)
        return replace(piece, work_us=Length(max(least_us, piece.work_us - done_us)))


def _together(parts: Sequence[Sum]) -> Sum:
    """Several jobs as one."""
    if len(parts) == 1:
        return parts[0]
    mean = sum(one.mean for one in parts)
    if mean <= 0:
        return Sum(0.0, 0.0)
    spreads = [one.mean * one.sigma for one in parts]
    own = sum(spread**2 for spread in spreads)
    variance = own + JOBS_ALIKE * (sum(spreads) ** 2 - own)
    return Sum(mean, sqrt(variance) / mean)
