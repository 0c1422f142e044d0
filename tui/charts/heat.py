"""Hours in the heat, week by week."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from cartclock.engine.body.watch import degrees
from cartclock.engine.dates import hour_minutes, hours_text, spoken_day
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.history.answers import HeatWeek
from cartclock.tui.charts.sheets import drawn, tabled, unsaid
from cartclock.tui.face.chart import Axis, Columns, Stack
from cartclock.tui.face.page import Column, Page, Table

NAME, OF = "Heat", "by week"
NOTE = "screening estimate"
_WEEK = timedelta(weeks=1)
# WBGT is of a whole hour that readings cover; minutes in a band may be of less than one.
NO_HOUR = "no whole hour"

_TABLE = Table(
    (
        Column("week of"),
        Column("caution", right=True),
        Column("over", right=True),
        Column("rested", right=True, rank=1),
        Column("drunk", right=True, rank=2),
        Column("hottest WBGT", right=True, rank=3),
    )
)


def heat_page(weeks: Sequence[HeatWeek], unit: TemperatureUnit, as_table: bool = False) -> Page:
    """The page.

    Args:
        weeks: of one worker, the oldest first; weeks without a shift between them are filled in.
        unit: of temperatures.
    """
    if not weeks:
        return unsaid(NAME, OF, "No shift yet.")
    if as_table:
        rows = [
            (
                _said(_monday(one.week)),
                hours_text(one.caution_us / SECOND_US),
                hours_text(one.over_us / SECOND_US),
                hours_text(one.heat_rest_us / SECOND_US),
                f"{one.drinks_ml / 1000:.1f} l",
                NO_HOUR if one.peak_c is None else degrees(one.peak_c, unit),
            )
            for one in reversed(weeks)
        ]
        return tabled(NAME, OF, NOTE, _TABLE, rows)
    newest = weeks[-1]
    over, caution = (hour_minutes(us / SECOND_US) for us in (newest.over_us, newest.caution_us))
    most = max(one.caution_us + one.over_us for one in weeks)
    first = _monday(weeks[0].week)
    if not most:
        said = f"No minute in caution or over the limit since the week of {_said(first)}"
        return unsaid(NAME, OF, f"{said}; {NOTE}.")
    if len(weeks) == 1:
        said = f"One week so far, of {_said(first)}: {over} over the limit, {caution} in caution"
        return unsaid(NAME, OF, f"{said}; {NOTE}. From two on there is a chart.")
    known = {_monday(one.week): one for one in weeks}
    stacks = []
    for nth in range((max(known) - first).days // 7 + 1):
        monday = first + nth * _WEEK
        one = known.get(monday)
        lengths = (
            (0.0, 0.0) if one is None else (one.over_us / MINUTE_US, one.caution_us / MINUTE_US)
        )
        stacks.append(Stack(_said(monday).rpartition(" ")[0], lengths))
    parts = (("over the limit", "█"), ("caution", "▒"))
    up = Axis("length", 0, most / MINUTE_US)
    of_newest = f"week of {_said(_monday(newest.week)).rpartition(' ')[0]}, {NOTE}"
    return drawn(
        NAME,
        f"{over} over, {caution} caution",
        of_newest,
        Columns(up, parts, tuple(stacks), "weeks"),
    )


def _monday(week: str) -> date:
    """The first day of a week, "2026-W30"."""
    year, number = week.split("-W")
    return date.fromisocalendar(int(year), int(number), 1)


def _said(day: date) -> str:
    """A date without its weekday."""
    return spoken_day(day).partition(" ")[2]
