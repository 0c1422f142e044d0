"""Outlook as a page: when each open job will be done, stage by stage, and its windows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cartclock.engine.ahead.causes import causes
from cartclock.engine.ahead.finish import Finish
from cartclock.engine.ahead.foreseen import Foresight
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.ahead.telling import (
    about_text,
    beside_text,
    by_text,
    calls_now,
    causes_text,
    helps_text,
    promise_sentence,
    ready_about,
    ready_sentence,
)
from cartclock.engine.dates import clock_apart, hour_minutes, spoken_near
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.films.long_lines import LongLine
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

# A cure of days would leave no room for the hours of the work. Our own judgement.
_FURTHEST_US = 36 * HOUR_US

# Points of the letters in which one job alone says when it should be ready. Our own judgement.
_HIGHEST = 14
_STAGES, _WINDOWS = 0, 1
_TABLES = (
    Table(
        (
            Column("stage", least=10, folds=True),
            Column("hands", right=True, rank=1),
            Column("done", right=True),
            Column("4 in 5", right=True),
            Column(least=14, rank=2),
        ),
        indent=2,
    ),
    Table(
        (
            Column(least=12, folds=True),
            Column(least=10, folds=True),
            Column(least=14, rank=1),
        ),
        indent=2,
    ),
)


def outlook_page(
    jobs: Sequence[Job],
    windows: Sequence[LongLine],
    ahead: Foresight,
    now_us: Instant,
    zone: str,
    unit: TemperatureUnit = "C",
) -> Page:
    """The page.

    Args:
        jobs: the open ones, by number.
        windows: the long ones of all of them, in order.
        ahead: what is ahead of the worker.
        zone: of the place of work now; a job is told by the clock of the place it was opened at.
        unit: of temperatures.
    """
    if not jobs:
        return Page("Outlook", (Words("No job is open: + on Today opens one."),), reading=True)
    start_us = Instant(bare(now_us))
    holds(now_us, MINUTE_US)
    found = ahead.at(now_us)
    told = {job.id: found.finish(job.id) for job in jobs}
    marks: list[int] = [stage.by_us for one in told.values() if one for stage in one.stages]
    marks += [min(line.closes_us or line.opens_us, start_us + _FURTHEST_US) for line in windows]
    last_us = max([start_us + MINUTE_US, *marks])
    # A little behind the last mark, or it could not be seen.
    end_us = Instant(round(start_us + (last_us - start_us) * 1.05))
    rows: list[PageRow] = []
    for job in jobs:
        one, by = told[job.id], job.opened.zone
        cuts = named_cuts(start_us, end_us, by)
        at = tuple(mark for mark, _word in cuts)
        rows += _head(job, one, found, alone=len(jobs) == 1)
        if clock_apart(start_us, by, zone):
            rows.append(Words(f"Times of this job are by the clock of {by}.", indent=2, dim=True))
        if one is not None and one.stages:
            rows.append(Heading(table=_STAGES))
            rows.append(Cells(_STAGES, ("", "", "", "", Ticks(start_us, end_us, cuts)), dim=True))
            rows += _stages(one, start_us, end_us, at, by)
            rows += _beside(job, one, found, ahead, unit)
        for line in (line for line in windows if line.job.id == job.id):
            closes = None if line.closes_us is None else min(line.closes_us, end_us)
            reach = Reach(start_us, end_us, min(line.opens_us, end_us), closes, at)
            rows.append(Cells(_WINDOWS, (line.where, line.when, reach)))
        rows.append(Air())
    return Page("Outlook", tuple(rows[:-1]), tables=_TABLES, reading=True)


def _head(job: Job, told: Finish | None, found: Prospect, alone: bool) -> Iterator[PageRow]:
    """The job, its promise and in how many days it is kept; of a job alone in large, too."""
    opened, promised_us = job.opened, job.opened.promised_us
    promised = ""
    if promised_us is not None:
        promised = f"promised {spoken_near(promised_us, found.now_us, opened.zone)}"
    yield Heading(f"{opened.number}  {opened.vehicle}", promised)
    if told is None or (not told.stages and told.ready_us <= told.now_us):
        if alone:
            yield Large("ALL DONE", _HIGHEST)
        yield Words("All the planned work is done.", indent=2, bold=True)
        return
    if not told.hands_us and not told.whole:
        yield Words("The plan has no minutes for what is left.", indent=2, bold=True)
        return
    if alone:
        ready = ready_about(told.ready_us, told.cures, told.now_us, opened.zone)
        yield Large(f"READY {ready}".upper(), _HIGHEST)
    yield Words(ready_sentence(told, opened.zone), indent=2, bold=True)
    if promised_us is not None:
        promise = found.kept(job.id, promised_us)
        yield Words(promise_sentence(promise), indent=2, bold=calls_now(promise))


def _stages(
    told: Finish, start_us: Instant, end_us: Instant, at: tuple[float, ...], zone: str
) -> Iterator[PageRow]:
    begins_us = start_us
    for stage in told.stages:
        reach = Reach(start_us, end_us, begins_us, stage.done_us, at)
        yield Cells(
            _STAGES,
            (
                stage.stage,
                hour_minutes(stage.hands_us / SECOND_US),
                about_text(stage.done_us, told.now_us, zone),
                by_text(stage.by_us, told.now_us, zone),
                reach,
            ),
        )
        begins_us = stage.done_us


def _beside(
    job: Job, told: Finish, found: Prospect, ahead: Foresight, unit: TemperatureUnit
) -> Iterator[PageRow]:
    """What of the time is no hands on it, what made it late, and what would help."""
    of, zone = ahead.of, job.opened.zone
    late = causes(job, of.jobs, of.shift, of.learned.measured.get(job.id, {}), found.now_us)
    said = {
        "in it": beside_text(told, zone),
        "spent": causes_text(late),
        "help": helps_text(found.helps(job.id), told.now_us, zone, unit),
    }
    for label, text in said.items():
        if text:
            yield Words(text, label, indent=2)
