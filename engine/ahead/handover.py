"""Whether what was promised can still be met, given what must pass behind the last touch.

Before the stage that the hand-over follows is finished its end is reckoned (`engine.ahead.finish`):
what is told is that it hardly ends sooner than in one day of five, and when it is expected to.
"""

from __future__ import annotations

from collections.abc import Mapping

from cartclock.engine.after.dues import parsed_duration
from cartclock.engine.after.handover import known_handover, not_before_us
from cartclock.engine.ahead.durations import Z80
from cartclock.engine.ahead.foreseen import Foresight
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.dates import spoken_soon, up_to_minute
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.plan.plan import EXAMPLE
from cartclock.engine.times import Instant


def handover_notice(job: Job, ahead: Foresight, now_us: Instant) -> str:
    """What is to be said about the hand-over now, one sentence; "" if nothing is.

    Once its stage is finished: the earliest hand-over, until it is reached. Before: that the
    promise can hardly be met, if it can hardly be.
    """
    opened, handover = job.opened, job.opened.plan.handover
    if handover is None or job.state != "open" or handover.after not in job.order:
        return ""
    example = " (example, replace from the pack)" if handover.source == EXAMPLE else ""
    promised_us = opened.promised_us
    found = known_handover(job)
    if found is not None:
        if now_us >= found.at_us:
            return ""
        when = spoken_soon(up_to_minute(found.at_us), now_us, opened.zone)
        promised = ""
        if promised_us is not None:
            promised = f"; promised {spoken_soon(promised_us, now_us, opened.zone)}"
        return f"Not to be handed over before {when}{example}{promised}."
    if promised_us is None or not_before_us(handover, promised_us, opened.zone) is None:
        return ""
    return _against(job, ahead.at(now_us), promised_us, now_us)


def _against(job: Job, ahead: Prospect, promised_us: Instant, now_us: Instant) -> str:
    """Why a promise can hardly be met; "" if it can."""
    opened, handover = job.opened, job.opened.plan.handover
    assert handover is not None
    ends = [ahead.stage_done_us(job.id, handover.after, z) for z in (-Z80, 0.0)]
    hardly_us, done_us = ends
    if hardly_us is None or done_us is None:
        return ""
    at_us = not_before_us(handover, hardly_us, opened.zone)
    if at_us is None or promised_us >= at_us:
        return ""
    example = " (example, replace from the pack)" if handover.source == EXAMPLE else ""

    def soon(at_us: Instant) -> str:
        return spoken_soon(up_to_minute(at_us), now_us, opened.zone)

    but = "which is past, and" if promised_us <= now_us else "but"
    # A narrow line shows the beginning: what is wrong stands before how it was reckoned.
    return (
        f"Promised {spoken_soon(promised_us, now_us, opened.zone)}, {but} hardly to be handed over "
        f"before {soon(at_us)}: {handover.after} hardly ends before {soon(hardly_us)}, "
        f"{soon(done_us)} is expected, and {parsed_duration(handover.not_before)} must "
        f"pass{example}."
    )


def handover_notices(jobs: Mapping[str, Job], ahead: Foresight, now_us: Instant) -> tuple[str, ...]:
    """The notices of all open jobs by number, with the vehicle in front if there are several."""
    ready = open_jobs(jobs.values())
    found = []
    for job in ready:
        said = handover_notice(job, ahead, now_us)
        if said:
            whose = f"{job.opened.vehicle}: " if len(ready) > 1 else ""
            found.append(f"{whose}{said}")
    return tuple(found)
