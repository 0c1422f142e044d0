"""What only the worker knows: gaps, breaks between the rules, stretches with nothing said.

Questions are derived from the log, never stored: an answer in the log makes them go away.
They are put at a quiet moment and again at clocking off.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.facts.events import GapFound
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import Break, Free, Hands, Other, Shift
from cartclock.engine.facts.shift_events import GapAnswer
from cartclock.engine.facts.words import place_text, sections_text
from cartclock.engine.hours.breaks import MEAL_MINUTES
from cartclock.engine.hours.partition import BreakTime, breaks, partition, periods
from cartclock.engine.times import Instant

# Our own judgement, tunable: shorter stretches are not worth a question in the evening.
UNASSIGNED_US = 10 * MINUTE_US
MOST_QUESTIONS = 8


class Question(Struct, frozen=True):
    """One thing to be asked.

    Fields:
        kind: gap (the program did not run), break (does it count), nothing (nothing in hand).
        from_us, to_us: the stretch.
        was: what the log says so far, as a phrase.
        guess: the answer offered first; for a break "counts" or "does not count".
    """

    kind: Literal["gap", "break", "nothing"]
    from_us: Instant
    to_us: Instant
    was: str
    guess: GapAnswer | Literal["counts", "does not count"]


def questions(shift: Shift, jobs: Mapping[str, Job], now_us: Instant) -> tuple[Question, ...]:
    """Open questions of the shift: at most eight, the longest first."""
    found: list[Question] = []
    answered = [(a.from_us, a.to_us) for a in shift.answers]
    end_us = now_us if shift.off_us is None else shift.off_us
    asked_gaps = []
    for gap in shift.gaps:
        # Of a gap over the edge of the shift only what lies inside is a question.
        from_us, to_us = _unanswered(
            max(gap.from_us, shift.on_us), min(gap.to_us, end_us), answered
        )
        if from_us >= to_us:
            continue
        doing = _doing(shift, jobs, gap, end_us)
        if doing is not None:
            asked_gaps.append((from_us, to_us))
            found.append(Question("gap", from_us, to_us, doing, "as it stood"))
    pieces = partition(shift, jobs, end_us)
    resting_us = None
    if shift.on_clock and pieces and pieces[-1].end_us == now_us:
        # What goes on is not asked about, nor are the breaks of which it is one period.
        last = pieces.pop()
        resting_us = last.start_us if last.kind == "break" else None
    for period in periods(breaks(shift, jobs, end_us, pieces)):
        if period[-1].end_us != resting_us and any(time.counts == "ask" for time in period):
            found.append(_period_question(period))
    for piece in pieces:
        if piece.kind != "unassigned" or piece.length_us < UNASSIGNED_US:
            continue
        if any(a < piece.end_us and piece.start_us < b for a, b in asked_gaps):
            continue
        from_us, to_us = _unanswered(piece.start_us, piece.end_us, answered)
        if from_us < to_us:
            found.append(Question("nothing", from_us, to_us, "nothing in hand", "not known"))
    found.sort(key=lambda q: (q.from_us - q.to_us, q.from_us))
    return tuple(found[:MOST_QUESTIONS])


def _unanswered(
    from_us: Instant, to_us: Instant, answered: Iterable[tuple[Instant, Instant]]
) -> tuple[Instant, Instant]:
    """The stretch without what was answered of it from either end on; empty if all of it was."""
    told = sorted(answered)
    for a_us, b_us in told:
        if a_us <= from_us < b_us:
            from_us = b_us
    for a_us, b_us in sorted(told, key=lambda one: one[1], reverse=True):
        if a_us < to_us <= b_us:
            to_us = a_us
    return from_us, to_us


def _doing(shift: Shift, jobs: Mapping[str, Job], gap: GapFound, end_us: Instant) -> str | None:
    """What was on during the gap; None if a break was, which needs no question."""
    spans = [s for s in shift.spans_to(end_us) if s.start_us < gap.to_us and s.end_us > gap.from_us]
    if not spans or all(isinstance(s.doing, Break) for s in spans):
        return None
    longest = max(
        spans, key=lambda s: min(s.end_us, gap.to_us) - max(s.start_us, gap.from_us)
    ).doing
    match longest:
        case Break(what):
            return f"break: {what}"
        case Hands(job, stage, sections):
            if job in jobs:
                said = f"{stage}, {place_text(jobs[job], stage, sections)}"
                every = {s.doing.job for s in shift.spans_to(end_us) if isinstance(s.doing, Hands)}
                return said if len(every) == 1 else f"job {jobs[job].opened.number}, {said}"
            return f"{stage}, {sections_text(len(sections))}"
        case Other(what):
            return what
        case Free():
            return "nothing in hand"


def _period_question(period: Sequence[BreakTime]) -> Question:
    """Short of half an hour it is nearer to a rest; a relieved absence is not work."""
    from_us, to_us = period[0].start_us, period[-1].end_us
    kinds = dict.fromkeys(time.what for time in period)
    short = to_us - from_us < MEAL_MINUTES * MINUTE_US and "away" not in kinds
    said = f"{'break' if len(period) == 1 else 'breaks'}: {', '.join(kinds)}"
    return Question("break", from_us, to_us, said, "counts" if short else "does not count")
