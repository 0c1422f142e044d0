"""Calling back: each rule returns the events of one press."""

from __future__ import annotations

from typing import Literal

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.call_backs import CallBack, waiting_calls
from cartclock.engine.facts.rows import Draft
from cartclock.engine.now.scene import Scene
from cartclock.engine.press import Press
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused


def promise_call(scene: Scene, job_id: str, event: ev.CallBackPromised) -> Drafts:
    """Somebody is to be called back about a job, also one that was handed over."""
    if job_id not in scene.jobs:
        raise Refused("A call back is about a job; there is none.")
    _refuse_past(scene, event.at_us)
    return (Draft(event, job_id),)


def move_call(scene: Scene, press: Press, at_us: Instant) -> Drafts:
    """The call back that a press promised is at another time."""
    call = _waiting(scene, press)
    _refuse_past(scene, at_us)
    if call.at_us == at_us:
        raise Refused("It is for that time already.")
    return (Draft(ev.CallBackMoved(press.seq, at_us, press.origin), call.job),)


def end_call(scene: Scene, press: Press, how: Literal["called", "let go"]) -> Drafts:
    """The call back that a press promised was made, or will not be."""
    call = _waiting(scene, press)
    return (Draft(ev.CallBackEnded(press.seq, how, press.origin), call.job),)


def _waiting(scene: Scene, press: Press) -> CallBack:
    call = waiting_calls(scene.jobs.values()).get(press)
    if call is None:
        raise Refused("That call back does not wait any more.")
    return call


def _refuse_past(scene: Scene, at_us: Instant) -> None:
    if at_us < scene.now_us:
        raise Refused("That time has passed; a call back lies ahead.")
