"""Rows of the log, the job time they carry, and how a log with corrections is read.

One row is one event with its evidence. Rows of one press share `press`. Nothing here
knows what an event means; the two folds do (`engine.facts.job`, `engine.facts.shift`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Literal, Protocol, TypeVar

import msgspec
from msgspec import Struct

from cartclock.engine.facts.events import (
    TAGS,
    ClockJudged,
    JobOpened,
    JobTaken,
    PressMoved,
    PressRestored,
    PressStruck,
    TimeCorrected,
)
from cartclock.engine.press import Press
from cartclock.engine.times import Instant

MINUTE_US = 60_000_000
HOUR_US = 60 * MINUTE_US

By = Literal["worker", "machine"]


class Evidence(Struct, frozen=True):
    """What the two clocks said at one moment.

    Fields:
        wall_us: wall clock, microseconds since 1970-01-01 UTC.
        boot: identity of this boot of the machine (of this process where none is known).
        tick_us: boot clock in microseconds, counting through suspend, only comparable
            within one `boot`.
    """

    wall_us: Instant
    boot: str
    tick_us: int


class Row(Struct, frozen=True):
    """One event as it stands in the log.

    Fields:
        origin: identity of the installation that wrote it.
        seq: position in that log, from 0; (origin, seq) is identity for ever.
        press: the press it is a row of.
        shift: shift of the worker who pressed; "" if not clocked on.
        job: job the event belongs to; "" for matters of the shift or the cart.
        worker: who pressed, or whose screen the machine spoke on.
        at_us: job time the event speaks of, microseconds UTC.
        entered_us: job time at which the press was made; equal to `at_us` except for a
            late entry; never falls from one row to the next.
        wall_us, boot, tick_us: what the clocks said.
        sure: False if the clocks could not agree on the time.
        by: worker or machine.
        event: one of `engine.facts.events`.
        tenure: which holding of its job it counts in, from 1; 0: of none, it is set aside for the
            job. Said by `believed_rows`, as is the next.
        for_shift: False if it counts for its job alone, and for its shift another reading of it.
    """

    origin: str
    seq: int
    press: Press
    shift: str
    job: str
    worker: str
    at_us: Instant
    entered_us: Instant
    wall_us: Instant
    boot: str
    tick_us: int
    sure: bool
    by: By
    event: Struct
    tenure: int = 1
    for_shift: bool = True

    @property
    def kind(self) -> str:
        """The event's tag; "Unknown" for one that cannot be read."""
        return TAGS.get(type(self.event), "Unknown")

    @property
    def identity(self) -> tuple[str, int]:
        """Which row, for ever: (origin, seq)."""
        return self.origin, self.seq

    @property
    def happened(self) -> tuple[int, str, int]:
        """Its place in the order in which things happened, over logs of several origins."""
        return self.at_us, self.origin, self.seq

    @property
    def written(self) -> tuple[int, str, int]:
        """Its place in the order in which rows were written; in one origin that of `seq`."""
        return self.entered_us, self.origin, self.seq

    @property
    def corrects(self) -> Press | None:
        """The press that this row strikes, restores or moves; None for any other row, also for one
        that says from which press on the time was wrong."""
        event = self.event
        if not isinstance(event, PressStruck | PressRestored | PressMoved):
            return None
        return Press(event.origin or self.origin, event.press)


class Draft(Struct, frozen=True):
    """One event of a press that a rule proposes.

    Fields:
        event: one of `engine.facts.events`.
        job: the job it belongs to; "" for matters of the shift or the cart.
        at_us: job time it speaks of; None: that of the press.
    """

    event: Struct
    job: str = ""
    at_us: Instant | None = None


class Odd(Struct, frozen=True):
    """An event that cannot be where it stands, and why, as a sentence without full stop."""

    row: Row
    why: str


class CannotBe(Exception):
    """Raised inside a fold: the row cannot stand where it does; the fold sets it aside."""


class Fold(Protocol):
    """What rows tell of one thing, with those of them that were set aside."""

    odd: list[Odd]


F = TypeVar("F", bound=Fold)
# The fold changed by a row, or begun by it; raises CannotBe and changes nothing.
Taken = Callable[[F | None, Row], F | None]


def told_by(rows: Iterable[Row], taken: Taken[F]) -> tuple[F | None, list[Odd]]:
    """What these rows tell, in their order; None if by them it has not begun.

    Returns: the fold, and its rows set aside, also those from before it began.
    """
    found: F | None = None
    odd: list[Odd] = []
    for row in rows:
        try:
            found = taken(found, row)
        except CannotBe as why:
            odd.append(Odd(row, str(why)))
    if found is not None:
        found.odd = odd
    return found, odd


def told_after(copy: F | None, row: Row, taken: Taken[F]) -> tuple[F | None, Odd | None]:
    """A fold after one more row, and the row if it is set aside.

    copy: of the fold before, which is changed; None if it has not begun.
    """
    try:
        return taken(copy, row), None
    except CannotBe as why:
        odd = Odd(row, str(why))
    if copy is not None:
        copy.odd.append(odd)
    return copy, odd


class Placed(Struct, frozen=True):
    """Job time of a moment; `sure` is False if the clocks could not agree."""

    at_us: Instant
    sure: bool


