"""What went wrong: when, on which panel, what was done about it, and whether it was told."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.chapters.dated import put_dated
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.vehicle.incidents import Incident


def put_incidents(medium: Medium, found: Sequence[Incident], zone: str) -> None:
    """The incidents of a job; nothing without one."""
    if not found:
        return
    medium.heading("Incidents")
    put_dated(medium, [(one.at_us, (_said(one),)) for one in found], zone)


def _said(one: Incident) -> str:
    done = "" if one.done else "; what was done is not said"
    many = len(one.photos)
    photos = "" if not many else "; 1 photo" if many == 1 else f"; {many} photos"
    sheet = "on the customer's sheet" if one.told else "for the shop only"
    return f"{one.panel}: {one.text}{done}{photos}; noted by {one.worker}, {sheet}"
