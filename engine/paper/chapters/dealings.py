"""What passed between the shop and its customer."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.chapters.dated import put_dated
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.record.dealings import Dealing


def put_dealings(medium: Medium, found: Sequence[Dealing], zone: str) -> None:
    """The dealings of a job; nothing without one."""
    if not found:
        return
    medium.heading("With the customer")
    said = [(one.at_us, (f"{one.kind}: {one.text}; {one.worker}",)) for one in found]
    put_dated(medium, said, zone)