def job_time(
    last: Row | None, now: Evidence, alive_us: Instant | None = None, most_us: int | None = None
) -> Placed:
    """Job time of `now`, given the newest row.

    Within one boot only the boot clock counts, so setting the wall clock moves no length.
    Over a boot the wall clock is believed as far as it does not run back, nor so far ahead that
    it is more likely wrong.

    Args:
        alive_us: when the program was last alive, job time, if that is known beside the row.
        most_us: how far ahead of that the wall clock is believed over a boot, microseconds;
            None: however far.
    """
    if last is None:
        return Placed(now.wall_us, True)
    if now.boot == last.boot and now.tick_us >= last.tick_us:
        return Placed(Instant(last.entered_us + now.tick_us - last.tick_us), True)
    known_us = max(last.entered_us, alive_us or last.entered_us)
    if most_us is not None and now.wall_us - known_us > most_us:
        return Placed(known_us, False)
    return Placed(max(now.wall_us, last.entered_us), now.wall_us >= last.entered_us)


def unsure_after(rows: Sequence[Row], before: bool = False) -> bool:
    """Whether the time is unknown after these rows: the clocks disagreed and nobody said it."""
    unsure = before
    for row in rows:
        if isinstance(row.event, ClockJudged):
            unsure = False
        elif not row.sure:
            unsure = True
    return unsure


_CORRECTIONS = (PressStruck, PressRestored, PressMoved, TimeCorrected)


def standing(rows: Iterable[Row]) -> dict[Press, bool]:
    """Every press a strike or restore names -> whether it stands; presses not named stand."""
    stands: dict[Press, bool] = {}
    for row in rows:
        if isinstance(row.event, PressStruck | PressRestored) and row.corrects is not None:
            stands[row.corrects] = isinstance(row.event, PressRestored)
    return stands


class Tenure(Struct, frozen=True):
    """Whose rows count for a job while one cart holds it.

    Fields:
        origin: of that cart.
        first, last: numbers of the first and last of them; `last` None while it holds the job.
    """

    origin: str
    first: int
    last: int | None


def tenures(rows: Iterable[Row], job: str) -> list[Tenure]:
    """Who held a job, one after the other, by rows of any logs that hold all its takings.

    Of two that took it in the same turn, which only happens where no shop was asked, the one
    whose identity sorts first counts, whoever reads.
    """
    opened, taken = "", []
    for row in rows:
        if row.job == job:
            if isinstance(row.event, JobTaken):
                taken.append((row.event.tenure, row.origin, row.seq, row.event))
            elif isinstance(row.event, JobOpened):
                opened = row.origin
    found = [Tenure(opened, 0, None)]
    for tenure, origin, seq, event in sorted(taken, key=lambda one: one[:3]):
        holder = found[-1]
        if tenure == len(found) + 1 and event.of == holder.origin:
            found[-1:] = [Tenure(holder.origin, holder.first, event.seq), Tenure(origin, seq, None)]
    return found


def believed_rows(rows: Sequence[Row]) -> list[Row]:
    """The rows as they are to be believed, in the order in which they happened.

    Strikes and restores count in the order they were written; then each press is moved
    by its last standing move; dead rows and the corrections themselves drop out. A job's
    opening comes before everything else. Of a job that went from cart to cart each holding is
    read by the rows that the next cart knew; what was written later than these stands for the
    shift of who wrote it, and not for the job.
    """
    taken = {row.job for row in rows if isinstance(row.event, JobTaken)}
    if not taken:
        return _believed(rows)
    found = [row for row in _believed(rows) if row.job not in taken]
    plain = {row.identity: row for row in _believed(rows) if row.job in taken}
    for job in sorted(taken):
        for number, one in enumerate(tenures(rows, job), start=1):
            known = [
                row
                for row in rows
                if row.origin == one.origin and (one.last is None or row.seq <= one.last)
            ]
            for row in _believed(known):
                if row.job != job or row.seq < one.first:
                    continue
                same = plain.get(row.identity)
                if same is not None and same.at_us == row.at_us:
                    del plain[row.identity]
                    found.append(msgspec.structs.replace(row, tenure=number))
                else:
                    found.append(msgspec.structs.replace(row, tenure=number, for_shift=False))
    found += [msgspec.structs.replace(row, tenure=0) for row in plain.values()]
    return sorted(found, key=_happened)


def _believed(rows: Sequence[Row]) -> list[Row]:
    corrections = [row for row in rows if isinstance(row.event, _CORRECTIONS)]
    if not corrections:
        return sorted(rows, key=_happened)
    stands = standing(corrections)
    moves = {
        row.corrects: row.event.to_us
        for row in corrections
        if isinstance(row.event, PressMoved) and stands.get(row.press, True)
    }
    # Nearly always nothing was moved.
    told = reversed(rows) if moves else ()
    first_at = {row.press: row.at_us for row in told if row.press in moves}
    kept: list[Row] = []
    for row in rows:
        if isinstance(row.event, _CORRECTIONS):
            continue
        if stands and not stands.get(row.press, True):
            continue
        if moves and row.press in moves:
            shift_us = moves[row.press] - first_at[row.press]
            row = msgspec.structs.replace(row, at_us=row.at_us + shift_us)
        kept.append(row)
    return sorted(kept, key=_happened)


def _happened(row: Row) -> tuple[bool, tuple[int, str, int]]:
    return not isinstance(row.event, JobOpened), row.happened
