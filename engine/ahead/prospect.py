"""What is ahead of one pair of hands: when each job will be done, and what would help.

The plan is played forward with the lengths expected, and anew with those of four days in five:
where work takes longer other films fit between. Then rests, meals, nights and other work are put
in. Nothing is drawn at random.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import erf, sqrt
from typing import NamedTuple

from msgspec.structs import replace

from cartclock.engine.after.aftercare import last_touch
from cartclock.engine.after.handover import not_before_us
from cartclock.engine.ahead.day_ahead import DayAhead
from cartclock.engine.ahead.durations import Z80, Sum
from cartclock.engine.ahead.finish import Finish, Help, Part, PartOf, PromiseKept, StageAhead
from cartclock.engine.ahead.job_ahead import JobAhead
from cartclock.engine.ahead.played import Played
from cartclock.engine.ahead.reckon import Reckoned, reckon
from cartclock.engine.ahead.work_left import WorkLeft
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.turn import Turn
from cartclock.engine.times import Instant, Length

# What saves less is not named. Our own judgement.
WORTH_US = 10 * MINUTE_US
_TONIGHT = "going on tonight"
# Beyond these no day is told from another, and so often the middle is taken.
_FURTHEST_Z = 3.0
_HALVINGS = 8


class _Level(NamedTuple):
    """All that is left up to the end of one job, and how long it takes in one share of days."""

    pieces: Sequence[Played]
    lengths: Sequence[int]


class _Course(NamedTuple):
    """The same in time, as it is expected, with when each day after a night begins."""

    level: _Level
    found: list[Reckoned]
    mornings: tuple[Instant, ...]
    parts: dict[PartOf, int]


class _Morning(NamedTuple):
    """What is left behind the last night, by where its pieces begin, and by how much it is longer
    in a share of days: beside less work the chance of single pieces is more.
    """

    pieces: frozenset[tuple[str, str, Turn, str]]
    scale: Callable[[float], float]


class InTime(NamedTuple):
    """Pieces of work in time, in order, what lies between the hands and them, and when each day
    after a night begins.
    """

    pieces: tuple[tuple[Played, Reckoned], ...]
    parts: Mapping[PartOf, int]
    mornings: tuple[Instant, ...]


class Prospect:
    """What is ahead of one pair of hands as of an instant.

    Args:
        jobs: the open ones, the one in front first.
        around: what lies around the work.
        now_us: job time.
        work: what is left of these jobs as of then; None: it is found.
    """

    def __init__(
        self,
        jobs: Sequence[JobAhead],
        around: DayAhead,
        now_us: Instant,
        work: WorkLeft | None = None,
    ) -> None:
        self.jobs, self.around, self.now_us = jobs, around, now_us
        self._work = WorkLeft(jobs, now_us, around.woken) if work is None else work
        self._at = {one.job.id: i for i, one in enumerate(jobs)}
        self._courses: dict[str, _Course] = {}
        self._mornings: dict[str, _Morning | None] = {}
        self._found: dict[str, Finish] = {}
        self._ready: dict[tuple[str, float], Instant] = {}
        self._anew: dict[tuple[str, float], _Level] = {}

    def _scale(self, job_id: str, z: float) -> float:
        learned = self.jobs[self._at[job_id]].learned
        return self.around.scale(self._work.sum_up_to(job_id), z, self.now_us, learned)

    def _played_anew(self, job_id: str, z: float) -> _Level:
        """What is left up to the end of a job, played with the lengths of a share of days."""
        if (job_id, z) not in self._anew:
            self._anew[job_id, z] = self._level(job_id, z, anew=True)
        return self._anew[job_id, z]

    def _level(self, job_id: str, z: float, anew: bool) -> _Level:
        """anew: played with these lengths; else in the order of those expected."""
        scale = self._scale(job_id, z)
        pieces = self._work.up_to(job_id, scale if anew else 1.0)
        lengths = self._work.lengths(pieces, scale)
        if not anew and pieces and pieces[0].in_hand:
            lengths[0] = round(lengths[0] * scale)
        morning = self._last_morning(job_id) if z else None
        if morning is not None:
            further = morning.scale(z) / morning.scale(0.0) * self._scale(job_id, 0.0) / scale
            for i, piece in enumerate(pieces):
                if _begins(piece) in morning.pieces:
                    lengths[i] = round(lengths[i] * further)
        return _Level(pieces, lengths)

    def _last_morning(self, job_id: str) -> _Morning | None:
        """What is expected to be left of a job on the last morning; None without a night in it."""
        if job_id not in self._mornings:
            course = self._course(job_id)
            self._mornings[job_id] = self._left_on(job_id, course) if course.mornings else None
        return self._mornings[job_id]

    def _left_on(self, job_id: str, course: _Course) -> _Morning:
        morning_us, around = course.mornings[-1], self.around
        pieces = [
            piece
            for piece, one in zip(course.level.pieces, course.found, strict=True)
            if one.begun_us >= morning_us
        ]
        meals = sum(morning_us <= one.at_us < course.found[-1].end_us for one in around.pauses)
        then = replace(around, on_us=morning_us, meals=meals, behind_night=True)
        learned, left = self.jobs[self._at[job_id]].learned, self._work.sum_of(pieces)

        def scale(z: float) -> float:
            return then.scale(left, z, morning_us, learned)

        return _Morning(frozenset(map(_begins, pieces)), scale)

    def _course(self, job_id: str) -> _Course:
        """All that is left up to the end of a job, in time as it is expected."""
        if job_id not in self._courses:
            level = self._level(job_id, 0.0, anew=False)
            self._courses[job_id] = _Course(level, *self._reckoned(level, self.around))
        return self._courses[job_id]

    def _reckoned(
        self, level: _Level, around: DayAhead
    ) -> tuple[list[Reckoned], tuple[Instant, ...], dict[PartOf, int]]:
        pieces, lengths, now_us = level.pieces, level.lengths, self.now_us
        effort = None if around.heat is None else self._work.effort
        calendar = around.calendar(now_us)
        found = reckon(pieces, now_us, lengths, calendar, effort)
        taken = calendar.taken
        waits = gaps = 0
        for piece, one in zip(pieces, found, strict=True):
            if piece.gap:
                gaps += one.start_us - one.free_us
            else:
                waits += one.start_us - one.free_us
        parts: dict[PartOf, int] = {
            "waits": waits,
            "gaps": gaps,
            "nights": taken.nights_us,
            "rests by the heat": taken.rests_us,
            "meals": taken.meals_us,
            "other work": taken.other_us,
        }
        return found, tuple(calendar.overnight), parts

    def ready_us(self, job_id: str, z: float = 0.0) -> Instant | None:
        """When a job may be handed over in a share of days given by z (0: as expected), by the
        order that is expected; None if it is not among those ahead.
        """
        if job_id not in self._at:
            return None
        if (job_id, z) not in self._ready:
            job = self.jobs[self._at[job_id]].job
            level, found = self._in_order(job_id, z)
            done_us = found[-1].end_us if found else self.now_us
            ends = _ends(job_id, level.pieces, found)
            self._ready[job_id, z] = _ready_us(job, done_us, ends)
        return self._ready[job_id, z]

    def stage_done_us(self, job_id: str, stage: str, z: float = 0.0) -> Instant | None:
        """When a stage of a job is done in a share of days given by z, by the order that is
        expected; None if nothing of it is left.
        """
        if job_id not in self._at:
            return None
        level, found = self._in_order(job_id, z)
        return _ends(job_id, level.pieces, found).get(stage)

    def _in_order(self, job_id: str, z: float) -> tuple[_Level, Sequence[Reckoned]]:
        """What is left up to the end of a job, in time, by the order that is expected."""
        if not z:
            course = self._course(job_id)
            return course.level, course.found
        level = self._level(job_id, z, anew=False)
        return level, self._reckoned(level, self.around)[0]

    def needs_us(self, job_id: str) -> Length:
        """How long a job is expected to take when nothing but its own work and its films are left
        to wait for: without nights, and without gaps, which may be over by then; 0 for one that is
        not ahead.
        """
        if job_id not in self._at:
            return Length(0)
        level = self._level(job_id, 0.0, anew=False)
        around = replace(self.around, work_day=None)
        found, _mornings, parts = self._reckoned(level, around)
        return Length(found[-1].end_us - self.now_us - parts["gaps"] if found else 0)

    def finish(self, job_id: str) -> Finish | None:
        """When a job is done; None if it is not among those ahead."""
        if job_id not in self._at:
            return None
        if job_id not in self._found:
            self._found[job_id] = self._finish(job_id)
        return self._found[job_id]

    def _finish(self, job_id: str) -> Finish:
        one = self.jobs[self._at[job_id]]
        job, now_us = one.job, self.now_us
        middle, expected, mornings, parts = self._course(job_id)
        late = self._played_anew(job_id, Z80)
        slow, _mornings, _parts = self._reckoned(late, self.around)
        soon = self._played_anew(job_id, -Z80)
        early, _mornings, _parts = self._reckoned(soon, self.around)
        done_us = Instant(expected[-1].end_us if expected else now_us)
        # With other lengths other films fit between: longer ones may end sooner by a little, and
        # shorter ones sooner than the order that is expected lets them.
        by_us = Instant(max(done_us, slow[-1].end_us if slow else now_us))
        hardly_us = Instant(min(done_us, early[-1].end_us if early else now_us))
        stages, hands_us, others_us = [], 0, 0
        ends = _ends(job_id, middle.pieces, expected)
        ends_late = _ends(job_id, late.pieces, slow)
        for piece, length_us in zip(middle.pieces, middle.lengths, strict=True):
            if piece.job == job_id:
                hands_us += length_us
            else:
                others_us += length_us
        for stage in job.stages:
            if stage.name in ends:
                own_us = sum(
                    length_us
                    for piece, length_us in zip(middle.pieces, middle.lengths, strict=True)
                    if (piece.job, piece.stage) == (job_id, stage.name)
                )
                stage_by = max(ends[stage.name], ends_late.get(stage.name, now_us))
                stages.append(
                    StageAhead(stage.name, Length(own_us), ends[stage.name], Instant(stage_by))
                )
        ready_us = _ready_us(job, done_us, ends)
        ready_by_us = _ready_us(job, by_us, ends_late)
        parts = {**parts, "other jobs": others_us, "cure": ready_us - done_us}
        told = [Part(what, Length(length)) for what, length in parts.items() if length >= MINUTE_US]
        return Finish(
            job=job_id,
            now_us=now_us,
            done_us=done_us,
            by_us=by_us,
            hardly_us=hardly_us,
            ready_us=ready_us,
            ready_by_us=Instant(max(ready_us, ready_by_us)),
            hands_us=Length(hands_us),
            stages=tuple(stages),
            parts=tuple(sorted(told, key=lambda part: -part.length_us)),
            mornings=mornings,
            learned=one.learned,
            whole=_whole(job, middle.pieces),
            from_shop=one.from_shop,
        )

    @property
    def last_job(self) -> str:
        """The job of which the last piece is expected; "" if nothing is left."""
        return self._work.last_job

    def in_time(self, job_id: str, z: float = 0.0) -> InTime:
        """Every piece up to the end of a job in time, in a share of days given by z; with more than
        is expected decided anew. Raises KeyError for a job that is not among those ahead.
        """
        self._at[job_id]
        if z:
            level = self._played_anew(job_id, z) if z > 0 else self._level(job_id, z, anew=False)
            found, mornings, parts = self._reckoned(level, self.around)
        else:
            level, found, mornings, parts = self._course(job_id)
        return InTime(tuple(zip(level.pieces, found, strict=True)), parts, mornings)

    def hands(self, job_id: str, stage: str = "") -> Sum:
        """How long the hands are on a job, or on one of its stages, in minutes. Raises KeyError for
        a job that is not among those ahead.
        """
        pieces = self._work.up_to(job_id)
        return self._work.sum_of(
            [piece for piece in pieces if piece.job == job_id and stage in ("", piece.stage)]
        )

    def kept(self, job_id: str, promised_us: Instant) -> PromiseKept:
        """In which share of such days a job is ready by an instant.

        By the order that is expected, so that it grows with the time there is. Raises KeyError for
        a job that is not among those ahead.
        """
        self._at[job_id]
        if promised_us <= self.now_us < (self.ready_us(job_id) or 0):
            return PromiseKept(0.0, past=True)
        low, high = -_FURTHEST_Z, _FURTHEST_Z
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            in_time = (self.ready_us(job_id, middle) or 0) <= promised_us
            low, high = (middle, high) if in_time else (low, middle)
        return PromiseKept(0.5 * (1 + erf((low + high) / 2 / sqrt(2))))

    def helps(self, job_id: str) -> tuple[Help, ...]:
        """What would make a job ready sooner four times in five, the best first."""
        plain = self.finish(job_id)
        if plain is None:
            return ()
        around = self.around
        found: list[tuple[str, DayAhead, float | None]] = []
        cooler = None if around.heat is None else around.cooler()
        if cooler is not None:
            cool_c, heat = cooler
            found.append(("resting", replace(around, heat=heat), cool_c))
        if around.work_day is not None and plain.mornings:
            found.append((_TONIGHT, replace(around, work_day=None), None))
        if not around.undisturbed:
            found.append(("without other work", replace(around, undisturbed=True), None))
        told = []
        level = self._played_anew(job_id, Z80)
        for what, other, rest_c in found:
            slow, _mornings, _parts = self._reckoned(level, other)
            # Nobody goes on through a whole night.
            through = what == _TONIGHT and bool(slow) and slow[-1].end_us >= plain.mornings[0]
            if slow and not through:
                ends = _ends(job_id, level.pieces, slow)
                by_us = _ready_us(self.jobs[self._at[job_id]].job, slow[-1].end_us, ends)
                told.append(Help(what, by_us, rest_c))
        told += self._taken_first(job_id)
        worth = [one for one in told if one.ready_by_us <= plain.ready_by_us - WORTH_US]
        return tuple(sorted(worth, key=lambda one: one.ready_by_us))

    def _taken_first(self, job_id: str) -> list[Help]:
        """When a job is ready that is gone on with before the others; [] of the one that is, and
        while a film of another is in play.
        """
        at = self._at[job_id]
        others = [*self.jobs[:at], *self.jobs[at + 1 :]]
        if at == 0 or film_in_play([one.job for one in others], self.now_us):
            return []
        found = Prospect([self.jobs[at], *others], self.around, self.now_us).finish(job_id)
        return [] if found is None else [Help("taking it first", found.ready_by_us)]


def _begins(piece: Played) -> tuple[str, str, Turn, str]:
    return piece.job, piece.stage, piece.turn, piece.sections[0]


def _ends(job_id: str, pieces: Sequence[Played], found: Sequence[Reckoned]) -> dict[str, Instant]:
    """Stage of a job -> when its last piece is done."""
    return {
        piece.stage: one.end_us
        for piece, one in zip(pieces, found, strict=True)
        if piece.job == job_id
    }


def _ready_us(job: Job, done_us: int, ends: Mapping[str, Instant]) -> Instant:
    """When a job may be handed over: when it is done, or later by what its plan asks for."""
    handover = job.opened.plan.handover
    if handover is None or handover.after not in job.order:
        return Instant(done_us)
    laid_us = ends.get(handover.after, last_touch(job, handover.after).at_us)
    if laid_us is None:
        return Instant(done_us)
    at_us = not_before_us(handover, laid_us, job.opened.zone)
    return Instant(done_us if at_us is None else max(done_us, at_us))


def _whole(job: Job, pieces: Sequence[Played]) -> bool:
    return all(job.work(p.stage, p.turn).minutes > 0 for p in pieces if p.job == job.id)
