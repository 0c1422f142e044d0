"""Outlook as a page: what is left of each open job, stage by stage, and its windows, on one scale.

It is no forecast: the plan's own minutes from this instant on, and the page says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cartclock.engine.dates import hours_text, spoken_near
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.films.long_lines import LongLine
from cartclock.engine.hours.remaining import stage_minutes
from cartclock.engine.now.caller import NOT_COUNTED, answer
from cartclock.engine.times import Instant
from cartclock.engine.until import bare, holds
from cartclock.tui.face.page import (
    Air,
    Cells,
    Column,
    Heading,
    Large,
    Page,
    PageRow,
    Reach,
    Table,
    Ticks,
    Words,
)
from cartclock.tui.pages.scale import named_cuts

NOTE = (
    "By the plan's minutes from now on, one stage after the other. Not counted: breaks, nights, "
    f"{NOT_COUNTED}."
)
# A cure of days would leave no room for the hours of the work. Our own judgement.
_FURTHEST_US = 36 * HOUR_US

# Points of the letters in which one job alone says when it should be ready. Our own judgement.
_HIGHEST = 10

_TABLE = Table(
    (
        Column(least=12, folds=True),
        Column(least=10, folds=True),
        Column(least=14, rank=1),
    ),
    indent=2,
)


def outlook_page(
    jobs: Sequence[Job], windows: Sequence[LongLine], now_us: Instant, zone: str
) -> Page:
    """The page.

    Args:
        jobs: the open ones, by number.
        windows: the long ones of all of them, in order.
        zone: of the place of work.
    """
    if not jobs:
        return Page("Outlook", (Words("No job is open: + on Today opens one."),), reading=True)
    start_us = Instant(bare(now_us))
    holds(now_us, MINUTE_US)
    ahead = {job.id: _stages(job, start_us) for job in jobs}
    marks = [ends for stages in ahead.values() for _name, _hands, _begins, ends in stages]
    marks += [min(line.closes_us or line.opens_us, start_us + _FURTHEST_US) for line in windows]
    last_us = max([start_us + MINUTE_US, *marks])
    # A little behind the last mark, or it could not be seen.
    end_us = Instant(round(start_us + (last_us - start_us) * 1.05))
    cuts = named_cuts(start_us, end_us, zone)
    ticks: PageRow = Cells(0, ("", "", Ticks(start_us, end_us, cuts)), dim=True)
    rows: list[PageRow] = [Words(NOTE, dim=True)]
    at = tuple(mark for mark, _word in cuts)
    for job in jobs:
        own = [line for line in windows if line.job.id == job.id]
        rows += _head(job, now_us, alone=len(jobs) == 1)
        rows.append(ticks)
        for name, hands, begins, ends in ahead[job.id]:
            reach = Reach(start_us, end_us, begins, ends, at)
            rows.append(Cells(0, (name, hands, reach)))
        for line in own:
            closes = None if line.closes_us is None else min(line.closes_us, end_us)
            reach = Reach(start_us, end_us, min(line.opens_us, end_us), closes, at)
            rows.append(Cells(0, (line.where, line.when, reach)))
        rows.append(Air())
    return Page("Outlook", tuple(rows[:-1]), tables=(_TABLE,), reading=True)


def _stages(job: Job, now_us: Instant) -> list[tuple[str, str, float, float]]:
    """Of each stage that is left its name, the time of the hands, begin and end by the plan."""
    found: list[tuple[str, str, float, float]] = []
    at_us = float(now_us)
    for stage in job.stages:
        if all(section.over for section in job.of(stage.name)):
            continue
        hands, longest = stage_minutes(job, stage, now_us)
        ends_us = at_us + max(hands, longest) * MINUTE_US
        said = hours_text(hands * 60) if hands else "no minutes"
        if longest >= hands + 1:
            said += f", {hours_text(longest * 60)} with its waits"
        found.append((stage.name, said, at_us, ends_us))
        at_us = ends_us
    return found


def _head(job: Job, now_us: Instant, alone: bool) -> Iterator[PageRow]:
    """The job, its promise, and what a caller would be told; of a job alone in large, too."""
    opened, promised = job.opened, ""
    if opened.promised_us is not None:
        promised = f"promised {spoken_near(opened.promised_us, now_us, opened.zone)}"
    yield Heading(f"{opened.number}  {opened.vehicle}", promised)
    told = answer(job, {job.id: job}, None, Instant(bare(now_us)))
    if alone:
        yield Large(f"{told.face.large} {told.face.clock}".rstrip(), _HIGHEST)
    yield Words(told.ready[:1].upper() + told.ready[1:], indent=2, bold=True)
