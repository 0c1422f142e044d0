"""Long windows in lines, the gaps of one layer in one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cartclock.engine.dates import spoken_near, up_to_minute
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import Window
from cartclock.engine.films.cure import Long, long_text
from cartclock.engine.times import Instant


def long_lines(
    found: Sequence[Long], jobs: Mapping[str, Job], now_us: Instant
) -> list[tuple[Job, str]]:
    """The windows of a queue in its order, each with its job; of several gaps of one layer in one
    state one line with the first and the last mark.
    """
    together: dict[tuple[object, ...], list[Long]] = {}
    for at, one in enumerate(found):
        gap = isinstance(one.about, Window)
        key = (one.job, one.stage, one.about.turn.layer, one.state) if gap else (at,)  # type: ignore[union-attr]  # a gap's
        together.setdefault(key, []).append(one)
    return [
        (jobs[ones[0].job], _text(ones, jobs[ones[0].job], now_us)) for ones in together.values()
    ]


def _text(ones: Sequence[Long], job: Job, now_us: Instant) -> str:
    first = ones[0]
    if len(ones) == 1 or not isinstance(first.about, Window):
        return long_text(first, job, now_us)
    zone = job.opened.zone
    said = {"WAIT": "opens", "READY": "closes", "LATE": "closed"}[first.state]
    marks = [up_to_minute(one.at_us) if one.state == "WAIT" else one.at_us for one in ones]
    begins, ends = (spoken_near(mark, now_us, zone) for mark in (min(marks), max(marks)))
    last = "" if begins == ends else f", the last {ends}"
    where = f"{first.stage}, {len(ones)} sections: layer {first.about.turn.layer}"
    return f"{where} {said} {begins}{last}"
