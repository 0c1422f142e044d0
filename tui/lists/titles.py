"""Titles of lists that name the vehicle they ask about."""

from __future__ import annotations

from cartclock.engine.facts.job import Job
from cartclock.engine.letters import by_words, cells, inert
from cartclock.tui.lists.host import Host

# Cells under which a name says nothing: the title then takes a second line; our own judgement.
_LEAST = 12


def titled(host: Host, vehicle: str, said: str) -> str:
    """A title with the vehicle in front: "Silver estate: note"; a long name loses words."""
    name = inert(vehicle)
    room = host.columns - len(": ") - cells(inert(said)) - 2
    room = room if room >= _LEAST else host.columns // 2
    return f"{by_words(name[:1].upper() + name[1:], room)}: {said}"


def of_job(host: Host, job: Job, said: str) -> str:
    """The same for a job."""
    return titled(host, job.opened.vehicle, said)
