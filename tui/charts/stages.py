"""How much more or less than planned each stage took."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.dates import hours_text, nearest_minute
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.history.answers import PastStage
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


def stages_page(of: str, stages: Sequence[PastStage], as_table: bool = False) -> Page:
    """The page; what took longest over its plan stands first.

    Args:
        of: plan and body that the jobs have in common, or one vehicle.
    """
    if not stages:
        return unsaid(NAME, of, "No finished stage of this yet.")
    ordered = sorted(stages, key=lambda one: -one.more_us)
    said = _said_of_a_job(ordered)
    if as_table:
        return tabled(NAME, of, said, _PLAIN, [_texts(one) for one in ordered])
    # Of the minutes that stand beside it: what is as planned has no length.
    more = [taken - planned for planned, taken in map(_minutes, ordered)]
    low, high = min(0, *more), max(0, *more)
    rows: list[tuple[Cell, ...]] = []
    for one, minutes in zip(ordered, more, strict=True):
        *texts, jobs = _texts(one)
        strip = Apart(minutes, low, high) if low < high else ""
        rows.append((*texts, strip, jobs))
    return tabled(NAME, of, said, _TABLE, rows)


def _said_of_a_job(stages: Sequence[PastStage]) -> str:
    """How much more or less than planned all stages of a job took together."""
    if not any(one.more_us for one in stages):
        return "every stage as planned"
    jobs = max(one.jobs for one in stages)
    more_us = sum(one.more_us * one.jobs for one in stages) / jobs
    minutes = nearest_minute(abs(more_us) / SECOND_US)
    return f"a job: {_more(minutes if more_us > 0 else -minutes)}"


def _more(minutes: int) -> str:
    said = hours_text(abs(minutes) * 60)
    return f"+{said}" if minutes > 0 else f"-{said}" if minutes < 0 else "as planned"


def _minutes(one: PastStage) -> tuple[int, int]:
    """Planned and taken, in whole minutes, so that the difference agrees with both."""
    planned, taken = (nearest_minute(us / SECOND_US) for us in (one.planned_us, one.hands_us))
    return planned, taken


def _texts(one: PastStage) -> tuple[str, ...]:
    planned, taken = _minutes(one)
    return (
        one.stage,
        hours_text(planned * 60),
        hours_text(taken * 60),
        _more(taken - planned),
        str(one.jobs),
    )
