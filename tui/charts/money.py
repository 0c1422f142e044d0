"""What an hour of work brought, job by job."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.dates import hours_text, spoken_day
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.history.answers import PastJob
from cartclock.engine.plan.amounts import in_currency, whole_money
from cartclock.tui.charts.sheets import drawn, tabled, unsaid
from cartclock.tui.face.chart import Axis, Plane, Series
from cartclock.tui.face.page import Column, Page, Table

NAME = "Money an hour"
OF = "jobs with a price"
# Jobs that the line takes together. Our own judgement.
MOST_TOGETHER = 7

_TABLE = Table(
    (
        Column("job", right=True),
        Column("day", rank=3),
        Column("vehicle", least=10, most=40, rank=2),
        Column("price", right=True, rank=1),
        Column("hours", right=True, rank=1),
        Column("an hour", right=True),
    )
)


def money_page(jobs: Sequence[PastJob], currency: str, as_table: bool = False) -> Page:
    """The page.

    Args:
        jobs: closed ones with a price and work on them, the oldest first.
        currency: as the shop says it.
    """
    paid = [(one, one.money_an_hour) for one in jobs if one.money_an_hour is not None]
    if not paid:
        return unsaid(NAME, OF, "No closed job has a price and hours yet; V on Run takes a price.")
    beside = f"{len(paid)} job{'' if len(paid) == 1 else 's'}"
    newest = [one for one, _an_hour in paid[-MOST_TOGETHER:]]
    together = whole_money(_together(newest))
    answer = f"the last {len(newest)}: {in_currency(together, currency)} an hour"
    if as_table:
        rows = [
            (
                str(one.line.number),
                spoken_day(one.line.day).partition(" ")[2],
                one.line.vehicle,
                str(whole_money((one.line.money or 0) / 100)),
                hours_text(one.own_us / SECOND_US),
                str(whole_money(an_hour)),
            )
            for one, an_hour in reversed(paid)
        ]
        return tabled(NAME, answer, beside, _TABLE, rows)
    if len(paid) == 1:
        said = f"One job so far: {in_currency(whole_money(paid[0][1]), currency)} an hour"
        return unsaid(NAME, OF, f"{said}. From two on there is a chart.")
    # By their place in time: numbers of two carts would not go upwards.
    each = tuple((float(at), an_hour) for at, (_one, an_hour) in enumerate(paid, 1))
    jobs = [one for one, _an_hour in paid]
    together_up_to = tuple(
        (float(at), _together(jobs[max(0, at - MOST_TOGETHER) : at]))
        for at in range(1, len(jobs) + 1)
    )
    chart = Plane(
        Axis("count", each[0][0], each[-1][0]),
        Axis("number", 0, max(y for _x, y in each), currency),
        (
            Series(f"{len(newest)} together", "-", together_up_to, joined=True, dim=True),
            Series("a job, oldest first", "o", each),
        ),
    )
    return drawn(NAME, answer, beside, chart)


def _together(jobs: Sequence[PastJob]) -> float:
    """All money of these jobs by all their hours: a long job counts for more than a short one."""
    hundredths = sum(one.line.money or 0 for one in jobs)
    return hundredths / 100 / (sum(one.own_us for one in jobs) / HOUR_US)
