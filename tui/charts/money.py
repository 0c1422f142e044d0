"""What an hour of work brought, job by job."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.dates import hours_text
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
        Column("day", least=6, rank=3),
        Column("vehicle", least=10, most=40, rank=2),
        Column("price", right=True, rank=1),
        Column("hours", right=True, rank=1),
        Column("an hour", right=True),
    )
)


class PaidJob(Struct, frozen=True):
    """A job with a price.

    Fields:
        number, day, vehicle: as they are said.
        price: in the shop's money, >= 0.
        seconds: of work on it, > 0.
    """

    number: int
    day: str
    vehicle: str
    price: float
    seconds: float

    @property
    def an_hour(self) -> float:
        """Price by hours of work."""
        return self.price / (self.seconds / 3600)


def money_page(jobs: Sequence[PaidJob], currency: str, as_table: bool = False) -> Page:
    """The page.

    Args:
        jobs: those with a price and work on them, the oldest first.
        currency: as the shop says it.
    """
    if not jobs:
        return unsaid(
            NAME, OF, "No job with a price and hours yet; V on Run, then price, enters one."
        )
    beside = f"{len(jobs)} job{'' if len(jobs) == 1 else 's'}"
    if as_table:
        rows = [
            (
                str(one.number),
                one.day,
                one.vehicle,
                f"{one.price:.0f}",
                hours_text(one.seconds),
                f"{one.an_hour:.0f}",
            )
            for one in reversed(jobs)
        ]
        return tabled(NAME, OF, beside, _TABLE, rows)
    if len(jobs) == 1:
        said = f"One job so far: {jobs[0].an_hour:.0f} {currency} an hour".rstrip()
        return unsaid(NAME, OF, f"{said}. From two on there is a chart.")
    each = tuple((float(one.number), one.an_hour) for one in jobs)
    means = tuple(
        (each[at][0], _mean(each[max(0, at + 1 - MEAN_OF) : at + 1])) for at in range(len(each))
    )
    chart = Plane(
        Axis("number", each[0][0], each[-1][0]),
        Axis("number", 0, max(y for _x, y in each), currency),
        (
            Series(f"mean of last {MEAN_OF}", "-", means, joined=True, dim=True),
            Series("a job", "o", each),
        ),
    )
    return drawn(NAME, OF, beside, chart)


def _mean(points: Sequence[tuple[float, float]]) -> float:
    return sum(y for _x, y in points) / len(points)
