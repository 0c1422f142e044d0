"""Films in play, work left in front of a coat and panels never looked at, each told plainly.

It goes by the states of the sections and by the plan alone and shares no code with what the
program answers from the same, so that a slip there is no slip here.
"""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import Section
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.plan.plan import Stage, Wait
from tests.kit.reckoner import SECOND_US

HOUR_US = 3600 * SECOND_US


def beside_a_wait(stage: Stage, step: int) -> bool:
    """True of the work that lays a film, and of the work that ends one."""
    return any(
        isinstance(stage.steps[at], Wait)
        for at in (step - 1, step + 1)
        if 0 <= at < len(stage.steps)
    )


def holds_a_film(jobs: dict[str, Job], shift: Shift | None) -> bool:
    """True if the hands of a worker lay a film or end one."""
    hands = None if shift is None else shift.doing
    return isinstance(hands, Hands) and beside_a_wait(
        jobs[hands.job].stage(hands.stage), hands.turn.step
    )


def wet(jobs: Iterable[Job], now_us: int) -> list[Section]:
    """The films that are laid, wait or are ended, up to an hour past their close."""
    return [
        section
        for job in jobs
        if job.state == "open"
        for stage in job.stages
        for section in job.of(stage.name)
        if _wet(stage, section, now_us)
    ]


def _wet(stage: Stage, section: Section, now_us: int) -> bool:
    step, window = section.turn.step, section.window
    match section.state:
        case "in hand":
            return beside_a_wait(stage, step)
        case "waiting":
            assert window is not None
            closes_us = window.first_us + window.marks.closes_s * SECOND_US
            return window.kind != "gap" and now_us < closes_us + HOUR_US
        case "held" if section.first_us is not None and step + 1 < len(stage.steps):
            # Half laid; when one that is half ended closes, its window tells, which is over.
            wait = stage.steps[step + 1]
            return (
                isinstance(wait, Wait)
                and now_us < section.first_us + wait.closes_s * SECOND_US + HOUR_US
            )
    return False


def not_done_before(job: Job, stage_name: str) -> list[Section]:
    """What the plan has in front of a stage and is neither done nor left out."""
    found: list[Section] = []
    for stage in job.stages:
        if stage.name == stage_name:
            return found
        found += [one for one in job.of(stage.name) if one.state not in ("done", "left out")]
    raise KeyError(stage_name)


def never_looked_at(job: Job) -> list[Section]:
    """Finished sections of stages that ask for a look, not answered since their last touch."""
    answers = [row for row in job.facts if isinstance(row.event, ev.SectionChecked)]
    return [
        section
        for stage in job.stages
        if stage.check is not None
        for section in job.of(stage.name)
        if section.state == "done"
        and not any(
            row.event.stage == stage.name  # type: ignore[attr-defined]  # one of the answers
            and section.name in row.event.sections  # type: ignore[attr-defined]  # one of the answers
            and row.at_us >= (section.finished_us or 0)
            for row in answers
        )
    ]
