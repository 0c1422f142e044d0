"""How much more or less than planned each stage took."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.dates import hours_text
from cartclock.tui.charts.sheets import tabled, unsaid
from cartclock.tui.face.page import Apart, Cell, Column, Page, Table

NAME = "Against plan"
_TABLE = Table(
    (
        Column("stage", least=10, most=24, folds=True),
        Column("planned", right=True, rank=3),
        Column("taken", right=True, rank=2),
        Column("more or less", right=True),
        Column(least=8, rank=1),
        Column("jobs", right=True, rank=4),
    )
)
_PLAIN = Table(_TABLE.columns[:4] + _TABLE.columns[5:])


class StageMean(Struct, frozen=True):
    """A stage over several jobs.

    Fields:
        planned_s, taken_s: hands on, the mean of a job, in seconds.
        jobs: how many, >= 1.
    """

    name: str
    planned_s: float
    taken_s: float
    jobs: int

    @property
    def more_s(self) -> float:
        """Taken less planned, in seconds."""
        return self.taken_s - self.planned_s


def stages_page(of: str, stages: Sequence[StageMean], as_table: bool = False) -> Page:
    """The page; what took longest over its plan stands first.

    Args:
        of: plan and body that the jobs have in common, or one vehicle.
    """
    if not stages:
        return unsaid(NAME, of, "No finished stage of this yet.")
    ordered = sorted(stages, key=lambda one: -one.more_s)
    if as_table:
        return tabled(NAME, of, "", _PLAIN, [_texts(one) for one in ordered])
    low, high = min(0.0, ordered[-1].more_s), max(0.0, ordered[0].more_s)
    rows: list[tuple[Cell, ...]] = []
    for one in ordered:
        *texts, jobs = _texts(one)
        strip = Apart(one.more_s, low, high) if low < high else ""
        rows.append((*texts, strip, jobs))
    said = "every stage as planned" if low == high else ""
    return tabled(NAME, of, said, _TABLE, rows)


def _texts(one: StageMean) -> tuple[str, ...]:
    # Of whole minutes, so that the three agree.
    planned, taken = round(one.planned_s / 60), round(one.taken_s / 60)
    more = taken - planned
    said = hours_text(abs(more) * 60)
    return (
        one.name,
        hours_text(planned * 60),
        hours_text(taken * 60),
        f"+{said}" if more > 0 else f"-{said}" if more < 0 else "as planned",
        str(one.jobs),
    )
