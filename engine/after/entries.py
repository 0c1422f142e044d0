"""The entries of a customer's calendar: what of the aftercare and the cures has a date.

An entry is known by what the plan says of it, not by its time: a date that moves is the same
entry at another time, and one that is no longer there was dropped.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.aftercare import Care, CureEnd, cares, cures
from cartclock.engine.after.dates import ToldDate
from cartclock.engine.after.dues import Due
from cartclock.engine.after.visits import NEVER_CLOSED, Closed, own_day
from cartclock.engine.dates import spoken_day
from cartclock.engine.facts import job as jobs_
from cartclock.engine.facts.events import PaperIssued
from cartclock.engine.facts.put_right import as_known
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.plan.plan import CareAbout
from cartclock.engine.times import Instant

EntryKind = Literal["until", "from", "every", "cure"]


class Entry(Struct, frozen=True):
    """One entry. Either the two instants are given or the two days, never both.

    Fields:
        identity: what it is, the same for ever within a job and its plan.
        kind: until an end, from a beginning on, one of a row of repeats, a cure.
        say: the sentence, with "(2 of 4)" for one of several repeats.
        notes: what else is to be said, in sentences.
        visit: True if the customer comes to the shop.
        about: what the line of the aftercare speaks of; "" of a cure.
        from_us, to_us: beginning and end; equal for a mere moment. 0 where days are given.
        from_day, to_day: first day and the day after the last, ISO 8601 text; "" where
            instants are given.
    """

    identity: str
    kind: EntryKind
    say: str
    notes: tuple[str, ...]
    visit: bool = False
    about: CareAbout = ""
    from_us: Instant = Instant(0)
    to_us: Instant = Instant(0)
    from_day: str = ""
    to_day: str = ""

    @property
    def by_day(self) -> bool:
        """True if it goes by calendar days."""
        return bool(self.from_day)


def entries(
    found: Iterable[Care],
    cured: Iterable[CureEnd],
    zone: str,
    touch: ToldDate | None = None,
    wet: ToldDate | None = None,
) -> tuple[Entry, ...]:
    """The entries of these aftercares and cures, in their order; what has no date has none.

    touch: from when on the vehicle may be touched; what ends it last is left alone until then.
    wet: from when on it may get wet; a line that speaks of water holds until then.
    """
    made = [_cure_entry(cure, touch) for cure in cured if cure.not_before_us is not None]
    for care in found:
        made += [_kept_dry(entry, care, wet) for entry in _care_entries(care, zone)]
    return tuple(made)


def _cure_entry(cure: CureEnd, touch: ToldDate | None) -> Entry:
    begun_us, ends_us = cure.anchor_us or Instant(0), cure.not_before_us or Instant(0)
    if touch is not None and touch.stage == cure.stage and touch.at_us is not None:
        ends_us = max(ends_us, touch.at_us)
    return Entry(
        identity=f"cure/{cure.stage}",
        kind="cure",
        say=f"{cure.stage}: leave it alone, it cures.",
        notes=("The time is an example, replace it from the pack.",) if cure.example else (),
        from_us=begun_us,
        to_us=max(begun_us, ends_us),
    )


def _kept_dry(entry: Entry, care: Care, wet: ToldDate | None) -> Entry:
    """An end of the aftercare, later where a product of that stage must stay dry for longer."""
    if entry.kind != "until" or entry.about != "water" or entry.by_day:
        return entry
    if wet is None or wet.at_us is None or wet.stage != care.after or wet.at_us <= entry.to_us:
        return entry
    return replace(entry, to_us=wet.at_us)


def _care_entries(care: Care, zone: str) -> list[Entry]:
    begin = next((due for due in care.dues if due.kind == "from"), None)
    end = next((due for due in care.dues if due.kind == "until"), None)
    # A beginning and an end that both go by hours or both by days are one stretch.
    joined = begin if begin is not None and end is not None and _alike(begin, end) else None
    return [
        _entry(care, due, joined if due is end else None, zone)
        for due in care.dues
        if due is not joined
    ]


def _alike(begin: Due, end: Due) -> bool:
    if begin.at_us is not None and end.at_us is not None:
        return begin.at_us <= end.at_us
    return bool(begin.day and end.day) and begin.day <= end.day


def _entry(care: Care, due: Due, begin: Due | None, zone: str) -> Entry:
    which = f"/{due.nth}" if due.kind == "every" else ""
    say = f"{due.say} ({due.nth} of {due.of})" if due.of > 1 else due.say
    from_us = to_us = 0
    from_day = to_day = ""
    if due.at_us is not None:
        from_us = to_us = due.at_us
        if due.kind == "until":
            started_us = care.anchor_us if begin is None else begin.at_us
            from_us = min(due.at_us, due.at_us if started_us is None else started_us)
    else:
        last = own_day(due, zone)
        first = last
        if due.kind == "until":
            started = begin if begin is not None else _anchor(care)
            first = min(last, last if started is None else own_day(started, zone))
        from_day, to_day = first.isoformat(), (last + timedelta(days=1)).isoformat()
    return Entry(
        identity=f"{due.kind}{which}/{care.say}",
        kind=due.kind,
        say=say,
        notes=_notes(care, due),
        visit=due.visit,
        about=care.about,
        from_us=Instant(from_us),
        to_us=Instant(to_us),
        from_day=from_day,
        to_day=to_day,
    )


def _anchor(care: Care) -> Due | None:
    if care.anchor_us is None:
        return None
    return Due(care.say, "from", care.source, "", at_us=care.anchor_us)


def _notes(care: Care, due: Due) -> tuple[str, ...]:
    said = ["From then on."] if due.kind == "from" else []
    if due.moved_from:
        said.append(f"Moved from {spoken_day(due.moved_from)}: {due.why}.")
    elif due.visit and not care.days_known:
        said.append("If the shop is closed that day, on its next open day.")
    said += care.wet
    if care.if_not:
        said.append(care.if_not)
    source = "example, replace from the pack" if care.example else care.source
    after = care.after or "the close of the job"
    counted = f"Every {due.duration} from" if due.kind == "every" else f"{due.duration} after"
    said.append(f"{counted} {after}; source: {source}.")
    return tuple(said)


def handed_out(
    job_id: str, rows: Sequence[Row], paper: str, closed: Closed = NEVER_CLOSED
) -> tuple[Entry, ...]:
    """Every entry that an earlier paper of this name held, as it was held last.

    rows: the log's rows of the job, corrections included, as written. An issue that was struck
    handed nothing out.
    """
    found: dict[str, Entry] = {}
    for issue in issues(job_id, rows, paper):
        before = believed_rows(as_known(rows, issue))
        job, _odd = jobs_.fold_job(row for row in before if row.job == job_id)
        if job is None:
            continue
        # Only that an entry was there counts, so the readings do not.
        for entry in entries(cares(job, closed), cures(job, ()), job.opened.zone):
            found[entry.identity] = entry
    return tuple(found.values())


def issues(job_id: str, rows: Sequence[Row], paper: str) -> list[Row]:
    """The standing rows by which papers of this name left the laptop, as written."""
    standing = [
        row
        for row in believed_rows(rows)
        if row.job == job_id and isinstance(row.event, PaperIssued) and row.event.paper == paper
    ]
    return sorted(standing, key=lambda row: row.written)
