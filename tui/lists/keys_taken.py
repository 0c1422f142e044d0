"""The lists about who took the keys, and how the job is paid; nobody need say either."""

from __future__ import annotations

from functools import partial
from typing import get_args

from cartclock.engine.facts.customer_events import PaidHow
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.rules import typed
from cartclock.engine.rules.handover import note_handover
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.minutes import ask_minutes
from cartclock.tui.lists.panels import titled_of
from cartclock.tui.widgets.sheet import Do, Line, nothing

HOT_PAID = "cdtl"


def open_keys_taken(host: Host, job_id: str, then: Do = nothing) -> None:
    """Asks who took them, then how it is paid; enter on an empty name goes on.

    then: what comes behind the answer, or where none is given.
    """
    bench = host.cart.bench
    if job_id not in bench.jobs:
        # Handed over days ago, so out of sight.
        bench.load({job_id, *bench.jobs}, bench.shifts.keys())
    title = titled_of(host, job_id, "who took the keys?")
    hint = "enter: goes on   esc: not said"
    host.sheet.open_text(title, partial(_ask_paid, host, job_id, then), closed=then, hint=hint)


def ask_when_closed(host: Host, job_id: str) -> str:
    """Asks it of a job that is closed, then what it taught; a film in play comes first.

    Returns: the job while it is still to be asked about, because it is not closed; else "".
    """
    now = host.cart.workplace.moment
    job = host.cart.bench.jobs.get(job_id)
    if job is not None and job.state == "open":
        return job_id
    if job is not None and not film_in_play(now.jobs.values(), now.now_us):
        open_keys_taken(host, job_id, partial(ask_minutes, host, job_id))
    return ""


def _ask_paid(host: Host, job_id: str, then: Do, name: str) -> None:
    def write(paid: PaidHow | None = None) -> None:
        if not name and paid is None:
            host.say("Who took the keys is not noted.")
        else:
            who = host.cart.bench.seal(typed.name(name)) if name else None
            host.cart.write(note_handover, job_id, who, paid)
        then()

    lines = [
        Line(f"paid: {how}", partial(write, how), hot=hot)
        for how, hot in zip(get_args(PaidHow), HOT_PAID, strict=True)
    ]
    lines.append(Line("not said", write, hot="n"))
    hint = "up, down: choose   space: write it   esc: not said"
    host.sheet.open(titled_of(host, job_id, "paid how?"), lines, hint, closed=write)
