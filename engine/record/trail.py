"""What was overruled and put right in a job and its shifts, and what the clocks did meanwhile.

Nothing in a log is edited: a press is struck, restored or moved by a later one. Here these
later ones are told, with everything else that a reader needs to judge how far to trust a time.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.put_right import reaches
from cartclock.engine.facts.rows import Odd, Row, believed_rows, standing
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.words import row_text
from cartclock.engine.press import Press
from cartclock.engine.times import Instant, Length


class Overruled(Struct, frozen=True):
    """A rule that asked and was overruled, with the worker's reason."""

    at_us: Instant
    worker: str
    what: str
    rule: str
    why: str


class Correction(Struct, frozen=True):
    """A press put right.

    Fields:
        entered_us: when the correction was made.
        worker: who made it.
        kind: struck, restored, moved in time, or the time put right of it and all behind it.
        what: what the press had said first; from which press on the time was wrong.
        was_us: the time it was written for.
        to_us: where it was moved to, or the right time; None otherwise.
        why: the reason; "" if none was given.
        stands: False if the correction itself was struck later.
    """

    entered_us: Instant
    worker: str
    kind: Literal["struck", "restored", "moved", "time put right"]
    what: str
    was_us: Instant
    to_us: Instant | None
    why: str
    stands: bool


class LateEntry(Struct, frozen=True):
    """A press written later than the time it speaks of.

    Fields:
        entered_us: when it was made.
        at_us: the first time it speaks of.
        worker: who made it.
        what: what it says first.
        rows: how many events it holds.
    """

    entered_us: Instant
    at_us: Instant
    worker: str
    what: str
    rows: int


class Unsure(Struct, frozen=True):
    """A press whose time the clocks could not agree on."""

    at_us: Instant
    what: str


class ClockStep(Struct, frozen=True):
    """The wall clock was set by `by_us` microseconds; no length is moved by that."""

    at_us: Instant
    by_us: Length


class Aside(Struct, frozen=True):
    """An event that could not be where it stands, or was pressed on a cart that no longer had the
    job, and why it does not count."""

    at_us: Instant
    what: str
    why: str


_LATE = "the job was on another cart by then"


class Trail(Struct, frozen=True):
    """All of it, each in order of time.

    Fields:
        overruled, corrections, late, steps, unsure, aside: see there.
        gaps: stretches in which the program did not run.
        told_time_us: when the worker said what time it is.
    """

    overruled: tuple[Overruled, ...]
    corrections: tuple[Correction, ...]
    late: tuple[LateEntry, ...]
    gaps: tuple[ev.GapFound, ...]
    steps: tuple[ClockStep, ...]
    unsure: tuple[Unsure, ...]
    told_time_us: tuple[Instant, ...]
    aside: tuple[Aside, ...]


def trail(
    job: Job, shifts: Collection[Shift], jobs: Mapping[str, Job], rows: Sequence[Row]
) -> Trail:
    """The trail of a job and of the shifts it was worked in.

    `rows` as written, corrections included. What belongs to another job alone is left out.
    """
    ids = {shift.id for shift in shifts}
    own = _concerning(rows, job.id, ids)
    concerned = {row.press for row in own}
    believed = [
        row
        for row in believed_rows(rows)
        if row.press in concerned and _of(row, job.id, ids) and (row.tenure or row.job != job.id)
    ]
    # The row of a job is in its fold and in that of the shift, and may be odd in both.
    every = [*(one for shift in shifts for one in shift.odd), *job.odd]
    odd = {o.row.identity: o for o in every if o.row.job in ("", job.id)}
    odd |= {row.identity: Odd(row, _LATE) for row in job.late}
    return Trail(
        overruled=tuple(_overruled(believed, jobs)),
        corrections=tuple(_corrections(own, rows, concerned, jobs)),
        late=tuple(_late(own, rows, jobs)),
        gaps=tuple(gap for shift in shifts for gap in shift.gaps),
        steps=tuple(
            ClockStep(row.at_us, row.event.by_us)
            for row in believed
            if isinstance(row.event, ev.ClockStepped)
        ),
        unsure=tuple(Unsure(r.at_us, row_text(r, jobs)) for r in _firsts(believed) if not r.sure),
        told_time_us=tuple(r.at_us for r in believed if isinstance(r.event, ev.ClockJudged)),
        aside=tuple(
            Aside(one.row.at_us, row_text(one.row, jobs), one.why)
            for one in sorted(odd.values(), key=lambda odd: odd.row.happened)
        ),
    )


