"""What an hour of work brought, job by job."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.dates import hours_text, spoken_day
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.history.answers import PastJob
from cartclock.engine.plan.amounts import in_currency
from cartclock.tui.charts.sheets import drawn, tabled, unsaid
from cartclock.tui.face.chart import Axis, Plane, Series
from cartclock.tui.face.page import Column, Page, Table

NAME = "Money an hour"
OF = "jobs with a price"
# Jobs that the line of the mean takes together. Our own judgement.
MEAN_OF = 7

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
    newest = [an_hour for _one, an_hour in paid[-MEAN_OF:]]
    mean = f"{sum(newest) / len(newest):.0f}"
    answer = f"the last {len(newest)}: {in_currency(mean, currency)} an hour"
    if as_table:
        rows = [
            (
                str(one.line.number),
                spoken_day(one.line.day).partition(" ")[2],
                one.line.vehicle,
                f"{(one.line.money or 0) / 100:.0f}",
                hours_text(one.own_us / SECOND_US),
                f"{an_hour:.0f}",
            )
            for one, an_hour in reversed(paid)
        ]
        return tabled(NAME, answer, beside, _TABLE, rows)
    if len(paid) == 1:
        said = f"One job so far: {in_currency(f'{paid[0][1]:.0f}', currency)} an hour"
        return unsaid(NAME, OF, f"{said}. From two on there is a chart.")
    # By their place in time: numbers of two carts would not go upwards.
    each = tuple((float(at), an_hour) for at, (_one, an_hour) in enumerate(paid, 1))
    means = tuple(
        (each[at][0], _mean(each[max(0, at + 1 - MEAN_OF) : at + 1])) for at in range(len(each))
    )
    chart = Plane(
        Axis("count", each[0][0], each[-1][0]),
        Axis("number", 0, max(y for _x, y in each), currency),
        (
            Series(f"mean of {MEAN_OF}", "-", means, joined=True, dim=True),
            Series("a job, oldest first", "o", each),
        ),
    )
    return drawn(NAME, answer, beside, chart)


def _mean(points: Sequence[tuple[float, float]]) -> float:
    return sum(y for _x, y in points) / len(points)
