"""When the vehicle may be handed over, and whether what was promised can still be met.

The time comes from the plan, which has it from the label. Before its stage is finished the
earliest hand-over is reckoned from the plan's minutes, one pair of hands, windows opening on
time: whoever is slower ends later. So it says for certain only that a promise cannot be met.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cartclock.engine.after.aftercare import last_touch
from cartclock.engine.after.dues import dues, parsed_duration
from cartclock.engine.dates import instant, spoken_soon, up_to_minute
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.hours.remaining import stage_minutes
from cartclock.engine.plan.plan import EXAMPLE, Aftercare, Handover
from cartclock.engine.times import Instant


class Earliest(Struct, frozen=True):
    """The earliest hand-over.

    Fields:
        at_us: not before this.
        done_us: end of the stage it follows: its last touch, or by the plan if not `laid`.
        laid: True if the stage is finished, so that nothing is reckoned by the plan.
    """

    at_us: Instant
    done_us: Instant
    laid: bool


def not_before_us(handover: Handover, done_us: Instant, zone: str) -> Instant | None:
    """The end of the time that follows on `done_us`; of calendar days the beginning of the last.

    None for what no plan file can hold: no duration, no zone, a date past the calendar.
    """
    item = Aftercare("hand over", handover.source, from_=handover.not_before)
    try:
        (due,) = dues(item, done_us, zone)
        return instant(f"{due.day} 00:00", zone) if due.at_us is None else due.at_us
    except ValueError:
        return None


def earliest(job: Job, now_us: Instant) -> Earliest | None:
    """The earliest hand-over of a job; None if its plan names none, or nothing is laid at all."""
    opened = job.opened
    handover = opened.plan.handover
    if handover is None or handover.after not in job.order:
        return None
    touch = last_touch(job, handover.after)
    laid = not touch.left
    done_us = touch.at_us if laid else now_us + round(minutes_left(job, now_us) * MINUTE_US)
    at_us = None if done_us is None else not_before_us(handover, Instant(done_us), opened.zone)
    if done_us is None or at_us is None:
        return None
    return Earliest(at_us, Instant(done_us), laid)


def minutes_left(job: Job, now_us: Instant) -> float:
    """Minutes from `now_us` to the end of the hand-over's stage, by the plan, at the least.

    0 if the plan has no hand-over. The stages before it go first; in its own stage the hands
    may be the longer, or the waits of one section.
    """
    handover = job.opened.plan.handover
    if handover is None:
        return 0.0
    before = 0.0
    for stage in job.stages:
        hands, longest = stage_minutes(job, stage, now_us)
        if stage.name == handover.after:
            return before + max(hands, longest)
        before += hands
    return before


def handover_notice(job: Job, now_us: Instant) -> str:
    """What is to be said about the hand-over now, one sentence; "" if nothing is.

    Once its stage is finished: the earliest hand-over, until it is reached. Before: that the
    promise cannot be met, if it cannot.
    """
    found = earliest(job, now_us)
    opened = job.opened
    if found is None or opened.plan.handover is None or job.state != "open":
        return ""
    handover = opened.plan.handover
    example = " (example, replace from the pack)" if handover.source == EXAMPLE else ""
    when = spoken_soon(up_to_minute(found.at_us), now_us, opened.zone)
    promised = ""
    if opened.promised_us is not None:
        promised = f"; promised {spoken_soon(opened.promised_us, now_us, opened.zone)}"
    if found.laid:
        if now_us >= found.at_us:
            return ""
        return f"Not to be handed over before {when}{example}{promised}."
    if opened.promised_us is None or opened.promised_us >= found.at_us:
        return ""
    done = spoken_soon(up_to_minute(found.done_us), now_us, opened.zone)
    # A narrow line shows the beginning: what is wrong stands before how it was reckoned.
    return (
        f"Promised {spoken_soon(opened.promised_us, now_us, opened.zone)}, but not to be handed "
        f"over before {when}: by the plan {handover.after} ends {done} at the earliest, and "
        f"{parsed_duration(handover.not_before)} must pass{example}."
    )


def handover_notices(jobs: Mapping[str, Job], now_us: Instant) -> tuple[str, ...]:
    """The notices of all open jobs by number, with the vehicle in front if there are several."""
    ready = open_jobs(jobs.values())
    found = []
    for job in ready:
        said = handover_notice(job, now_us)
        if said:
            whose = f"{job.opened.vehicle}: " if len(ready) > 1 else ""
            found.append(f"{whose}{said}")
    return tuple(found)


def because(handover: Handover) -> str:
    """The length, the stage and the source: "12 hours after Coat, label of the pack"."""
    source = "example, replace from the pack" if handover.source == EXAMPLE else handover.source
    return f"{parsed_duration(handover.not_before)} after {handover.after}, {source}"


def early(job: Job, now_us: Instant, finishing: str = "") -> str:
    """Why it is too early to hand over, as a sentence; "" if it is not.

    finishing: the stage that is in hand and finished by the same press, "" for none. Whatever
    lies on the vehicle counts, also if sections are left undone; what was put down unfinished
    was touched just now.
    """
    opened = job.opened
    handover = opened.plan.handover
    if handover is None or handover.after not in job.order:
        return ""
    touches = [s.finished_us for s in job.of(handover.after) if s.finished_us is not None]
    held = any(section.state == "held" for section in job.of(handover.after))
    if held or finishing == handover.after:
        touches.append(now_us)
    if not touches:
        return ""
    at_us = not_before_us(handover, max(touches), opened.zone)
    if at_us is None or now_us >= at_us:
        return ""
    when = spoken_soon(up_to_minute(at_us), now_us, opened.zone)
    return f"Not to be handed over before {when}: {because(handover)}."
