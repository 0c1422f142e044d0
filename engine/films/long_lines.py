"""Long windows in lines, the gaps of one layer in one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from cartclock.engine.dates import spoken_near, up_to_minute
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import Window
from cartclock.engine.films.cure import Curing, Long, long_parts
from cartclock.engine.times import Instant


class LongLine(Struct, frozen=True):
    """One line of long windows.

    Fields:
        job: whose they are.
        where, when: what waits, and its times on the clock of the job's zone.
        opens_us: when the first of them opens.
        closes_us: when the last of them closes; None for what stays open.
    """

    job: Job
    where: str
    when: str
    opens_us: Instant
    closes_us: Instant | None


def long_lines(found: Sequence[Long], jobs: Mapping[str, Job], now_us: Instant) -> list[LongLine]:
    """The windows of a queue in its order; of several gaps of one layer in one state one line
    with the first and the last mark.
    """
    together: dict[tuple[object, ...], list[Long]] = {}
    for at, one in enumerate(found):
        gap = isinstance(one.about, Window)
        key = (one.job, one.stage, one.about.turn.layer, one.state) if gap else (at,)  # type: ignore[union-attr]  # a gap's
        together.setdefault(key, []).append(one)
    return [_line(ones, jobs[ones[0].job], now_us) for ones in together.values()]


def _line(ones: Sequence[Long], job: Job, now_us: Instant) -> LongLine:
    first = ones[0].about
    if isinstance(first, Curing):
        where, _joint, when = long_parts(ones[0], job, now_us)
        return LongLine(job, where, when, first.cured_us, None)
    spans = [(one.about.opens_us, one.about.closes_us) for one in ones]  # type: ignore[union-attr]  # no cure
    opens_us, closes_us = min(opens for opens, _ in spans), max(closes for _, closes in spans)
    if len(ones) == 1 or not isinstance(first, Window):
        where, _joint, when = long_parts(ones[0], job, now_us)
        return LongLine(job, where, when, opens_us, closes_us)
    state, zone = ones[0].state, job.opened.zone
    said = {"WAIT": "opens", "READY": "closes", "LATE": "closed"}[state]
    marks = [up_to_minute(one.at_us) if state == "WAIT" else one.at_us for one in ones]
    begins, ends = (spoken_near(mark, now_us, zone) for mark in (min(marks), max(marks)))
    last = "" if begins == ends else f", the last {ends}"
    where = f"{ones[0].stage}, {len(ones)} sections: layer {first.turn.layer}"
    return LongLine(job, where, f"{said} {begins}{last}", opens_us, closes_us)
