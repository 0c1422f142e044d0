"""History as a page: every job there was, the newest first, found by what is typed.

Of very many the newest are laid out and the others counted: nobody scrolls through ten years.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.dates import hours_text, local, spoken_day
from cartclock.engine.facts.job import JobState
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.history.job_lines import JobLine
from cartclock.tui.face.page import Against, Cells, Column, Heading, Page, PageRow, Table, Words

CURSOR = "█"
"""Where the next letter comes."""

MOST_SHOWN = 200
"""Jobs that are laid out. Our own judgement."""

_TABLE = Table(
    (
        Column("job", right=True),
        Column("day", rank=2),
        Column("vehicle", least=12, folds=True),
        Column("plan", least=12, most=28, rank=3, folds=True),
        Column("of plan", least=8, most=40, rank=4),
        Column("planned", right=True, rank=1),
        Column("taken", right=True),
        Column(rank=1),
    )
)


class Only(Struct, frozen=True):
    """Which jobs are looked at: of one plan, by its name, and of one state; "" for any."""

    plan: str = ""
    state: JobState | Literal[""] = ""

    @property
    def said(self) -> str:
        """In words; "" for all of them."""
        return ", ".join(filter(None, (self.state, self.plan)))

    def fits(self, line: JobLine) -> bool:
        """True for a job that is looked at."""
        return self.plan in ("", line.plan) and self.state in ("", line.state)


ALL = Only()


def found_jobs(
    jobs: Sequence[tuple[str, JobLine]], typed: str, only: Only = ALL
) -> list[tuple[str, JobLine]]:
    """Those of the jobs, each with its id, in whose number, day, vehicle or plan every word that
    was typed stands, in capitals or not.
    """
    words = typed.casefold().split()
    found = []
    for job, line in jobs:
        if only.fits(line):
            said = f"{line.number} {_day(line)} {line.vehicle} {line.plan}".casefold()
            if all(word in said for word in words):
                found.append((job, line))
    return found


def history_page(
    found: Sequence[JobLine], of: int, typed: str, unread: int, only: Only = ALL
) -> Page:
    """The page.

    Args:
        found: the jobs that are left of those that are looked at.
        of: how many there are at all.
        typed: what is looked for; "" shows all.
        unread: jobs that are still to be read.
        only: which are looked at.
    """
    shown = found[:MOST_SHOWN]
    longest = max((max(line.planned_us, line.hands_us) for line in shown), default=0)
    rows: list[PageRow] = [_row(line, longest) for line in shown]
    if not rows:
        rows.append(Words("No job says that." if of else "No job yet.", entry=True))
    if len(found) > len(shown):
        rows.append(Words(f"And {len(found) - len(shown)} older ones; letters find them."))
    count = f"{len(found)} of {of} job{'' if of == 1 else 's'}"
    left = f"{unread} still to be read" if unread else ""
    beside = ", ".join(filter(None, (count, only.said, left)))
    top = (Heading(f"find  {typed}{CURSOR}", beside), Heading(table=0))
    return Page("History", tuple(rows), "letters find", (_TABLE,), top)


def _row(line: JobLine, longest: int) -> PageRow:
    return Cells(
        0,
        (
            str(line.number),
            _day(line),
            line.vehicle,
            line.plan,
            Against(line.hands_us, line.planned_us, longest) if longest else "",
            hours_text(line.planned_us / SECOND_US) if line.planned_us else "",
            hours_text(line.hands_us / SECOND_US),
            line.state if line.state == "open" else "",
        ),
        entry=True,
    )


def _day(line: JobLine) -> str:
    """The day on which a job was opened, without its weekday."""
    return spoken_day(local(line.opened_us, line.zone).date()).partition(" ")[2]
