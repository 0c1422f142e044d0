"""The rule for a fresh pad or towel: at any time on the clock, asked for or not."""

from __future__ import annotations

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import WearKind
from cartclock.engine.products.worn import wears_of, worn
from cartclock.engine.rules.rules import Drafts, stage_of
from cartclock.engine.trouble import Refused


def take_fresh(
    scene: Scene, job_id: str, stage_name: str, taken: tuple[tuple[WearKind, str], ...]
) -> Drafts:
    """Fresh ones are in use from now on; on how many sections each before was stands with it.

    taken: kind and name of each, as the plan has them.
    """
    shift = scene.on
    job = scene.job(job_id)
    stage = stage_of(job, stage_name)
    known = {(wear.kind, wear.name): wear for wear in wears_of(stage)}
    if not taken:
        raise Refused("Name the pad or towel that is fresh.")
    drafts = []
    for what, name in dict.fromkeys(taken):
        if (what, name) not in known:
            raise Refused(f"{stage_name} wears no {what} called {name}.")
        before = worn(job, stage, known[what, name], shift)
        fresh = ev.FreshTaken(stage_name, what, name, before.sections)
        drafts.append(Draft(fresh, job_id))
    return tuple(drafts)
