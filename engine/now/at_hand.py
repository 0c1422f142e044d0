"""Which vehicle is at hand, and which move is at another one."""

from __future__ import annotations

from collections.abc import Mapping

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Hands, Shift


def job_at_hand(jobs: Mapping[str, Job], shift: Shift | None) -> Job | None:
    """The open job that the worker of a shift has in hand, else the one held last in it."""
    if shift is None:
        return None
    doings = [shift.doing, *(span.doing for span in reversed(shift.spans))]
    held = (jobs.get(one.job) for one in doings if isinstance(one, Hands))
    return next((job for job in held if job is not None and job.state == "open"), None)


def other_vehicle(jobs: Mapping[str, Job], shift: Shift | None, move: Move | None) -> str:
    """The vehicle of a move that is at another one than the one at hand; "" if it is at that.

    With one open job there is no other; handing over names its vehicle in any case.
    """
    job = None if move is None or move.act == "close" else jobs.get(move.job)
    several = sum(one.state == "open" for one in jobs.values()) > 1
    at_hand = job_at_hand(jobs, shift)
    if job is None or not several or (at_hand is not None and at_hand.id == job.id):
        return ""
    return job.opened.vehicle
