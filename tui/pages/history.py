"""History as a page: every job there was, the newest first, found by what is typed."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.dates import hours_text, local, spoken_day
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.hours.summary import JobLine
from cartclock.tui.face.page import Against, Cells, Column, Heading, Page, PageRow, Table, Words

CURSOR = "█"
"""Where the next letter comes."""

_TABLE = Table(
    (
        Column("job", right=True),
        Column("day", rank=2),
        Column("vehicle", least=12, folds=True),
        Column("taken of planned", least=8, most=40, rank=3),
        Column("planned", right=True, rank=1),
        Column("taken", right=True),
    )
)


def found_jobs(jobs: Sequence[tuple[str, JobLine]], typed: str) -> list[tuple[str, JobLine]]:
    """Those of the jobs, each with its id, in whose number, day, vehicle or plan what was typed
    stands, in capitals or not.
    """
    wanted = typed.casefold()
    return [
        (job, line)
        for job, line in jobs
        if wanted in f"{line.number} {_day(line)} {line.vehicle} {line.plan}".casefold()
    ]


def history_page(found: Sequence[JobLine], of: int, typed: str, unread: int) -> Page:
    """The page.

    Args:
        found: the jobs that are shown.
        of: how many there are.
        typed: what is looked for; "" shows all.
        unread: jobs that are still to be read.
    """
    longest = max((max(line.planned_us, line.hands_us) for line in found), default=0)
    rows: tuple[PageRow, ...] = tuple(_row(line, longest) for line in found)
    if not rows:
        rows = (Words("No job says that." if of else "No job yet.", entry=True),)
    count = f"{len(found)} of {of} job{'' if of == 1 else 's'}"
    beside = f"{count}, {unread} still to be read" if unread else count
    top = (Heading(f"find  {typed}{CURSOR}", beside), Heading(table=0))
    return Page("History", rows, "letters find", (_TABLE,), top)


def _row(line: JobLine, longest: int) -> PageRow:
    return Cells(
        0,
        (
            str(line.number),
            _day(line),
            line.vehicle,
            Against(line.hands_us, line.planned_us, longest) if longest else "",
            hours_text(line.planned_us / SECOND_US) if line.planned_us else "",
            hours_text(line.hands_us / SECOND_US),
        ),
        entry=True,
    )


def _day(line: JobLine) -> str:
    """The day on which a job was opened, without its weekday."""
    return spoken_day(local(line.opened_us, line.zone).date()).partition(" ")[2]
