"""What passed between the shop and its customer, in words: whom, when and what came of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from msgspec import Struct

from cartclock.engine.dates import spoken
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.call_backs import CallBack, call_backs
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.times import Instant

TextIn = Callable[[Sealed | None], str]


class Dealing(Struct, frozen=True):
    """One thing that passed between shop and customer.

    Fields:
        at_us, worker: when, and who wrote it.
        kind: what it was.
        text: in words; private texts that were forgotten say so.
    """

    at_us: Instant
    worker: str
    kind: Literal["call back", "promise", "keys", "paid"]
    text: str


def dealings(job: Job, said: TextIn) -> tuple[Dealing, ...]:
    """All of them in order; `said` gives a private text, "" where there is none."""
    zone = job.opened.zone
    found = [
        Dealing(call.said_us, call.worker, "call back", _call_text(call, zone, said))
        for call in call_backs(job.facts).values()
    ]
    for row in job.facts:
        match row.event:
            case ev.PromiseTold(promised_us=promised_us, who=who) as event:
                told = f"told {said(who)}" if who else "nobody told"
                when = "" if promised_us is None else f"{spoken(promised_us, zone)}, "
                text = f"{when}{event.cause_text}: {told}"
                found.append(Dealing(row.at_us, row.worker, "promise", text))
            case ev.KeysTaken(who):
                found.append(Dealing(row.at_us, row.worker, "keys", f"taken by {said(who)}"))
            case ev.PaymentNoted(how):
                found.append(Dealing(row.at_us, row.worker, "paid", how))
    return tuple(sorted(found, key=lambda one: one.at_us))


def _call_text(call: CallBack, zone: str, said: TextIn) -> str:
    """ "promised for Mon 21 Sep 2026 14:30 to Ada, moved once; called Mon 21 Sep 2026 14:32"."""
    who = said(call.who)
    times = (
        ""
        if not call.moved
        else ", moved once"
        if call.moved == 1
        else f", moved {call.moved} times"
    )
    ended = "not made yet"
    if call.ended_us is not None:
        ended = f"{call.how} {spoken(call.ended_us, zone)}"
    return f"promised for {spoken(call.at_us, zone)}{f' to {who}' if who else ''}{times}; {ended}"


def keys_taker(job: Job) -> Sealed | None:
    """Who took the keys, as said last; None while the job is open or if nobody is named."""
    if job.state != "closed":
        return None
    named = (row.event.who for row in reversed(job.facts) if isinstance(row.event, ev.KeysTaken))
    return next(named, None)
