"""What a list is opened on: the job in view, what is in hand, and the zone of the shift."""

from __future__ import annotations

from cartclock.engine.dates import local
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import Window
from cartclock.engine.facts.shift import Hands
from cartclock.engine.now.at_hand import job_at_hand
from cartclock.engine.now.moment import Moment
from cartclock.engine.now.running import running
from cartclock.engine.products.mixing import Recipe, of_step
from cartclock.engine.times import Instant


def watched(now: Moment) -> list[tuple[Job, Window]]:
    """Running dwell and flash windows, the one that hurts first in front."""
    return running(now.jobs, now.now_us)


def job_in_view(bench: Bench, chosen: Move | None) -> Job | None:
    """The open job in hand, else that of the chosen move, else the one in front: held last by this
    worker, else the only open one. A closed job is nobody's to press on.
    """
    shift = bench.shift()
    if shift is not None and isinstance(shift.doing, Hands):
        return bench.jobs.get(shift.doing.job)
    if chosen is not None and chosen.job:
        return bench.jobs.get(chosen.job)
    at_hand = job_at_hand(bench.jobs, shift)
    if at_hand is not None:
        return at_hand
    jobs = [job for job in bench.jobs.values() if job.state == "open"]
    return jobs[0] if len(jobs) == 1 else None


def in_hand(bench: Bench, worker: str = "") -> Hands | None:
    """What a worker, "" for the first, has in hand; None if nothing."""
    shift = bench.shift(worker or bench.worker)
    return shift.doing if shift is not None and isinstance(shift.doing, Hands) else None


def zone_of(bench: Bench) -> str:
    """The time zone of the shift; UTC without one."""
    shift = bench.shift()
    return shift.on.zone if shift is not None else "UTC"


def spoken_clock(bench: Bench, at_us: Instant) -> str:
    """Time of day in the zone of the shift."""
    return f"{local(at_us, zone_of(bench)):%H:%M}"


def to_mix(bench: Bench, chosen: Move | None) -> tuple[Recipe, ...]:
    """What to mix for the step in hand, else for the chosen one; empty if nothing is."""
    job = job_in_view(bench, chosen)
    return () if job is None else of_step(job, in_hand(bench), chosen)
