"""The log as a page: a press with the rows it wrote, newest first, a day under its date."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Mapping, Sequence

from cartclock.engine.dates import clock_text, local, spoken_day
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row, believed_rows, standing
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Other, Shift
from cartclock.engine.facts.words import main_row, note_text, row_text
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.letters import cells
from cartclock.engine.press import Press
from cartclock.engine.times import Instant
from cartclock.tui.face.page import Cells, Column, Heading, Page, PageRow, Table

# Cells of the column that says what was done. Our own judgement.
_WHAT = 22

_TABLE = Table(
    (
        Column("time"),
        Column("what", least=8, most=_WHAT, folds=True),
        Column("", least=12, folds=True),
        Column("took", right=True, rank=1),
        Column("", least=7, folds=True),
    ),
    stacks=True,
)


def by_press(rows: Sequence[Row]) -> list[list[Row]]:
    """The rows of each press, the newest press first."""
    presses: dict[Press, list[Row]] = {}
    for row in rows:
        presses.setdefault(row.press, []).append(row)
    return sorted(presses.values(), key=lambda rows: rows[0].written, reverse=True)


def log_page(
    rows: Sequence[Row],
    jobs: Mapping[str, Job],
    shifts: Collection[Shift],
    today: datetime.date,
    zone: str,
    worker: str,
    unit: TemperatureUnit = "C",
) -> Page:
    """The page.

    Args:
        rows: as written, corrections among them; at least one.
        today: its presses need no date.
        zone: where times are told.
        worker: who presses here, and need not be named.
        unit: of temperatures.
    """
    stands = standing(rows)
    at = {row.identity: row.at_us for row in believed_rows(rows)}
    presses = by_press(rows)
    by_name = {ones[0].press: ones for ones in presses}
    took = _lengths(jobs.values(), shifts)
    found: list[PageRow] = []
    day = today
    for ones in presses:
        first = ones[0]
        at_us = at.get(first.identity, first.at_us)
        here = local(at_us, zone)
        if here.date() != day:
            day = here.date()
            found.append(Heading(spoken_day(day)))
        notes = _notes(first, at_us, stands.get(first.press, True), worker, zone)
        for number, row in enumerate(ones):
            of = None if row.corrects is None else by_name.get(row.corrects)
            what, where = _said(row, jobs, main_row(of) if of else None, unit)
            found.append(
                Cells(
                    0,
                    (
                        "" if number else f"{here:%H:%M:%S}",
                        what,
                        where,
                        "" if number else took.get(first.press, ""),
                        "" if number else ", ".join(notes),
                    ),
                    entry=not number,
                    dim=not stands.get(first.press, True),
                )
            )
    count = len(presses)
    said = f"{count} press{'' if count == 1 else 'es'}, newest first"
    return Page("Log", tuple(found), said, (_TABLE,), (Heading(table=0),))


def _said(
    row: Row, jobs: Mapping[str, Job], meant: Row | None, unit: TemperatureUnit
) -> tuple[str, str]:
    """What a row says, and of what; `meant` as in `row_text`."""
    what, where = _parted(row_text(row, jobs, meant, unit))
    note = (meant or row).event
    job = jobs.get((meant or row).job)
    if isinstance(note, ev.NoteWritten) and job is not None:
        # Of two cars on one day it is to be seen whose sheet it went on.
        said = note_text(note, job)
        return ("note", said) if meant is None else (what, f"note {said}")
    return what, where


def _parted(text: str) -> tuple[str, str]:
    """What was done and where, for their columns: behind the colon, or behind a small word where
    what is in front of it has no room in its column.
    """
    what, _colon, where = text.partition(": ")
    for small in (" on ", " of "):
        if cells(what) > _WHAT and small in text[:_WHAT]:
            what, _small, where = text.partition(small)
            return f"{what}{small.rstrip()}", where
    return what, where


def _notes(first: Row, at_us: Instant, stands: bool, worker: str, zone: str) -> Iterator[str]:
    """What is to be known of a press: whose it was, and what was corrected of it."""
    if not stands:
        yield "struck"
    elif at_us != first.at_us:
        yield "moved"
    elif first.at_us != first.entered_us:
        yield f"entered {local(first.entered_us, zone):%H:%M}"
    if first.by == "machine":
        yield "machine"
    elif first.worker != worker:
        yield first.worker


def _lengths(jobs: Collection[Job], shifts: Collection[Shift]) -> dict[Press, str]:
    """How long that took which a press ended: from first to last touch, or the whole break."""
    found: dict[Press, int] = {}
    for shift in shifts:
        presses = [*(span.press for span in shift.spans), shift.since_press]
        for span, ended_by in zip(shift.spans, presses[1:], strict=True):
            if isinstance(span.doing, Break | Other):
                found[ended_by] = span.end_us - span.start_us
    for job in jobs:
        for stint in job.stints:
            if not stint.shared:
                found[stint.press] = stint.last_us - stint.first_us
    return {press: clock_text(length_us / SECOND_US) for press, length_us in found.items()}
