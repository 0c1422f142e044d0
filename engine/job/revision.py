"""Which revision a paper is, which one it replaces, and what changed in between.

A paper that left the laptop is not taken back: the next one says that it replaces it, and
which presses were added, struck, restored or moved since. Only the outcome counts: what was
struck and restored in between did not change.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct

from engine.job import events as ev
from engine.job.dates import spoken
from engine.job.entries import issues
from engine.job.job import Job
from engine.job.rows import Row, told
from engine.job.vehicle import shows_damage
from engine.job.words import row_text
from engine.press import Press

# What of a shift a customer's paper depends on: cures go by the readings.
_TOLD = (ev.ReadingTaken,)
# What of a shift a paper that stays in the shop tells as well. Signs, drinks and the like are
# the worker's own.
_HOURS = (
    ev.ClockedOn,
    ev.ClockedOff,
    ev.BreakTaken,
    ev.BreakEnded,
    ev.OtherWorkStarted,
    ev.OtherWorkEnded,
    ev.BreakJudged,
    ev.GapJudged,
    ev.ClockJudged,
)


class Change(Struct, frozen=True):
    """One press that makes the difference.

    Fields:
        kind: what became of it.
        what: what it says first.
        at_us: the time it speaks of, for one that was moved the time it was moved from.
        to_us: where it was moved to; None otherwise.
        why: the reason given for striking; "" if none.
    """

    kind: Literal["added", "struck", "restored", "moved"]
    what: str
    at_us: int
    to_us: int | None = None
    why: str = ""


class Revision(Struct, frozen=True):
    """Which revision of a paper is made now.

    Fields:
        number: from 1.
        replaces_us: when the one it replaces went out; None for the first.
        changes: what changed since, in order of time.
        replaces: number of the one it replaces; 0 for the first.
    """

    number: int
    replaces_us: int | None
    changes: tuple[Change, ...]
    replaces: int = 0


def revision_of(
    job: Job, rows: Sequence[Row], paper: str = "record", inside: bool = False
) -> Revision:
    """The revision of a paper of `job` that is made of `rows`.

    Args:
        rows: the log's rows of the job and of its shifts, corrections included, as written.
        paper: its name as in `PaperIssued`; each name counts for itself.
        inside: True for a paper that stays in the shop: hours and private notes count too.
    """
    out = issues(job.id, rows, paper)
    if not out:
        return Revision(1, None, ())
    last = out[-1]
    numbers = [row.event.revision for row in out if isinstance(row.event, ev.PaperIssued)]
    replaces = numbers[-1]
    return Revision(
        number=max(numbers) + 1,
        replaces_us=last.entered_us,
        changes=_changes(job, rows, last, inside),
        replaces=replaces,
    )


def _changes(job: Job, rows: Sequence[Row], issue: Row, inside: bool) -> tuple[Change, ...]:
    earlier = [row for row in rows if row.written <= issue.written]
    written = {row.press for row in earlier}
    was = _presses(job, told(earlier), inside)
    now = _presses(job, told(rows), inside)
    reasons = {r.corrects: r.event.why for r in rows if isinstance(r.event, ev.PressStruck)}
    found = []
    for press in sorted(was.keys() | now.keys()):
        before, after = was.get(press), now.get(press)
        row = after or before
        if row is None or (before and after and before.at_us == after.at_us):
            continue
        what = row_text(row, {job.id: job})
        if before is not None and after is not None:
            found.append(Change("moved", what, before.at_us, after.at_us))
        elif after is None:
            found.append(Change("struck", what, row.at_us, why=reasons.get(press, "")))
        elif press in written:
            found.append(Change("restored", what, row.at_us))
        else:
            found.append(Change("added", what, row.at_us))
    return tuple(sorted(found, key=lambda change: change.at_us))


def _presses(job: Job, believed: Sequence[Row], inside: bool) -> Mapping[Press, Row]:
    """Press -> the first of its standing rows that such a paper depends on."""
    found: dict[Press, Row] = {}
    for row in believed:
        if _counts(job, row, inside):
            known = found.get(row.press)
            if known is None or row.written < known.written:
                found[row.press] = row
    return found


def _counts(job: Job, row: Row, inside: bool) -> bool:
    if row.by != "worker" or isinstance(row.event, ev.PaperIssued):
        return False
    if row.job:
        private = isinstance(row.event, ev.NoteWritten) and row.event.private
        if isinstance(row.event, ev.FileAttached):
            private = not _counted(job, row.event)
        return row.job == job.id and (inside or not private)
    return row.shift in job.shifts and isinstance(row.event, _TOLD + (_HOURS if inside else ()))


def _counted(job: Job, file: ev.FileAttached) -> bool:
    """True of a photo that the customer's paper counts: one of damage."""
    damages = (row.event for row in job.facts if isinstance(row.event, ev.DamageNoted))
    return any(shows_damage(file, damage.panel) for damage in damages)


def revision_text(revision: Revision, zone: str) -> str:
    """Which revision it is: "Revision 2, replaces revision 1 of Thu 26 Nov 2026 14:00."."""
    if revision.replaces_us is None:
        return f"Revision {revision.number}."
    when = spoken(revision.replaces_us, zone)
    return f"Revision {revision.number}, replaces revision {revision.replaces} of {when}."


def change_text(change: Change, zone: str) -> str:
    """A change in one line: "struck: finished: level roof (Coat), Thu 26 Nov 2026 14:00"."""
    to = "" if change.to_us is None else f" to {spoken(change.to_us, zone)}"
    why = f"; {change.why}" if change.why else ""
    return f"{change.kind}: {change.what}, {spoken(change.at_us, zone)}{to}{why}"
