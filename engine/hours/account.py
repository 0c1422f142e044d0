"""What a shift came to: its exact partition, added up by use and by job."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.shift import Hands, Other, Shift
from cartclock.engine.hours.breaks import BreakClass
from cartclock.engine.hours.left import LeftFilm, left_films
from cartclock.engine.hours.partition import BreakTime, Piece, PieceKind, breaks, partition
from cartclock.engine.hours.questions import Question, questions
from cartclock.engine.times import Instant, Length

# Nobody works or rests so long without a press; our own judgement.
NEVER_OFF_US = 16 * HOUR_US


class Share(Struct, frozen=True):
    """How much of the time on the clock went to one use.

    Fields:
        kind: as in `engine.hours.partition.Piece`.
        what: kind of break or of other work; "" otherwise.
        counts: of a break, the class that holds ("ask": nobody has answered); else "".
        job: id of the job whose time it is; "" if nobody's in particular.
        number: that job's handle; 0 if there is no job or it is not known here.
        stage: stage of that job; "" if none.
        length_us: microseconds, > 0.
    """

    kind: PieceKind
    what: str
    counts: BreakClass | str
    job: str
    number: int
    stage: str
    length_us: Length


class Account(Struct, frozen=True):
    """One shift, reckoned up.

    Fields:
        shift: its UUID.
        worker, place, rule_set: as said at clocking on.
        on_us: clocked on.
        off_us: clocked off; None while the shift goes on.
        end_us: where the reckoning ends: `off_us`, or the time it was asked for.
        shares: in order of first appearance; they add up to `length_us` exactly.
        breaks: each break with its class.
        questions: what nobody has answered yet.
        answers: what the worker said stretches were, in order of the telling.
        judged: what the worker said of breaks.
        pieces: the exact partition that `shares` adds up, in order.
        never_off: True if nobody clocked off and no press came for so long that the day is over;
            the reckoning ends with the last press.
        left: films that were in play when the shift ended; empty while it goes on.
    """

    shift: str
    worker: str
    place: str
    rule_set: str
    on_us: Instant
    off_us: Instant | None
    end_us: Instant
    shares: tuple[Share, ...]
    breaks: tuple[BreakTime, ...]
    questions: tuple[Question, ...]
    answers: tuple[ev.GapJudged, ...]
    judged: tuple[ev.BreakJudged, ...]
    pieces: tuple[Piece, ...] = ()
    never_off: bool = False
    left: tuple[LeftFilm, ...] = ()

    @property
    def length_us(self) -> Length:
        """From clocking on to its end, microseconds."""
        return Length(self.end_us - self.on_us)

    @property
    def off_told_us(self) -> Length:
        """What of it the worker said afterwards to have been off, microseconds."""
        return Length(sum(share.length_us for share in self.shares if share.kind == "off"))

    @property
    def clock_us(self) -> Length:
        """Time on the clock, microseconds: all of it but what was off."""
        return Length(self.length_us - self.off_told_us)


def number_of(job_id: str, jobs: Mapping[str, Job]) -> int:
    """The handle of a job; 0 if it is not known."""
    job = jobs.get(job_id)
    return 0 if job is None else job.opened.number


def account(shift: Shift, jobs: Mapping[str, Job], now_us: Instant) -> Account:
    """The account of a shift, up to `now_us` if it goes on.

    `jobs` holds at least the jobs of the shift.
    """
    end_us, never_off = _end(shift, now_us)
    pieces = tuple(partition(shift, jobs, end_us))
    times = tuple(breaks(shift, jobs, end_us, pieces))
    counts: dict[int, BreakClass] = {time.start_us: time.counts for time in times}
    shares = (
        Share(
            piece.kind,
            piece.what,
            counts[piece.start_us] if piece.kind == "break" else "",
            piece.job,
            number_of(piece.job, jobs),
            piece.stage,
            piece.length_us,
        )
        for piece in pieces
    )
    return Account(
        shift=shift.id,
        worker=shift.worker,
        place=shift.on.place,
        rule_set=shift.on.rule_set,
        on_us=shift.on_us,
        off_us=shift.off_us,
        end_us=end_us,
        shares=added(shares),
        breaks=times,
        questions=questions(shift, jobs, end_us),
        answers=tuple(shift.answers),
        judged=tuple(shift.judged),
        pieces=pieces,
        never_off=never_off,
        left=left_films(shift, jobs, end_us) if never_off or shift.off_us is not None else (),
    )


def _end(shift: Shift, now_us: Instant) -> tuple[Instant, bool]:
    """Where the hours of a shift end, and if that is because nobody clocked off."""
    if shift.off_us is not None:
        return shift.off_us, False
    last_us = left_open_us(shift, now_us)
    return (max(now_us, shift.since_us), False) if last_us is None else (last_us, True)


def left_open_us(shift: Shift, now_us: Instant) -> Instant | None:
    """The last press of a shift that nobody clocked off and that is over by now; else None."""
    if not shift.on_clock:
        return None
    last_us = max([shift.since_us, *(row.at_us for row in shift.facts if row.by == "worker")])
    return last_us if now_us - last_us > NEVER_OFF_US else None


def added(shares: Iterable[Share]) -> tuple[Share, ...]:
    """Shares of the same use added up, in order of first appearance."""
    total: dict[Share, int] = {}
    for share in shares:
        use = replace(share, length_us=Length(0))
        total[use] = total.get(use, 0) + share.length_us
    return tuple(replace(use, length_us=length_us) for use, length_us in total.items())


def served(shift: Shift, now_us: Instant) -> list[str]:
    """Ids of the jobs a shift was worked on: taken in hand, or served by other work."""
    ids = dict.fromkeys(shift.jobs)
    for span in shift.spans_to(now_us):
        match span.doing:
            case Hands(job) | Other(_, job) if job:
                ids[job] = None
    return list(ids)


class TakenReading(Struct, frozen=True):
    """A reading, when and by whom."""

    at_us: Instant
    worker: str
    reading: ev.ReadingTaken


def readings(shifts: Iterable[Shift]) -> tuple[TakenReading, ...]:
    """The readings of these shifts in order of time."""
    # One that two shifts go by was taken once.
    found = {
        row.identity: TakenReading(row.at_us, row.worker, row.event)
        for shift in shifts
        for row in shift.facts
        if isinstance(row.event, ev.ReadingTaken)
    }
    return tuple(sorted(found.values(), key=lambda reading: reading.at_us))
