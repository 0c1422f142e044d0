"""How the hands on a job were kept from it: other work and rests of the worker's own.

Meals and rests called for by the heat are reckoned by themselves; they are no interruptions here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import fsum

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.partition import Piece, partition, told_to_us
from cartclock.engine.times import Length


class Interruption(Struct, frozen=True):
    """One kind of interruption of one worker in one job.

    Fields:
        worker: whose.
        what: kind of other work, or "rest" for a rest of the worker's own.
        count: how often, > 0.
        length_us: all together.
        squares_min2: sum of the squares of the lengths, minutes squared.
    """

    worker: str
    what: str
    count: int
    length_us: Length
    squares_min2: float


class Interruptions(Struct, frozen=True):
    """How the hands on a job were kept from it.

    Fields:
        hands_us: worker -> hands on the job.
        kinds: by worker and kind.
    """

    hands_us: Mapping[str, Length]
    kinds: tuple[Interruption, ...]

    def of(self, worker: str) -> Interrupted | None:
        """One worker's, added up; None if that worker never had the job in hand."""
        if worker not in self.hands_us:
            return None
        kinds = [one for one in self.kinds if one.worker == worker]
        return Interrupted(
            1,
            self.hands_us[worker],
            Length(sum(one.length_us for one in kinds)),
            fsum(one.squares_min2 for one in kinds),
        )


class Interrupted(Struct, frozen=True):
    """One worker's interruptions over jobs, added up.

    Fields:
        jobs: how many jobs that worker had in hand.
        hands_us: hands on them.
        length_us: interruptions.
        squares_min2: sum of the squares of their lengths, minutes squared.
    """

    jobs: int
    hands_us: Length
    length_us: Length
    squares_min2: float


def over_jobs(found: Iterable[Interrupted]) -> Interrupted:
    """One worker's interruptions over all of these jobs."""
    every = list(found)
    return Interrupted(
        sum(one.jobs for one in every),
        Length(sum(one.hands_us for one in every)),
        Length(sum(one.length_us for one in every)),
        fsum(one.squares_min2 for one in every),
    )


def interruptions(job: Job, shifts: Iterable[Shift]) -> Interruptions:
    """The interruptions of a job.

    shifts: those in which the job was worked, whole. What names no job is of the job that was in
    hand before it in its shift, or of the first one of the shift.
    """
    hands: dict[str, int] = {}
    found: dict[tuple[str, str], list[int]] = {}
    for shift in shifts:
        # Without jobs nothing is stood by, and hands and other work are what they are.
        pieces = partition(shift, {}, told_to_us(shift))
        for piece, whose in zip(pieces, _whose(pieces), strict=True):
            if whose != job.id:
                continue
            if piece.kind == "hands":
                hands[shift.worker] = hands.get(shift.worker, 0) + piece.length_us
            elif piece.kind == "other" or (piece.kind, piece.what) == ("break", "rest"):
                found.setdefault((shift.worker, piece.what), []).append(piece.length_us)
    return Interruptions(
        {worker: Length(hands[worker]) for worker in sorted(hands)},
        tuple(
            Interruption(
                worker,
                what,
                len(lengths),
                Length(sum(lengths)),
                fsum((one / MINUTE_US) ** 2 for one in lengths),
            )
            for (worker, what), lengths in sorted(found.items())
        ),
    )


def _whose(pieces: Sequence[Piece]) -> list[str]:
    """The job that each piece of a shift keeps the hands from; "" if the shift has none."""
    last = next((piece.job for piece in pieces if piece.job), "")
    found = []
    for piece in pieces:
        if piece.kind == "hands":
            last = piece.job
        found.append(piece.job or last)
    return found
