"""A day ahead as a page: what to decide, the starts, and the hours of the best one."""

from __future__ import annotations

from cartclock.engine.dates import hour_minutes
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.planning.day_hours import DayHours
from cartclock.engine.planning.day_plan import DayPlan
from cartclock.engine.planning.day_words import DayWords
from cartclock.tui.face.page import Air, Bar, Cells, Column, Heading, Page, PageRow, Table, Words

NAME = "Tomorrow"
_STARTS, _HOURS = 0, 1
_STARTS_TABLE = Table(
    (
        Column("  start"),
        Column("done"),
        Column("4 in 5"),
        Column("rests", right=True, rank=2),
        Column("coat", rank=1),
        Column("air then", least=4, folds=True),
    )
)
_FULL_HOUR = 60.0


def unplanned_page(why: str) -> Page:
    """The page while there is nothing to plan by.

    why: what is missing, and what gives it.
    """
    return Page(NAME, (Words(why),), reading=True)


def tomorrow_page(hours: DayHours, plan: DayPlan, unit: TemperatureUnit) -> Page:
    """The page.

    unit: of temperatures.
    """
    words = DayWords(hours, unit)
    rows: list[PageRow] = [Words(said, bold=not at) for at, said in enumerate(words.decision(plan))]
    rows += [Air(), Heading("starts", table=_STARTS)]
    for start in plan.starts:
        best = start == plan.best
        coat = "" if start.coat_us is None else words.clock(start.coat_us)
        then = "" if start.coat_us is None else ", ".join(start.against) or "good"
        cells = (
            ("> " if best else "  ") + words.clock(start.start_us),
            words.clock(start.done_us),
            words.clock(start.by_us, up=True),
            hour_minutes(start.rests_us / SECOND_US),
            coat,
            then,
        )
        rows.append(Cells(_STARTS, cells, bold=best))
    rows += [Air(), Heading(words.day, table=_HOURS)]
    for one in hours.hours:
        minutes = one.minutes.get("moderate")
        heavy = one.minutes.get("heavy")
        rows.append(
            Cells(
                _HOURS,
                (
                    f"{one.hour:02}",
                    words.degrees(one.air_c),
                    f"{one.rh:.0f}",
                    words.degrees(one.wbgt_c, 1),
                    "" if minutes is None else Bar(minutes / _FULL_HOUR),
                    "" if minutes is None else f"{minutes:.0f}",
                    "" if heavy is None else f"{heavy:.0f}",
                    one.coat or "good",
                    words.strip(plan, one),
                ),
            )
        )
    rows.append(Air())
    films = words.films(plan)
    rows += [Words(said, dim=True) for said in ([films] if films else [])]
    rows += [Words(said, dim=True) for said in words.notes()]
    return Page(
        NAME, tuple(rows), said=words.day, tables=(_STARTS_TABLE, _hours_table(unit)), reading=True
    )


def _hours_table(unit: TemperatureUnit) -> Table:
    return Table(
        (
            Column("hour"),
            Column(f"air {unit}", right=True),
            Column("RH", right=True, rank=3),
            Column("WBGT", right=True, rank=2),
            Column("minutes of moderate work", least=6, most=12, rank=4),
            Column("", right=True),
            Column("heavy", right=True, rank=5),
            Column("coat", rank=1),
            Column("worked on", least=8, folds=True, rank=1),
        ),
        indent=2,
    )
