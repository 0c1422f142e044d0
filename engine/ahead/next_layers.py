"""The next layers whose gap runs: when each can, should and must be on, and when to be here for it.

Times of windows are the label's as the plan copies them; the pack in hand comes first.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import time, timedelta

from msgspec import Struct

from cartclock.engine.dates import day_of, local, time_on_day
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import Window
from cartclock.engine.films.waves import Factors, wave_minutes
from cartclock.engine.times import Instant, Length


class NextLayer(Struct, frozen=True):
    """A layer of a stage whose gap runs.

    Fields:
        stage, layer: which; the layer from 1.
        takes_us: how long it is expected to take.
        opens_us, due_us, closes_us: from when it can, by when it should and must be on, all of it.
    """

    stage: str
    layer: int
    takes_us: Length
    opens_us: Instant
    due_us: Instant
    closes_us: Instant

    def be_here_us(self, hours: tuple[time, time], now_us: Instant, zone: str) -> Instant:
        """When to be here for it: so that it is on by when it should be; if that is in the night of
        a worker, when the day begins, or as late as it must.

        hours: when the worker's days begin and end.
        """
        latest_us = max(self.opens_us, Instant(self.closes_us - self.takes_us))
        by_us = max(self.opens_us, Instant(self.due_us - self.takes_us))
        if by_us <= now_us or _in_the_night(by_us, hours, zone):
            by_us = min(latest_us, _next_begin(max(by_us, now_us), hours, zone))
        return by_us


def next_layers(job: Job, factors: Factors) -> Iterator[NextLayer]:
    """The next layers of a job whose gap runs, by stage and layer.

    factors: by how much the work is expected to take longer than planned.
    """
    waiting: dict[tuple[str, int], list[Window]] = {}
    for window in job.running:
        if window.kind == "gap":
            waiting.setdefault((window.stage, window.turn.layer), []).append(window)
    for (stage, layer), windows in waiting.items():
        yield NextLayer(
            stage,
            layer,
            Length(round(wave_minutes(job, stage, layer, factors) * MINUTE_US)),
            min(window.opens_us for window in windows),
            min(window.due_us for window in windows),
            min(window.closes_us for window in windows),
        )


def _in_the_night(at_us: Instant, hours: tuple[time, time], zone: str) -> bool:
    """True between the end of a worker's day and the beginning of the next one."""
    begins, ends = hours
    clock = local(at_us, zone).time()
    if begins <= ends:
        return clock < begins or clock > ends
    return ends < clock < begins


def _next_begin(after_us: Instant, hours: tuple[time, time], zone: str) -> Instant:
    """When the next day of a worker begins: of what should have been on in the night, the best
    that can still be had of somebody who sleeps.
    """
    day = day_of(after_us, zone)
    begins_us = time_on_day(day, hours[0], zone)
    if begins_us <= after_us:
        begins_us = time_on_day(day + timedelta(days=1), hours[0], zone)
    return begins_us
