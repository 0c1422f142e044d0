"""A day ahead as a page: what to decide, the starts, and the hours of the best one."""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.dates import hour_minutes
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.letters import cells, inert
from cartclock.engine.planning.day_hours import DayHours
from cartclock.engine.planning.day_words import DayWords
from cartclock.engine.planning.decision import DayPlan
from cartclock.tui.face.page import Air, Bar, Cells, Column, Heading, Page, PageRow, Table, Words

NAME = "Tomorrow"
MINUTES_SAID = "Minutes are those of moderate and of heavy work in an hour, by its heat."
_STARTS, _HOURS = 0, 1
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
    # Of a job without a coat no column speaks of one.
    coated = any(start.coat_us is not None for start in plan.starts)
    rows: list[PageRow] = [Words(said, bold=not at) for at, said in enumerate(words.decision(plan))]
    rows += [Air(), Heading("starts", table=_STARTS)]
    for start in plan.starts:
        best = start == plan.best
        then: tuple[str, ...] = ("", "")
        if start.coat_us is not None:
            then = words.coat_clock(start), ", ".join(start.against) or "good"
        cells = (
            ("> " if best else "  ") + words.clock(start.start_us),
            words.clock(start.done_us),
            words.clock(start.by_us, up=True),
            hour_minutes(start.rests_us / SECOND_US),
            *(then if coated else ()),
        )
        rows.append(Cells(_STARTS, cells, bold=best))
    rows += [Air(), Heading(words.day, table=_HOURS)]
    first_us = min(start.start_us for start in plan.starts)
    # Nobody begins in the hours before.
    for one in (one for one in hours.hours if hours.at(one.hour) + HOUR_US > first_us):
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
                    *((one.coat or "good",) if coated else ()),
                    words.strip(plan, one),
                ),
            )
        )
    rows += [Air(), Words(MINUTES_SAID, dim=True)]
    films = words.films(plan)
    rows += [Words(said, dim=True) for said in ([films] if films else [])]
    rows += [Words(said, dim=True) for said in words.notes()]
    tables = (_starts_table(plan, coated), _hours_table(words, plan, unit, coated))
    return Page(NAME, tuple(rows), said=words.day, tables=tables, reading=True)


def _longest(texts: Iterable[str]) -> int:
    """Cells of the longest word: a column so wide breaks none."""
    return max((cells(word) for text in texts for word in inert(text).split(" ")), default=0)


def _starts_table(plan: DayPlan, coated: bool) -> Table:
    least = _longest(", ".join(start.against) or "good" for start in plan.starts)
    coat = (Column("coat", rank=1), Column("air", least=least, folds=True))
    return Table(
        (
            Column("  start"),
            Column("done"),
            Column("4 in 5"),
            Column("rests", right=True, rank=2),
            *(coat if coated else ()),
        )
    )


def _hours_table(words: DayWords, plan: DayPlan, unit: TemperatureUnit, coated: bool) -> Table:
    head = "worked on"
    least = _longest((*head.split(" "), *(words.strip(plan, one) for one in words.hours.hours)))
    return Table(
        (
            Column("hour"),
            Column(f"air {unit}", right=True, rank=3),
            Column("RH", right=True, rank=5),
            Column("WBGT", right=True, rank=4),
            Column("minutes", least=6, most=12, rank=6),
            # Of moderate work and of heavy work.
            Column("moderate", right=True, rank=2),
            Column("heavy", right=True, rank=7),
            *((Column("coat", rank=1),) if coated else ()),
            Column(head, least=max(least, cells(head)), folds=True),
        ),
        indent=2,
    )
