"""When a job would be ready, as it was told over its day: as expected, and four times in five.

Ready is what Run and a promise to the customer say: the work is done, and a cure is over.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cartclock.engine.ahead.told import ToldFinish
from cartclock.engine.dates import local, spoken_near, spoken_weekday
from cartclock.engine.times import Instant
from cartclock.tui.charts.sheets import SHADE, drawn, tabled, unsaid
from cartclock.tui.face.chart import Axis, Band, Plane, Series
from cartclock.tui.face.page import Column, Page, Table

NAME = "Ready as told"
_TABLE = Table(
    (
        Column("told at"),
        Column("ready"),
        Column("4 in 5 by"),
        # A narrow screen leaves it out; no time is cut.
        Column("work done", rank=1),
    )
)


def no_finish_page(as_table: bool = False) -> Page:
    """The page where no job is open, drawn or as a table alike."""
    return unsaid(NAME, "open jobs", "No job is open: + on Today opens one.")


def finish_page(
    vehicle: str,
    told: Sequence[ToldFinish],
    promised_us: Instant | None,
    zone: str,
    as_table: bool = False,
) -> Page:
    """The page.

    Args:
        told: in the order of their telling; together they may reach over midnights.
        promised_us: to the customer; None: nothing.
        zone: by whose clock the times are said.
    """
    promise = "" if promised_us is None else f"promised {_promised(promised_us, told, zone)}"
    if not told:
        return unsaid(NAME, vehicle, "It was not told yet when this job will be ready.")
    if as_table:
        rows = [
            (
                spoken_near(one.told_us, told[-1].told_us, zone),
                *(spoken_weekday(at_us, one.told_us, zone) for at_us in _of(one)),
            )
            for one in reversed(told)
        ]
        return tabled(NAME, vehicle, promise, _TABLE, rows)
    if len(told) == 1:
        ready, by, done = (spoken_weekday(at, told[0].told_us, zone) for at in _of(told[0]))
        said = f"Told once: ready about {ready}, four times in five by {by}"
        work = "" if done == ready else f"; the work done about {done}"
        return unsaid(NAME, vehicle, f"{said}{work}.")
    day = local(told[0].told_us, zone).date()
    across = [_minutes(one.told_us, day, zone) for one in told]
    ready_min = [_minutes(one.ready_us, day, zone) for one in told]
    by_min = [_minutes(one.by_us, day, zone) for one in told]
    heights = [*ready_min, *by_min]
    level = None
    if promised_us is not None:
        level = (_minutes(promised_us, day, zone), "promised")
        heights.append(level[0])
    way = tuple(zip(across, ready_min, strict=True))
    chart = Plane(
        Axis("clock", min(across), max(across), day=day),
        Axis("clock", min(heights), max(heights), day=day),
        (Series("ready", "o", way, joined=True),),
        level,
        Band("by 4 in 5", SHADE, way, tuple(zip(across, by_min, strict=True))),
    )
    return drawn(NAME, vehicle, promise, chart)


def _of(one: ToldFinish) -> tuple[Instant, ...]:
    """In the order of the table."""
    return one.ready_us, one.by_us, one.done_us


def _promised(promised_us: Instant, told: Sequence[ToldFinish], zone: str) -> str:
    last_us = told[-1].told_us if told else promised_us
    return spoken_weekday(promised_us, last_us, zone)


def _minutes(at_us: Instant, day: date, zone: str) -> float:
    """Minutes from the midnight before `day` by the clock on the wall."""
    here = local(at_us, zone)
    return (here.date() - day).days * 1440 + here.hour * 60 + here.minute + here.second / 60
