"""The long windows of all open jobs, with the readings that decide over their cures."""

from __future__ import annotations

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts.in_force import with_all_readings
from cartclock.engine.films.cure import queue
from cartclock.engine.films.long_lines import LongLine, long_lines
from cartclock.engine.times import Instant


def load_readings(bench: Bench) -> None:
    """Brings the shifts into sight whose readings decide over the cures of the open jobs."""
    needed = {
        shift
        for job in bench.jobs.values()
        if job.state == "open" and any(stage.cure is not None for stage in job.stages)
        for shift in job.shifts
    }
    if not needed <= bench.shifts.keys():
        bench.load(bench.jobs.keys(), needed | bench.shifts.keys())


def long_windows(bench: Bench, now_us: Instant) -> list[LongLine]:
    """The long windows of the open jobs in lines; `load_readings` first."""
    found = queue(bench.jobs, with_all_readings(bench.shifts), now_us)
    return long_lines(found, bench.jobs, now_us)
