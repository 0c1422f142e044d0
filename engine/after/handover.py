"""When the vehicle may be handed over: the plan has the time from the label."""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.after.aftercare import last_touch
from cartclock.engine.after.dues import dues, parsed_duration
from cartclock.engine.dates import instant, spoken_soon, up_to_minute
from cartclock.engine.facts.job import Job
from cartclock.engine.plan.plan import EXAMPLE, Aftercare, Handover
from cartclock.engine.times import Instant


class Earliest(Struct, frozen=True):
    """The earliest hand-over.

    Fields:
        at_us: not before this.
        done_us: the last touch of the stage that it follows.
    """

    at_us: Instant
    done_us: Instant


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


def known_handover(job: Job) -> Earliest | None:
    """The earliest hand-over of a job of which the stage that it follows is finished; None before
    that, if its plan names none, or if nothing was laid at all.
    """
    handover = job.opened.plan.handover
    if handover is None or handover.after not in job.order:
        return None
    touch = last_touch(job, handover.after)
    if touch.left or touch.at_us is None:
        return None
    at_us = not_before_us(handover, touch.at_us, job.opened.zone)
    return None if at_us is None else Earliest(at_us, touch.at_us)


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
