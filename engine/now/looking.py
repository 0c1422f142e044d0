"""Second looks as something to be taken up: which are due, and when there is time for one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.turn import Turn
from cartclock.engine.films.cure import SecondLook, looks
from cartclock.engine.times import Instant

# For a lamp over one section; our own judgement.
LOOK_MINUTES = 0.5


def look_moves(jobs: Iterable[Job], now_us: Instant) -> list[Move]:
    """The looks that are due or late, one move for each layer of a stage, in the jobs' order."""
    return [
        move
        for job in jobs
        for move in _by_layer(job, [look for look in looks(job) if look.opens_us <= now_us])
    ]


def every_look(job: Job) -> list[Move]:
    """The same for all that nobody has looked at, due or not."""
    return _by_layer(job, looks(job))


def _by_layer(job: Job, found: Iterable[SecondLook]) -> list[Move]:
    together: dict[tuple[str, int], list[SecondLook]] = {}
    for look in found:
        together.setdefault((look.stage, look.layer), []).append(look)
    return [_move(job, group) for group in together.values()]


def _move(job: Job, together: Sequence[SecondLook]) -> Move:
    first = together[0]
    names = {name for look in together for name in look.sections}
    sections = tuple(name for name in job.order[first.stage] if name in names)
    return Move(
        "look",
        job.id,
        first.stage,
        sections,
        Turn(layer=first.layer),
        first.say,
        LOOK_MINUTES * len(sections),
        min(look.opens_us for look in together),
        min(look.closes_us for look in together),
        "look",
    )


def time_for(look: Move, wanted_us: Sequence[int], now_us: Instant) -> bool:
    """True if no film wants the hands before the look is over.

    wanted_us: when the films that run want them.
    """
    return all(now_us + round(look.minutes * MINUTE_US) <= us for us in wanted_us)
