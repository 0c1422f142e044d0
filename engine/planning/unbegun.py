"""A shift and a job that are not begun, so that they can be played forward like any other.

Nothing of them is ever written.
"""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, job_after
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Shift, shift_after
from cartclock.engine.plan.plan import Plan
from cartclock.engine.press import Press
from cartclock.engine.times import Instant

UNBEGUN = "not begun"
"""Stands for the id of a job or shift that is only planned."""


def job_ahead(plan: Plan, zone: str, at_us: Instant, promised_us: Instant | None = None) -> Job:
    """A job of a plan as it would be opened at an instant."""
    opened = ev.JobOpened(plan, "", 0, plan.name, zone, promised_us=promised_us)
    job, _odd = job_after(None, _row(opened, at_us))
    assert job is not None
    return job


def shift_ahead(on: ev.ClockedOn, at_us: Instant) -> Shift:
    """A shift as it would begin at an instant."""
    shift, _odd = shift_after(None, _row(on, at_us))
    assert shift is not None
    return shift


def _row(event: Struct, at_us: Instant) -> Row:
    return Row(
        origin=UNBEGUN,
        seq=1,
        press=Press(UNBEGUN, 1),
        shift=UNBEGUN,
        job=UNBEGUN,
        worker=UNBEGUN,
        at_us=at_us,
        entered_us=at_us,
        wall_us=at_us,
        boot="",
        tick_us=0,
        sure=True,
        by="machine",
        event=event,
    )