def _of(row: Row, job_id: str, shift_ids: Collection[str]) -> bool:
    """True if a row is the job's, or is a matter of one of the shifts and of no other job."""
    if row.job:
        return row.job == job_id
    return row.shift in shift_ids and not isinstance(row.event, _ELSEWHERE)


_ELSEWHERE = (*ev.CORRECTIONS, *ev.CART_EVENTS)


def _concerning(rows: Iterable[Row], job_id: str, shift_ids: Collection[str]) -> list[Row]:
    """The rows of the job and its shifts, and the corrections of presses that hold such rows.

    A correction of a correction concerns what the first one did; it always stands behind it.
    """
    found: list[Row] = []
    presses: set[Press] = set()
    for row in rows:
        meant = row.corrects
        concerns = _of(row, job_id, shift_ids) if meant is None else meant in presses
        if concerns:
            found.append(row)
            presses.add(row.press)
    return found


def _firsts(rows: Iterable[Row]) -> list[Row]:
    """The first row of each press."""
    first: dict[Press, Row] = {}
    for row in rows:
        first.setdefault(row.press, row)
    return list(first.values())


_OVERRULING = (
    ev.WorkStarted, ev.BreakTaken, ev.OtherWorkStarted, ev.ClockedOff, ev.JobClosed,
)  # fmt: skip


def _overruled(rows: Iterable[Row], jobs: Mapping[str, Job]) -> Iterable[Overruled]:
    for row in rows:
        if isinstance(row.event, _OVERRULING):
            for rule, why in row.event.over.items():
                yield Overruled(row.at_us, row.worker, row_text(row, jobs), rule, why)


def _corrections(
    own: Collection[Row], rows: Sequence[Row], concerned: Collection[Press], jobs: Mapping[str, Job]
) -> Iterable[Correction]:
    first = {row.press: row for row in reversed(rows)}
    stands = standing(rows)
    for row in rows:
        to_us: Instant | None = None
        why = ""
        kind: Literal["struck", "restored", "moved"]
        match row.event:
            case ev.PressStruck(_, why):
                kind = "struck"
            case ev.PressRestored():
                kind = "restored"
            case ev.PressMoved(_, to_us):
                kind = "moved"
            case ev.TimeCorrected(_, from_us, by_us):
                if any(reaches(row, one) for one in own):
                    yield Correction(
                        entered_us=row.entered_us,
                        worker=row.worker,
                        kind="time put right",
                        what=row_text(row, jobs),
                        was_us=from_us,
                        to_us=Instant(from_us + by_us),
                        why="",
                        stands=True,
                    )
                continue
            case _:
                continue
        press = row.corrects
        if press is None or press not in concerned or press not in first:
            continue
        yield Correction(
            entered_us=row.entered_us,
            worker=row.worker,
            kind=kind,
            what=row_text(first[press], jobs),
            was_us=first[press].at_us,
            to_us=to_us,
            why=why,
            stands=stands.get(row.press, True),
        )


def _late(own: Iterable[Row], rows: Sequence[Row], jobs: Mapping[str, Job]) -> Iterable[LateEntry]:
    stands = standing(rows)
    late = [
        row
        for row in own
        if row.by == "worker" and row.at_us != row.entered_us and stands.get(row.press, True)
    ]
    for first in _firsts(late):
        count = sum(row.press == first.press for row in late)
        yield LateEntry(first.entered_us, first.at_us, first.worker, row_text(first, jobs), count)
