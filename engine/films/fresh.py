"""What was laid last and must not be touched yet: for the sheet behind the windscreen.

A stage counts if it has a cure, or if a product of its steps has a dry time. The latest of all
these ends is the one to be told: nobody at the door knows one section from another.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.films.cure import curings
from cartclock.engine.films.wet import drying_product, dryings
from cartclock.engine.hours.account import TakenReading
from cartclock.engine.plan.plan import Stage
from cartclock.engine.times import Instant


class Fresh(Struct, frozen=True):
    """Until when what was laid must not be touched.

    Fields:
        what: "coating" for a stage of the kind coat, else the stage's name.
        stage, section: what ends last; "" while it is still worked on.
        until_us: the latest end; None while it is still worked on.
        example: True while the numbers are the starter's.
        stretched: True if a cold reading made the cure longer.
    """

    what: str
    stage: str
    section: str
    until_us: Instant | None
    example: bool = False
    stretched: bool = False


def film_stages(job: Job) -> tuple[Stage, ...]:
    """The stages that lay something which must stay, in working order."""
    return tuple(
        stage
        for stage in job.stages
        if stage.kind == "coat"
        or stage.cure is not None
        or stage.layers > 1
        or drying_product(job, stage) is not None
    )


def going_on(job: Job, stage: Stage) -> bool:
    """True while something lies on a stage of an open job and sections of it are left to do."""
    sections = job.of(stage.name)
    return job.state == "open" and laid(job, stage) and any(not one.over for one in sections)


def laid(job: Job, stage: Stage) -> bool:
    """True if something was put on a section of a stage, or is being put on it."""
    return any(
        section.finished_us is not None or section.state in ("in hand", "held")
        for section in job.of(stage.name)
    )


def fresh(job: Job, taken: Sequence[TakenReading], now_us: Instant) -> Fresh | None:
    """What of a job must not be touched; None if nothing laid has a cure or a dry time.

    taken: the readings in order of time, for cures in the cold. While a stage has something on
    it and sections are left to do, no end is known.
    """
    found: list[tuple[int, Fresh]] = []
    unfinished: Fresh | None = None
    wet = dryings(job)
    for stage in job.stages:
        what = "coating" if stage.kind == "coat" else stage.name
        drying = [one for one in wet if one.stage == stage.name]
        if not laid(job, stage) or (stage.cure is None and not drying):
            continue
        example = stage.cure is not None and stage.cure.example
        if going_on(job, stage):
            unfinished = Fresh(what, stage.name, "", None, example)
            continue
        for one in drying:
            until_us = one.dry_us(now_us)
            found.append((until_us, Fresh(what, stage.name, one.section, until_us)))
        for curing in curings(job, stage.name, taken):
            ends = Fresh(
                what,
                stage.name,
                curing.section,
                curing.cured_us,
                curing.example,
                curing.stretched,
            )
            found.append((curing.cured_us, ends))
    if unfinished is not None:
        return unfinished
    return max(found, key=lambda pair: pair[0], default=(0, None))[1]
