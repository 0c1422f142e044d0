"""The page before a coat, read: a press of its own, so that what was read stands by itself."""

from __future__ import annotations

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Draft
from cartclock.engine.now.scene import Scene
from cartclock.engine.products.reminders import first_used, known_to
from cartclock.engine.rules.rules import Drafts, stage_of
from cartclock.engine.trouble import Refused


def read_before_coat(scene: Scene, move: Move, said: tuple[str, ...]) -> Drafts:
    """The page was read; what it said of new products counts as read too.

    said: the sentences of what the program knew (`engine.now.before_coat.BeforeCoat.judged`).
    """
    scene.must_be_on()
    job = scene.job(move.job)
    if stage_of(job, move.stage).kind != "coat":
        raise Refused(f"{move.stage} lays no coat.")
    new = first_used(job, move, lambda: known_to(scene.on, scene.known_products()))
    read = Draft(ev.BeforeCoatRead(move.stage, move.turn, said), job.id)
    cautions = [Draft(ev.CautionsRead(tuple(product.name for product in new)))] if new else []
    return (read, *cautions)
