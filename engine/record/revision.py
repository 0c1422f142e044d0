"""Which revision a paper is, which one it replaces, and what changed in between.

A paper that left the laptop is not taken back: the next one says that it replaces it, and
which presses were added, struck, restored or moved since. Whether anything has changed is not
told by the presses but by what the paper shows: it is made of the rows that stood when it went
out and of all of them, and compared.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.after.entries import issues
from cartclock.engine.dates import spoken
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import with_readings
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.put_right import as_known
from cartclock.engine.facts.refold import folded
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.facts.words import row_text
from cartclock.engine.press import Press
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.incidents import incidents, of_incident
from cartclock.engine.vehicle.vehicle import shows_damage

# Whose papers: the record stays in the shop and tells all; the others go to the customer.
Reader = Literal["shop"] | ev.OutsidePaper
# What a paper shows if it is made of these rows, to be compared.
Shown = Callable[[Sequence[Row]], object]


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
    at_us: Instant
    to_us: Instant | None = None
    why: str = ""


class Revision(Struct, frozen=True):
    """Which revision of a paper is made now.

    Fields:
        number: from 1.
        replaces_us: when the one it replaces went out; None for the first.
        changes: presses that were added, struck, restored or moved since and are named to its
            reader, in order of time.
        replaces: number of the one it replaces; 0 for the first.
        changed: True if the paper shows something else than the one it replaces did.
    """

    number: int
    replaces_us: Instant | None
    changes: tuple[Change, ...]
    replaces: int = 0
    changed: bool = False


def revision_of(
    job: Job, rows: Sequence[Row], paper: str, shown: Shown, reader: Reader = "customer"
) -> Revision:
    """The revision of a paper of `job` that is made of `rows`.

    Args:
        rows: the log's rows of the job and of its shifts, corrections included, as written.
        paper: its name as in `PaperIssued`; each name counts for itself.
        shown: what the paper shows, as of one and the same moment.
        reader: of the press that makes the difference, only what may be told to this one.
    """
    out = issues(job.id, rows, paper)
    if not out:
        return Revision(1, None, ())
    last = out[-1]
    numbers = [row.event.revision for row in out if isinstance(row.event, ev.PaperIssued)]
    # That papers went out is no change of a paper.
    telling = [row for row in rows if not isinstance(row.event, ev.PaperIssued)]
    earlier = as_known(telling, last)
    changed = shown(earlier) != shown(telling)
    return Revision(
        number=max(numbers) + 1,
        replaces_us=last.entered_us,
        changes=_changes(job, earlier, telling, reader) if changed else (),
        replaces=numbers[-1],
        changed=changed,
    )


def _changes(
    job: Job, earlier: Sequence[Row], rows: Sequence[Row], reader: Reader
) -> tuple[Change, ...]:
    written = {row.press for row in earlier}
    was = _presses(job, believed_rows(earlier), reader)
    now = _presses(job, believed_rows(rows), reader)
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


def _presses(job: Job, believed: Sequence[Row], reader: Reader) -> Mapping[Press, Row]:
    """Press -> the first of its standing rows that this reader may be told of."""
    found: dict[Press, Row] = {}
    measured = _measured(job, believed)
    for row in believed:
        if _is_told(job, row, reader, measured):
            known = found.get(row.press)
            if known is None or row.written < known.written:
                found[row.press] = row
    return found


def _measured(job: Job, believed: Sequence[Row]) -> set[tuple[str, int]]:
    """What others measured that the shifts of the job went by."""
    shifts = folded(believed, (), {row.shift for row in believed} - {""}).shifts
    return {
        row.identity
        for id_ in job.shifts
        if id_ in shifts
        for row in with_readings(shifts[id_], shifts.values()).facts
        if row.shift != id_
    }


def _is_told(job: Job, row: Row, reader: Reader, measured: set[tuple[str, int]]) -> bool:
    kind = ev.KINDS.get(row.kind)
    if row.by != "worker" or kind is None or kind.of not in ("job", "shift"):
        return False
    own = row.job == job.id if row.job else row.shift in job.shifts
    if not own and row.identity not in measured:
        return False
    return reader == "shop" or (reader in kind.papers and not _is_private(job, row))


def _is_private(job: Job, row: Row) -> bool:
    """True of what stays in the shop: a private note, a photo that shows no damage, an incident
    that nobody said is for the customer.
    """
    event, incident = row.event, of_incident(row)
    if incident is not None:
        found = incidents(job).get(incident)
        return found is None or not found.told
    if isinstance(event, ev.FileAttached):
        damages = (row.event for row in job.facts if isinstance(row.event, ev.DamageNoted))
        return not any(shows_damage(event, damage.panel) for damage in damages)
    return isinstance(event, ev.NoteWritten) and event.private


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
