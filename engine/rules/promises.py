"""Who was told of a promise: the rule returns the events of one press."""

from __future__ import annotations

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.trouble import Refused


def tell_promise(scene: Scene, job_id: str, event: ev.PromiseTold) -> Drafts:
    """Somebody was told, or nobody is, of the promise of a job."""
    if job_id not in scene.jobs:
        raise Refused("The job was not opened by then.")
    return (Draft(event, job_id),)
