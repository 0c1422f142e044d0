"""The incidents of a job: what went wrong where, what was done about it, who is told of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.sealed import FORGOTTEN, Sealed
from cartclock.engine.press import Press
from cartclock.engine.times import Instant

Unsealed = Callable[[Sealed], str]


class Incident(Struct, frozen=True):
    """One incident.

    Fields:
        at_us, worker: when, and by whom it was noted.
        panel, what: where, and what it was.
        words, done: what happened, and what was done about it; "" if nothing is said.
        photos: digests of the files that show it, in the order attached.
        told: True if the customer's sheet says it.
    """

    at_us: Instant
    worker: str
    panel: str
    what: str
    words: str = ""
    done: str = ""
    photos: tuple[str, ...] = ()
    told: bool = False

    @property
    def text(self) -> str:
        """What happened and what was done: "spill: on the tyre; wiped up"."""
        words = f": {self.words}" if self.words else ""
        return f"{self.what}{words}{f'; {self.done}' if self.done else ''}"


def _sealed(sealed: Sealed) -> str:
    return FORGOTTEN


def of_incident(row: Row) -> Press | None:
    """The press of the incident that a row is about; None if it is about none."""
    match row.event:
        case ev.IncidentNoted():
            return row.press
        case ev.IncidentAmended(press=seq, origin=origin):
            return Press(origin or row.origin, seq)
        case _:
            return None


def incidents(job: Job, said: Unsealed = _sealed) -> dict[Press, Incident]:
    """The incidents that stand, by the press that noted them; `said` gives a private text.

    What was said more of one that was struck is not known any more.
    """
    found: dict[Press, Incident] = {}
    for row in job.facts:
        event = row.event
        if isinstance(event, ev.IncidentNoted):
            incident = Incident(row.at_us, row.worker, event.panel, event.what)
            found[row.press] = incident
    # A moved press may stand behind what was said more of it.
    for row in job.facts:
        press = of_incident(row)
        if isinstance(row.event, ev.IncidentAmended) and press in found:
            found[press] = _amended(found[press], row.event, said)
    return found


def _amended(known: Incident, event: ev.IncidentAmended, said: Unsealed) -> Incident:
    return replace(
        known,
        words=known.words if event.words is None else said(event.words),
        done=known.done if event.done is None else said(event.done),
        photos=known.photos if not event.photo else (*known.photos, event.photo),
        told=known.told if event.told is None else event.told,
    )


def told_incidents(found: Iterable[Incident]) -> tuple[Incident, ...]:
    """Those that the customer's sheet says, what was forgotten left out."""
    return tuple(
        replace(
            one,
            words="" if one.words == FORGOTTEN else one.words,
            done="" if one.done == FORGOTTEN else one.done,
        )
        for one in found
        if one.told
    )
