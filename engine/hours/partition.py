"""Where the time of a shift went: an exact partition of the time on the clock.

The pieces have no holes and no overlaps; their lengths add up to the time on the clock to
the microsecond. Rounding is for print only.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Literal, get_args

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import Window
from cartclock.engine.facts.shift import Break, Doing, Free, Hands, Other, Shift
from cartclock.engine.facts.shift_events import BreakKind, OtherKind
from cartclock.engine.hours.breaks import ASKED_FROM_MINUTES, BreakClass, break_class
from cartclock.engine.times import Instant, Length

PieceKind = Literal["hands", "standing by", "other", "break", "off", "not known", "unassigned"]
BREAK_KINDS: frozenset[str] = frozenset(get_args(BreakKind))
OTHER_KINDS: frozenset[str] = frozenset(get_args(OtherKind))


class Piece(Struct, frozen=True):
    """A stretch of a shift with one use.

    Fields:
        start_us, end_us: job time, start < end.
        kind: what the time was.
        what: kind of break or of other work; "" otherwise.
        job, stage: whose time it is; "" if nobody's.
        sections: what was in hand.
        told: True if the worker said so afterwards.
    """

    start_us: Instant
    end_us: Instant
    kind: PieceKind
    what: str = ""
    job: str = ""
    stage: str = ""
    sections: tuple[str, ...] = ()
    told: bool = False

    @property
    def length_us(self) -> Length:
        """Length in microseconds."""
        return Length(self.end_us - self.start_us)


class FilmWait(Struct, frozen=True):
    """A dwell or flash as the hours see it: from the last touch until it closed or ended."""

    start_us: Instant
    end_us: Instant
    closes_us: Instant
    job: str
    stage: str


def _waits(shift: Shift, jobs: Mapping[str, Job]) -> list[FilmWait]:
    """The films that a shift may have stood by for."""
    origin = shift.since_press.origin
    found: list[FilmWait] = []
    for id_ in shift.jobs:
        job = jobs.get(id_)
        if job is None:
            continue
        # Of a job that went from cart to cart each cart's hours go by what itself knew of it.
        for one in job.before:
            if one.origin == origin:
                found += _while_held(job, one.windows, one.from_us, one.to_us)
        if job.holder == origin:
            found += _while_held(job, job.every_window, job.taken_us, job.given_us)
    return found


def _while_held(
    job: Job, windows: Iterable[Window], from_us: Instant | None, to_us: Instant | None
) -> Iterable[FilmWait]:
    for window in windows:
        if window.kind == "gap":
            continue
        start_us, end_us = window.last_us, _end(window)
        if from_us is not None:
            start_us = max(start_us, from_us)
        if to_us is not None:
            end_us = min(end_us, to_us)
        if end_us > start_us:
            yield FilmWait(start_us, Instant(end_us), window.closes_us, job.id, window.stage)


def _end(window: Window) -> int:
    if window.ended_us is None:
        return window.closes_us
    return min(window.closes_us, window.ended_us)


def partition(
    shift: Shift, jobs: Mapping[str, Job], now_us: Instant, since_us: int = 0
) -> list[Piece]:
    """The shift from clocking on to clocking off (or `now_us`) as pieces, in order.

    `jobs` holds at least the jobs of the shift; what ended by `since_us` is left out. Per
    piece: what the worker said a stretch was; break; hands; other work; free while a dwell or
    flash runs: standing by, for the job whose window closes first; else unassigned.
    """
    waits = _waits(shift, jobs)
    pieces: list[Piece] = []
    for span in shift.spans_to(now_us):
        start_us, end_us = span.start_us, span.end_us
        if end_us <= since_us:
            continue
        near = []
        if isinstance(span.doing, Free):
            near = [w for w in waits if w.start_us < end_us and w.end_us > start_us]
        told = [a for a in shift.answers if a.from_us < end_us and a.to_us > start_us]
        if not near and not told:
            # As most spans are; a long day has hundreds, and every repaint goes over them.
            if start_us < end_us:
                pieces.append(_as_it_stood(span.doing, start_us, end_us, near))
            continue
        cuts = [start_us, end_us]
        for wait in near:
            cuts += [wait.start_us, wait.end_us]
        for answer in told:
            cuts += [answer.from_us, answer.to_us]
        inside = sorted(cut for cut in cuts if start_us <= cut <= end_us)
        for a_us, b_us in pairwise(inside):
            if a_us == b_us:
                continue
            covering = [a for a in told if a.from_us <= a_us and b_us <= a.to_us]
            was = covering[-1].was if covering else "as it stood"
            if was != "as it stood":
                pieces.append(_said(a_us, b_us, was))
            else:
                pieces.append(_as_it_stood(span.doing, a_us, b_us, near))
    return _joined(pieces)


def told_to_us(shift: Shift) -> Instant:
    """Up to where a shift is told whatever the time is: its end, or the last turn in it."""
    return shift.since_us if shift.off_us is None else shift.off_us


def _as_it_stood(doing: Doing, a_us: Instant, b_us: Instant, near: list[FilmWait]) -> Piece:
    match doing:
        case Break(what):
            return Piece(a_us, b_us, "break", what=what)
        case Hands(job, stage, sections):
            return Piece(a_us, b_us, "hands", job=job, stage=stage, sections=sections)
        case Other(what, job):
            return Piece(a_us, b_us, "other", what=what, job=job)
        case Free():
            return _free(a_us, b_us, near)


def _said(a_us: Instant, b_us: Instant, was: str) -> Piece:
    if was in BREAK_KINDS:
        return Piece(a_us, b_us, "break", what=was, told=True)
    if was in OTHER_KINDS:
        return Piece(a_us, b_us, "other", what=was, told=True)
    return Piece(a_us, b_us, "off" if was == "off" else "not known", told=True)


def _free(a_us: Instant, b_us: Instant, waits: list[FilmWait]) -> Piece:
    open_now = [w for w in waits if w.start_us <= a_us and b_us <= w.end_us]
    if not open_now:
        return Piece(a_us, b_us, "unassigned")
    first = min(open_now, key=lambda w: (w.closes_us, w.start_us, w.job))
    return Piece(a_us, b_us, "standing by", job=first.job, stage=first.stage)


def _joined(pieces: list[Piece]) -> list[Piece]:
    joined: list[Piece] = []
    for piece in pieces:
        last = joined[-1] if joined else None
        if (
            last is not None
            and last.end_us == piece.start_us
            and (last.kind, last.what, last.job, last.stage, last.sections, last.told)
            == (piece.kind, piece.what, piece.job, piece.stage, piece.sections, piece.told)
        ):
            joined[-1] = replace(last, end_us=piece.end_us)
        else:
            joined.append(piece)
    return joined


def sums(pieces: Iterable[Piece]) -> dict[tuple[str, str, str, str], int]:
    """(kind, what, job, stage) -> microseconds, in order of first appearance."""
    total: dict[tuple[str, str, str, str], int] = {}
    for piece in pieces:
        key = (piece.kind, piece.what, piece.job, piece.stage)
        total[key] = total.get(key, 0) + piece.length_us
    return total


class BreakTime(Struct, frozen=True):
    """A break with the class the rule set or the worker gives it.

    Fields:
        start_us, end_us, what: as in `Piece`.
        relieved: False if a dwell or flash window ran during it.
        asked: the class the rule set gives.
        counts: the class that holds: the worker's answer if there is one.
    """

    start_us: Instant
    end_us: Instant
    what: BreakKind
    relieved: bool
    asked: BreakClass
    counts: BreakClass


def breaks(
    shift: Shift, jobs: Mapping[str, Job], now_us: Instant, pieces: Iterable[Piece] | None = None
) -> list[BreakTime]:
    """The breaks of the shift, judged by its rule set (29 CFR 785.16-.19) and the answers.

    `pieces`: its partition up to `now_us`, where it is at hand already.
    """
    rule_set = shift.on.rule_set
    waits = _waits(shift, jobs)
    found: list[BreakTime] = []
    pieces = partition(shift, jobs, now_us) if pieces is None else pieces
    rested = [piece for piece in pieces if piece.kind == "break"]
    runs = _runs_us(rested)
    for piece in rested:
        what: BreakKind = piece.what  # type: ignore[assignment]  # `what` of a break piece is a BreakKind
        relieved = not any(w.start_us < piece.end_us and w.end_us > piece.start_us for w in waits)
        asked = break_class(what, piece.length_us / MINUTE_US, relieved, rule_set)
        if relieved and asked == "counted" and runs[piece] >= ASKED_FROM_MINUTES * MINUTE_US:
            # Each is short, but taken back to back they are one period (29 CFR 785.18).
            asked = "ask"
        found.append(BreakTime(piece.start_us, piece.end_us, what, relieved, asked, asked))
    judged = [
        replace(time, counts=counts)
        for period in periods(found)
        for time in period
        if (counts := _answered(shift, time) or _answered(shift, period[0], period[-1]))
    ]
    answers = {time.start_us: time for time in judged}
    return [answers.get(time.start_us, time) for time in found]


def periods(found: Iterable[BreakTime]) -> list[tuple[BreakTime, ...]]:
    """Breaks by the period that is judged as one: those that are to be asked about and follow
    on one another are one, each other break is one by itself. Our own judgement.
    """
    made: list[tuple[BreakTime, ...]] = []
    for time in found:
        before = made[-1][-1] if made else None
        if (
            before is not None
            and before.end_us == time.start_us
            and (before.asked, time.asked) == ("ask", "ask")
        ):
            made[-1] = (*made[-1], time)
        else:
            made.append((time,))
    return made


def _answered(
    shift: Shift, first: BreakTime, last: BreakTime | None = None
) -> BreakClass | Literal[""]:
    """What the worker said last of the time from one break to another; "" if nothing."""
    end_us = (last or first).end_us
    for judged in reversed(shift.judged):
        if first.start_us <= judged.within_us < end_us:
            return "counted" if judged.counted else "not counted"
    return ""


def _runs_us(rested: Sequence[Piece]) -> dict[Piece, int]:
    """Each break -> how long the breaks last that follow on one another with it among them."""
    found: dict[Piece, int] = {}
    run: list[Piece] = []
    for piece in rested:
        if run and run[-1].end_us != piece.start_us:
            run = []
        run.append(piece)
        found |= dict.fromkeys(run, piece.end_us - run[0].start_us)
    return found
