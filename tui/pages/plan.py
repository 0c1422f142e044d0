"""Plan as a page: a row a stage, and under it its sections with their windows."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from cartclock.engine.dates import hours_text, local
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US, Key, Section, Window, work_of
from cartclock.engine.hours.planned import planned_left_us, planned_us, work_done
from cartclock.engine.times import Instant, Length
from cartclock.engine.until import bare, holds
from cartclock.tui.face.page import (
    Bar,
    Cells,
    Column,
    Heading,
    Page,
    PageRow,
    Strip,
    Table,
    Tape,
)

# A strip moves by less than a cell in so long. Our own judgement.
_STRIP_US = 5 * SECOND_US

_STAGES, _SECTIONS, _TOP = 0, 1, 2
_TABLES = (
    Table(
        (
            Column("stage", least=14),
            Column("done", right=True),
            Column(least=8, most=40, rank=3),
            Column("planned", right=True, rank=1),
            Column("taken", right=True, rank=2),
        )
    ),
    Table(
        (
            Column(least=12, folds=True),
            Column(),
            Column(least=14, folds=True),
            Column(rank=1),
            Column(least=10, most=60, rank=2),
        ),
        indent=2,
    ),
    Table((Column(least=16, folds=True), Column(rank=1))),
)


def plan_page(
    job: Job,
    entries: Sequence[Key],
    marked: Collection[Key],
    now_us: Instant,
    hands: Mapping[str, Length],
) -> Page:
    """The page.

    Args:
        entries: (stage, section) in the order of the page; of a stage itself with "".
        marked: sections that are marked.
        hands: stage -> hands on it so far.
    """
    opened = job.opened
    exact_us = Instant(bare(now_us))
    holds(now_us, MINUTE_US)
    left_us = planned_left_us(job, job.stages, exact_us)
    said = f"left {hours_text(left_us / SECOND_US)} by the plan" if left_us else ""
    rows = tuple(
        _section(job, job.sections[stage, section], (stage, section) in marked, now_us)
        if section
        else _stage(job, stage, hands.get(stage, Length(0)), exact_us)
        for stage, section in entries
    )
    top = (Cells(_TOP, (opened.vehicle, said)), Heading(table=_STAGES))
    return Page("Plan", rows, opened.plan.name, _TABLES, top)


def _stage(job: Job, name: str, hands_us: Length, now_us: Instant) -> PageRow:
    there, stage = job.of(name), job.stage(name)
    planned = planned_us(job, stage)
    over = sum(section.over for section in there)
    begun = hands_us or any(section.finished_us is not None for section in there)
    return Cells(
        _STAGES,
        (
            name,
            f"{over} of {len(there)}",
            Bar(work_done(job, [stage], now_us)),
            hours_text(planned / SECOND_US) if planned else "",
            hours_text(hands_us / SECOND_US) if begun else "",
        ),
        entry=True,
        bold=True,
    )


def _section(job: Job, section: Section, marked: bool, now_us: Instant) -> PageRow:
    stage = job.stage(section.stage)
    state = section.told
    if section.state in ("todo", "in hand", "held", "waiting"):
        state += f": {work_of(stage, section.turn).say}"
    if section.state == "left out" and section.why:
        state += f": {section.why}"
    turn = [f"layer {section.turn.layer}"] if stage.layers > 1 else []
    turn += [f"pass {section.turn.pass_}"] if section.turn.pass_ > 1 else []
    return Cells(
        _SECTIONS,
        (
            section.name,
            "marked" if marked else "",
            state + (f" {_mark(section.window, job, now_us)}" if section.window else ""),
            ", ".join(turn),
            _strip(section.window, now_us) if section.window else "",
        ),
        entry=True,
        dim=section.over,
    )


def _mark(window: Window, job: Job, now_us: Instant) -> str:
    """The next mark of a window, or the one that passed, on the clock of the job's zone."""
    state = window.state(now_us)
    at_us = window.opens_us if state == "WAIT" else window.closes_us
    word = {"WAIT": "from", "READY": "until", "LATE": "late since"}[state]
    return f"{word} {local(at_us, job.opened.zone):%H:%M}"


def _strip(window: Window, now_us: Instant) -> Strip | str:
    """A window from its last touch, with its marks."""
    holds(now_us, _STRIP_US)
    marks = sorted({window.opens_us, window.closes_us, *_expected(window)})
    marks = [mark for mark in marks if mark > window.last_us]
    if not marks:
        return ""
    return Tape(window.last_us, tuple(marks), bare(now_us), window.opens_us)


def _expected(window: Window) -> Iterator[Instant]:
    if window.expected_us is not None:
        yield window.expected_us
