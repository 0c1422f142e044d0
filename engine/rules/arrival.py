"""What a worker may note about the vehicle: each rule returns the events of one press.

As in `engine.rules.rules`, what cannot be is refused in a sentence and nothing is written.
"""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Draft
from cartclock.engine.figures.measured import ODOMETER
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules.rules import Drafts, section_of, stage_of
from cartclock.engine.trouble import Refused
from cartclock.engine.vehicle import paint
from cartclock.engine.vehicle.vehicle import SHOWS, price_of, vehicle_record

# What a line of a screen has room for; our own judgement.
MOST_SET_UP = 200


def note_vehicle(scene: Scene, job_id: str, event: Struct) -> Drafts:
    """A fact of the vehicle; refuses, in a sentence, what cannot be.

    What is agreed or attached may come after the job's close, everything else not.
    """
    job = scene.jobs.get(job_id)
    late = isinstance(event, ev.AgreementNoted | ev.FileAttached)
    if job is None or not (late and job.state == "closed"):
        job = scene.job(job_id)
    match event:
        case ev.OdometerRead(reading):
            if not ODOMETER.holds(reading):
                raise Refused(f"An odometer shows {ODOMETER.low:.0f} to {ODOMETER.high:.0f}.")
        case ev.PaintRead():
            refuse_panel(event.panel)
            paint.refuse_paint(event)
        case ev.GlossRead():
            refuse_panel(event.panel)
            paint.refuse_gloss(event)
        case ev.DamageNoted(panel):
            refuse_panel(panel)
        case ev.AgreementNoted(price=price):
            if price is not None and price_of(price) is None:
                raise Refused("A price is written in digits, like 18.50.")
        case ev.FileAttached(sha256, shows=shows):
            if shows and shows not in SHOWS:
                raise Refused(f"A photo shows one of these: {', '.join(SHOWS)}.")
            if any(one.sha256 == sha256 for one in vehicle_record(job).files):
                raise Refused("That file is attached already.")
        case ev.TrialJudged():
            _refuse_trial(job, event)
        case _:
            raise Refused("That is nothing to note about the vehicle.")
    return (Draft(event, job_id),)


def refuse_panel(panel: str) -> None:
    """Refuses what is no name of a panel or a part."""
    if not panel.strip() or len(panel) > 60 or not panel.isprintable():
        raise Refused("A panel has 1 to 60 characters and no control characters.")


def _refuse_trial(job: Job, event: ev.TrialJudged) -> None:
    if not stage_of(job, event.stage).trial:
        raise Refused(f"{event.stage} is no trial stage.")
    section_of(job, event.stage, event.section)
    text = event.set_up
    if not text.strip() or len(text) > MOST_SET_UP or not text.isprintable():
        raise Refused(f"A set-up has 1 to {MOST_SET_UP} characters and no control characters.")


def odometer_warning(job: Job) -> str:
    """A sentence if the newest look at the odometer shows less than the one before; else ""."""
    looks = vehicle_record(job).odometers
    return looks[-1].warning if looks else ""
