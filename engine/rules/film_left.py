"""Hands that leave a film for a break or other work: asked about before it dries half done.

A film that is being laid or ended, and one that closes before a break is over. Whoever does not
feel well leaves any film, unasked.
"""

from __future__ import annotations

from cartclock.engine.body.watch import unwell_unrested
from cartclock.engine.dates import local
from cartclock.engine.facts.in_play import ends_film, handler, in_play, lays_film
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Hands
from cartclock.engine.now.running import film_in_hand
from cartclock.engine.now.scene import Scene
from cartclock.engine.times import Instant

FILM_LEFT = "film_left"
"""The rule that asks before a film is left, by its id."""


def film_left_question(scene: Scene, finish: bool, planned_s: int | None = None) -> str:
    """That a film is left, as a question; "" if none is.

    Args:
        finish: what is in hand is finished, else put down.
        planned_s: length of what begins in seconds; None if it is open, and no film that waits is
            asked about.
    """
    if unwell_unrested(scene.on, scene.now_us):
        return ""
    hands = scene.on.doing
    if not finish and isinstance(hands, Hands):
        stage = scene.job(hands.job).stage(hands.stage)
        if lays_film(stage, hands.turn.step) or ends_film(stage, hands.turn.step):
            film = film_in_hand(scene.jobs, scene.on)
            said = f"The film on {_named(hands.sections)} is half done"
            if film is not None:
                said += f" and {_closes(scene, film.closes_us)}"
            return f"{said}. Put it down all the same?"
    if planned_s is None:
        return ""
    over_us = scene.now_us + planned_s * SECOND_US
    shut = sorted(
        (section.window.closes_us, section.name)
        for job in scene.ended(finish).values()
        for section in in_play(job, scene.now_us)
        if section.window is not None
        and section.window.closes_us < over_us
        and handler(job, section) in ("", scene.worker)
    )
    if not shut:
        return ""
    names = tuple(name for _us, name in shut)
    return f"The film on {_named(names)} {_closes(scene, shut[0][0])}. Leave it all the same?"


def _closes(scene: Scene, at_us: Instant) -> str:
    clock = f"{local(at_us, scene.on.on.zone):%H:%M}"
    return f"closed at {clock}" if at_us <= scene.now_us else f"closes at {clock}"


def _named(names: tuple[str, ...]) -> str:
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return ", ".join(names[:3]) + more
