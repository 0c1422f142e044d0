"""By when the next layer must be on: the gaps of a coat that are open, a sentence for each layer.

The times are the label's as the plan copies them; the pack in hand comes first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from cartclock.engine.dates import spoken_near
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import Window
from cartclock.engine.films.waves import Factors, as_planned, wave_minutes
from cartclock.engine.times import Instant


def recoat_sentences(
    jobs: Mapping[str, Job],
    now_us: Instant,
    factors: Callable[[str], Factors] = as_planned,
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What presses, and what is only to be known: of each layer whose gap has opened on a section,
    by when the first and the last of them must be laid. It presses once the work of the layer no
    longer fits in before the first closes.

    factors: of the work of a job, by its id.
    """
    presses: list[str] = []
    quiet: list[str] = []
    for job in jobs.values():
        open_now: dict[tuple[str, int], list[Window]] = {}
        for window in job.running if job.state == "open" else ():
            if window.kind == "gap" and window.state(now_us) != "WAIT":
                open_now.setdefault((window.stage, window.turn.layer), []).append(window)
        for (stage, layer), windows in open_now.items():
            work_us = round(wave_minutes(job, stage, layer, factors(job.id)) * MINUTE_US)
            first_us = min(window.closes_us for window in windows)
            said = _sentence(job, layer, windows, now_us, factors(job.id))
            (presses if first_us - work_us <= now_us else quiet).append(said)
    return tuple(presses), tuple(quiet)


def _sentence(
    job: Job, layer: int, windows: list[Window], now_us: Instant, factors: Factors
) -> str:
    late = [window for window in windows if window.state(now_us) == "LATE"]
    told = late or windows
    zone = job.opened.zone
    closes = [window.closes_us for window in told]
    first, last = (spoken_near(mark, now_us, zone) for mark in (min(closes), max(closes)))
    when = first if first == last else f"{first}, the last {last}"
    many = f"{len(told)} sections" if len(told) > 1 else told[0].section
    if late:
        return (
            f"{told[0].stage}: layer {layer} closed {when} on {many}: the label says "
            "what is done then."
        )
    minutes = wave_minutes(job, told[0].stage, layer, factors)
    return f"{told[0].stage}: layer {layer} closes {when}; {many} to lay, about {minutes:.0f} min."
