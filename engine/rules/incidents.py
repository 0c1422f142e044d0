"""What may be noted of something that went wrong: each rule returns the events of one press."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules.arrival import refuse_panel
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.trouble import Refused
from cartclock.engine.vehicle.incidents import incidents
from cartclock.engine.vehicle.vehicle import vehicle_record


def note_incident(scene: Scene, job_id: str, event: ev.IncidentNoted) -> Drafts:
    """Something went wrong; a complaint may come after the job's close."""
    if job_id not in scene.jobs:
        raise Refused("The job was not opened by then.")
    refuse_panel(event.panel)
    return (Draft(event, job_id),)


def amend_incident(
    scene: Scene, job_id: str, event: ev.IncidentAmended, file: ev.FileAttached | None = None
) -> Drafts:
    """More of an incident of this cart's log.

    file: what its `photo` is the digest of; attached by the same press, unless it was before.
    """
    job = scene.jobs.get(job_id)
    known = {} if job is None else incidents(job)
    pressed = next(
        (
            press
            for press in known
            if press.seq == event.press and event.origin in ("", press.origin)
        ),
        None,
    )
    if job is None or pressed is None:
        raise Refused("That incident does not stand; note it anew.")
    if file is not None and file.sha256 in known[pressed].photos:
        raise Refused("That photo shows it already.")
    event = replace(event, origin=pressed.origin)
    attached = {one.sha256 for one in vehicle_record(job).files}
    first = () if file is None or file.sha256 in attached else (Draft(file, job_id),)
    return (*first, Draft(event, job_id))
