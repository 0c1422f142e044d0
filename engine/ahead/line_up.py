"""The pieces of several jobs in the order in which one pair of hands takes them.

The job in front goes first, as SPACE has it, and a job with a film in play is not left. While the
next layer of the job in front has to wait for long, the hands go to the next one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from cartclock.engine.ahead.played import Played
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.times import Instant

# For a gap that is shorter nobody goes to another vehicle. Our own judgement.
LEFT_FOR_US = HOUR_US


def in_focus(jobs: Mapping[str, Job], shift: Shift | None) -> list[Job]:
    """Open jobs, the one touched last in a shift first, then by number."""
    last = ""
    spans = [] if shift is None else shift.spans_to(Instant(shift.since_us + 1))
    for span in reversed(spans):
        if isinstance(span.doing, Hands):
            last = span.doing.job
            break
    return sorted(open_jobs(jobs.values()), key=lambda j: (j.id != last, j.opened.number, j.id))


def line_up(plays: Sequence[Sequence[Played]], now_us: Instant) -> tuple[Played, ...]:
    """All pieces in one order.

    plays: of each job, the one in front first, as played alone from `now_us` on.
    """
    if len(plays) == 1:
        return tuple(plays[0])
    lined: list[Played] = []
    ends_us: list[int] = []
    # Of each job: how many of its pieces are lined up, where they stand, and which lay a film.
    taken = [0] * len(plays)
    places: list[list[int]] = [[] for _ in plays]
    wet: list[set[int]] = [set() for _ in plays]
    at_us: int = now_us

    def ready_us(which: int) -> int:
        piece = plays[which][taken[which]]
        waits = [at_us, *(ends_us[places[which][i]] + piece.wait_us for i in piece.after)]
        return max(waits if piece.not_before_us is None else [*waits, piece.not_before_us])

    while left := [i for i, pieces in enumerate(plays) if taken[i] < len(pieces)]:
        in_play = [i for i in left if wet[i]]
        near = [i for i in left if not plays[i][taken[i]].gap or ready_us(i) - at_us < LEFT_FOR_US]
        which = next(iter([*in_play, *near]), None)
        if which is None:
            which = min(left, key=ready_us)
        piece = plays[which][taken[which]]
        start_us = ready_us(which)
        own = places[which]
        lined.append(replace(piece, after=tuple(own[i] for i in piece.after)))
        wet[which].difference_update(piece.after)
        if piece.lays:
            wet[which].add(taken[which])
        own.append(len(lined) - 1)
        at_us = start_us + piece.end_us - piece.start_us
        ends_us.append(at_us)
        taken[which] += 1
    return tuple(lined)
