"""What the lists about the vehicle share: the panels to pick from, and writing one fact."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.rules.arrival import note_vehicle
from cartclock.engine.trouble import Refused, StoreFault
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.titles import of_job
from cartclock.tui.widgets.sheet import Line


def job_of(host: Host, job_id: str) -> Job:
    """The job as it is now."""
    return host.cart.bench.jobs[job_id]


def titled_of(host: Host, job_id: str, said: str) -> str:
    """The title of a list about that job, its vehicle in front."""
    return of_job(host, job_of(host, job_id), said)


def write_fact(
    host: Host,
    job_id: str,
    event: Callable[[], Struct],
    then: Callable[[], None],
    again: Callable[[str], None],
) -> None:
    """Writes an event and goes on; what cannot be is asked again, with the reason."""
    try:
        host.cart.write(note_vehicle, job_id, event())
    except (Refused, StoreFault) as why:
        again(str(why))
    else:
        then()
    host.paint()


def open_panels(
    host: Host,
    job_id: str,
    title: str,
    told: Callable[[str], str],
    then: Callable[[str], None],
    order: Sequence[str],
    first: str = "",
    said: str = "",
) -> None:
    """The panels in their order, from `first` on round the vehicle, and any other place.

    said: what is answered to the panel before, in front of the title.
    """
    at = order.index(first) if first in order else 0
    lines = [
        Line(f"{panel:<23} {told(panel)}", partial(then, panel))
        for panel in (*order[at:], *order[:at])
    ]

    def named(text: str) -> None:
        if text:
            then(text)
        else:
            nothing(host)

    asked = titled_of(host, job_id, "which panel or part?")
    other = partial(host.sheet.open_text, asked, named)
    host.sheet.open(said + titled_of(host, job_id, title), [*lines, Line("another part", other)])


def following(order: Sequence[str], panel: str) -> str:
    """The panel after this one, the first after the last; "" for a part that is none of them."""
    return order[(order.index(panel) + 1) % len(order)] if panel in order else ""


def nothing(host: Host) -> None:
    """Says so."""
    host.say("Nothing was written.")
