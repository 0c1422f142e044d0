"""A job that goes from cart to cart, and one that is a part of another."""

from __future__ import annotations

import re

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.shift import Hands
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules.rules import Drafts, put_down
from cartclock.engine.trouble import Refused

# So much of an identity tells carts of a shop apart, and is soon typed; our own judgement.
LEAST_IDENTITY = 4
_IDENTITY = re.compile(r"[0-9a-f][0-9a-f-]*")


def give(scene: Scene, job_id: str, to: str = "", own: str = "") -> Drafts:
    """The job goes to another cart; what the worker has in hand of it is put down first.

    Args:
        to: how the identity of the only cart begins that may take it, at least four signs; "":
            whichever the shop lets.
        own: identity of this cart.
    """
    job = scene.job(job_id)
    if to:
        other_cart(to, own)
    doing = None if scene.shift is None else scene.shift.doing
    mine = isinstance(doing, Hands) and doing.job == job_id
    held = [one for one in job.sections.values() if one.state == "in hand"]
    others = [one for one in held if one.worker != scene.worker or not mine]
    if others:
        raise Refused(
            f"{others[0].worker} has {others[0].name} in hand; have it put down or finished first."
        )
    drafts = put_down(scene) if mine else ()
    return (*drafts, Draft(ev.JobGiven(to), job_id))


def other_cart(to: str, own: str) -> None:
    """Refuses what is not the beginning of another cart's identity.

    own: identity of this cart.
    """
    if len(to) < LEAST_IDENTITY or _IDENTITY.fullmatch(to) is None:
        raise Refused(
            f"A cart is named by the beginning of its identity, at least {LEAST_IDENTITY} of the "
            "signs 0-9 and a-f; cartclock shop who says it there."
        )
    if own.startswith(to):
        raise Refused("That is this cart itself; name the one that is to have the job.")


def say_part(scene: Scene, job_id: str, whole: str) -> Drafts:
    """The job is a part of another one on the same vehicle; "": it stands by itself."""
    job = scene.jobs.get(job_id)
    if job is None or job.state == "given":
        raise Refused("That job is not here to be worked on; say it on the cart that has it.")
    if whole == job_id:
        raise Refused("A job is no part of itself; name the other one.")
    if whole == job.whole:
        raise Refused(
            "It is a part of that one already." if whole else "It stands by itself already."
        )
    return (Draft(ev.PartSaid(whole), job_id),)
