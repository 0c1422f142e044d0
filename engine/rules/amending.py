"""What is said of a job at its opening and may be said otherwise afterwards.

Whose the vehicle is, what was agreed for it and when it is promised: each is read from what a
person types, at the opening and later alike.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import get_args

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job_events import Amended
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules import typed
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.rules.typed_time import time_ahead
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

# In the order in which they are asked: what a customer says first.
AMENDED: tuple[Amended, ...] = get_args(Amended)


def as_typed(
    what: Amended,
    text: str,
    seal: Callable[[str], Sealed],
    now_us: Instant,
    zone: str,
) -> ev.JobAmended:
    """The amendment that a text stands for; no text takes back what was said.

    seal: takes a private text in. Raises Refused, in a sentence, for what cannot be.
    """
    if what == "price":
        price = typed.price(text)
        typed.refuse_price(price)
        return ev.JobAmended(what, price=price)
    if what == "promised_us":
        return ev.JobAmended(what, promised_us=time_ahead(text, now_us, zone) if text else None)
    return ev.JobAmended(what, seal(typed.name(text)) if text else None)


def amend(scene: Scene, job_id: str, event: ev.JobAmended) -> Drafts:
    """One thing said of the job is otherwise, also after its close, except the promise."""
    job = scene.jobs.get(job_id)
    if job is None:
        raise Refused("There is no such job.")
    if event.what == "promised_us" and job.state == "closed":
        raise Refused("The job is handed over; open it again to promise it anew.")
    typed.refuse_price(event.price)
    return (Draft(event, job_id),)
