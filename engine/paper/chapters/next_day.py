"""What was said at clocking off of the next day."""

from __future__ import annotations

from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.record.day import Day


def put_next_day(medium: Medium, day: Day) -> None:
    """What each shift of a day was told of the next; nothing where nothing was."""
    told = dict.fromkeys(said for part in day.shifts for said in part.told)
    if not told:
        return
    medium.heading("Next")
    for said in told:
        medium.words(said, 1)
