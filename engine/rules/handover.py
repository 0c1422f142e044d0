"""Who took the keys, and how it is paid: noted with the close of a job or after it."""

from __future__ import annotations

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.customer_events import PaidHow
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.trouble import Refused


def note_handover(
    scene: Scene, job_id: str, who: Sealed | None = None, paid: PaidHow | None = None
) -> Drafts:
    """Who took the keys of a closed job, how it is paid, or both; None: not said."""
    job = scene.jobs.get(job_id)
    if job is None or job.state != "closed":
        raise Refused("The job is not handed over yet; close it first.")
    payment = () if paid is None else (Draft(ev.PaymentNoted(paid), job_id),)
    keys = () if who is None else (Draft(ev.KeysTaken(who), job_id),)
    if not payment and not keys:
        raise Refused("Nothing was said.")
    return (*payment, *keys)
