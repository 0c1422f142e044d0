"""The pieces of several jobs in the order in which one pair of hands takes them.

The job in front goes first, as SPACE has it, and a job with a film in play is not left. While the
next layer of the job in front has to wait for long, the hands go to the next one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from operator import itemgetter

from msgspec.structs import replace

from cartclock.engine.ahead.played import Played
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.section import Section
from cartclock.engine.facts.shift import Doing, Free, Hands, Shift
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


def left_for_other(jobs: Mapping[str, Job], shift: Shift) -> tuple[Section, ...]:
    """What this worker had in hand last and left for a break or other work, as one; empty if it was
    finished, is in other hands, or was put down for its own sake.
    """
    then: Doing = Free()
    for span in reversed(shift.spans_to(Instant(shift.since_us + 1))):
        if isinstance(span.doing, Hands):
            hands, job = span.doing, jobs.get(span.doing.job)
            if job is None or job.state != "open" or isinstance(then, Free):
                return ()
            there = (job.sections.get((hands.stage, name)) for name in hands.sections)
            return tuple(
                one for one in there if one and one.state == "held" and one.turn == hands.turn
            )
        then = span.doing
    return ()


class LineUp:
    """All pieces in one order, lined up as far as they are asked for: while the job in front waits
    for nothing long, the next one is not looked at.

    Args:
        plays: of each job, the one in front first, as played alone from `now_us` on.
    """

    def __init__(self, plays: Sequence[Iterable[Played]], now_us: Instant) -> None:
        self._plays = [iter(pieces) for pieces in plays]
        self._pieces: list[Played] = []
        self._ends_us: list[int] = []
        self._at_us: int = now_us
        # Of each job: its next piece as far as it was looked at, where those before it stand, and
        # which of them lay a film that is in play.
        self._next: dict[int, Played | None] = {}
        self._places: list[list[int]] = [[] for _ in plays]
        self._wet: list[set[int]] = [set() for _ in plays]

    def up_to(self, which: int) -> Sequence[Played]:
        """The pieces up to the last one of a job, which is told by its place in `plays`."""
        if len(self._plays) == 1:
            return self.whole()
        while self._front(which) is not None:
            self._take_next()
        places = self._places[which]
        return self._pieces[: places[-1] + 1] if places else ()

    def whole(self) -> Sequence[Played]:
        """All pieces."""
        if len(self._plays) == 1:
            # One job is in its order already.
            self._pieces.extend(self._plays[0])
        while self._take_next():
            pass
        return self._pieces

    def _front(self, which: int) -> Played | None:
        """What is next of a job."""
        if which not in self._next:
            self._next[which] = next(self._plays[which], None)
        return self._next[which]

    def _ready_us(self, which: int, piece: Played) -> int:
        start_us, wait_us = self._at_us, piece.wait_us - piece.cut_us
        for i in piece.after:
            start_us = max(start_us, self._ends_us[self._places[which][i]] + wait_us)
        return start_us if piece.not_before_us is None else max(start_us, piece.not_before_us)

    def _first(self) -> tuple[int, Played, int] | None:
        """What is taken next, of which job, and when; None if nothing is left."""
        asleep: list[tuple[int, Played, int]] = []
        # A film in play first, then what waits for nothing long, then what waits least.
        for which in sorted(range(len(self._plays)), key=lambda i: not self._wet[i]):
            piece = self._front(which)
            if piece is None:
                continue
            start_us = self._ready_us(which, piece)
            if self._wet[which] or not piece.gap or start_us - self._at_us < LEFT_FOR_US:
                return which, piece, start_us
            asleep.append((which, piece, start_us))
        return min(asleep, key=itemgetter(2), default=None)

    def _take_next(self) -> bool:
        """Lines up one piece more; False if nothing is left."""
        found = self._first()
        if found is None:
            return False
        which, piece, start_us = found
        places, wet = self._places[which], self._wet[which]
        after = tuple([places[i] for i in piece.after])
        self._pieces.append(piece if after == piece.after else replace(piece, after=after))
        if piece.after:
            wet.difference_update(piece.after)
        if piece.lays:
            wet.add(len(places))
        places.append(len(self._ends_us))
        self._at_us = start_us + piece.end_us - piece.start_us
        self._ends_us.append(self._at_us)
        del self._next[which]
        return True
