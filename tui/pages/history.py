"""History as a page: every job there was, the newest first, found by what is typed.

Of very many the newest are laid out: nobody scrolls through ten years.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Sequence
from datetime import date

from msgspec.structs import replace

from cartclock.engine.dates import hour_minutes, spoken_day
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.history.answers import PastJob, Sought, job_handle
from cartclock.engine.plan.amounts import whole_money
from cartclock.tui.face.page import Against, Cells, Column, Heading, Page, PageRow, Table, Words

NO_JOB = "There is no job yet: + on Today opens one."
"""Of a log that has none, whatever is looked for."""

CURSOR = "█"
"""Where the next letter comes."""

MOST_SHOWN = 100
"""Jobs that are laid out. Our own judgement."""

_MONEY = Column(right=True, rank=1)
_COLUMNS = (
    Column("job", right=True),
    Column("day", rank=2),
    # On 40 columns money an hour has its place beside it.
    Column("vehicle", least=16, folds=True),
    # Cropped: a job is one line.
    Column("plan", least=12, most=48, rank=3),
    Column("of plan", least=8, most=40, rank=5),
    Column("planned", right=True, rank=4),
    Column("taken", right=True),
)
_IMPORTED = Column(rank=1)


def history_page(
    found: Sequence[PastJob],
    more: bool,
    of: int,
    typed: str,
    unread: int,
    only: Sought,
    currency: str = "",
) -> Page:
    """The page.

    Args:
        found: the newest of the jobs that are left.
        more: True if there are older ones.
        of: how many there are at all.
        typed: what is looked for; "" shows all.
        unread: jobs that are still to be read.
        only: what is looked at, of all jobs.
        currency: of prices; "" for none.
    """
    longest = max((max(one.line.planned_us, one.line.hands_us) for one in found), default=0)
    priced = any(one.money_an_hour is not None for one in found)
    rows: list[PageRow] = [_row(one, longest, priced) for one in found]
    if not rows:
        none = "No job is read yet." if unread else NO_JOB
        rows.append(Words("No job says that." if of else none, entry=True))
    if more:
        rows.append(Words("And older ones; letters find them."))
    newest = "the newest " if more else ""
    count = f"{newest}{len(found)} of {of} job{'' if of == 1 else 's'}" if of else ""
    left = f"{unread} still to be read" if unread else ""
    an_hour = f"{currency}/h" if currency else "an hour"
    # Beside it stand the hands, which are not all that it is reckoned on.
    of_what = f"{an_hour} of all work" if priced else ""
    beside = ", ".join(filter(None, (count, only_text(only), left, of_what)))
    money = (replace(_MONEY, head=an_hour),) if priced else ()
    table = Table((*_COLUMNS, *money, _IMPORTED))
    top: tuple[PageRow, ...] = (Heading(f"find  {typed}{CURSOR}", beside),)
    if found:
        top += (Heading(table=0),)
    return Page("History", tuple(rows), "letters find", (table,), top)


def only_text(only: Sought) -> str:
    """Which jobs are looked at, in words; "" for all of them."""
    return ", ".join(filter(None, (only.state, only.plan, only.shape, _days(only))))


def _days(only: Sought) -> str:
    """From when to when, a whole month by its name."""
    days = dict.fromkeys(map(_said, filter(None, (only.from_day, only.to_day))))
    if len(days) < 2:
        return "".join(days)
    first, last = date.fromisoformat(only.from_day), date.fromisoformat(only.to_day)
    month = first.replace(day=monthrange(first.year, first.month)[1])
    if first.day == 1 and last == month:
        return _said(only.from_day).partition(" ")[2]
    return " to ".join(days)


def _row(one: PastJob, longest: int, priced: bool) -> PageRow:
    line, an_hour = one.line, one.money_an_hour
    money = () if not priced else ("" if an_hour is None else str(whole_money(an_hour)),)
    return Cells(
        0,
        (
            job_handle(one.job, line),
            _said(line.day),
            line.vehicle,
            line.plan,
            Against(line.hands_us, line.planned_us, longest) if longest else "",
            hour_minutes(line.planned_us / SECOND_US) if line.planned_us else "",
            "open" if line.state == "open" else hour_minutes(line.hands_us / SECOND_US),
            *money,
            "imported" if line.origin else "",
        ),
        entry=True,
    )


def _said(day: str) -> str:
    """A date without its weekday."""
    return spoken_day(day).partition(" ")[2]
