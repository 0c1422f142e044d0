"""What `cartclock outlook` says of the open jobs: when each will be ready."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cartclock.engine.ahead.causes import Cause
    from cartclock.engine.ahead.finish import Finish
    from cartclock.engine.ahead.foreseen import Foresight
    from cartclock.engine.facts.job import Job
    from cartclock.engine.figures.air import TemperatureUnit
    from cartclock.engine.now.moment import Moment
    from cartclock.engine.times import Instant

NO_JOB = "No job is open."


def ready_of(
    now: Moment, unit: TemperatureUnit = "C"
) -> tuple[Sequence[str], Mapping[str, object]]:
    """Of every open job, by number, when it will be ready, as lines and as data.

    unit: of temperatures in the lines.
    """
    from cartclock.engine.facts.job import open_jobs

    jobs = open_jobs(now.jobs.values())
    lines: list[str] = []
    told: list[Mapping[str, object]] = []
    for job in jobs:
        found = now.ahead.at(now.now_us).finish(job.id)
        if found is not None:
            lines += [*([""] if lines else []), *_lines(job, found, now.ahead, unit)]
            told.append(_data(job, found, now.ahead))
    return lines or [NO_JOB], {"jobs": told}


def _lines(job: Job, found: Finish, ahead: Foresight, unit: TemperatureUnit) -> Iterator[str]:
    from cartclock.engine.ahead.telling import (
        about_text,
        beside_text,
        by_text,
        causes_text,
        helps_text,
        promise_sentence,
        ready_sentence,
    )
    from cartclock.engine.dates import hour_minutes, spoken_near
    from cartclock.engine.facts.section import SECOND_US
    from cartclock.engine.letters import wrapped

    zone, now_us, promised_us = job.opened.zone, found.now_us, job.opened.promised_us
    yield f"{job.opened.number}  {job.opened.vehicle}"
    if not found.stages and found.ready_us <= now_us:
        yield "All the planned work is done."
        return
    yield ready_sentence(found, zone)
    prospect = ahead.at(now_us)
    if promised_us is not None:
        kept = promise_sentence(prospect.kept(job.id, promised_us))
        yield f"Promised {spoken_near(promised_us, now_us, zone)}. {kept}"
    width = max((len(stage.stage) for stage in found.stages), default=0)
    if found.stages:
        yield f"{'':{width}}  hands       done     4 in 5"
    for stage in found.stages:
        hands = hour_minutes(stage.hands_us / SECOND_US)
        done, by = about_text(stage.done_us, now_us, zone), by_text(stage.by_us, now_us, zone)
        yield f"{stage.stage:{width}}  {hands:>5}  {done:>9}  {by:>9}"
    said = {
        "in it": beside_text(found, zone),
        "so far": causes_text(_causes(job, ahead, now_us)),
        "would help": helps_text(prospect.helps(job.id), now_us, zone, unit),
    }
    for label, text in said.items():
        if text:
            yield from wrapped(f"{label}: {text}", 80, hang=2)


def _causes(job: Job, ahead: Foresight, now_us: Instant) -> tuple[Cause, ...]:
    from cartclock.engine.ahead.causes import causes

    of = ahead.of
    return causes(job, of.jobs, of.shift, of.learned.measured.get(job.id, {}), now_us)


def _data(job: Job, found: Finish, ahead: Foresight) -> Mapping[str, object]:
    import msgspec

    promised_us, prospect = job.opened.promised_us, ahead.at(found.now_us)
    kept = None if promised_us is None else prospect.kept(job.id, promised_us).share
    data: dict[str, object] = msgspec.to_builtins(found)
    return {
        **data,
        "number": job.opened.number,
        "zone": job.opened.zone,
        "promised_us": promised_us,
        "promise_kept": kept,
        "so_far": msgspec.to_builtins(_causes(job, ahead, found.now_us)),
        "would_help": msgspec.to_builtins(prospect.helps(job.id)),
    }
