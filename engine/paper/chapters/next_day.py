"""What was said at clocking off of the next day."""

from __future__ import annotations

from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.record.day import Day


def put_next_day(medium: Medium, day: Day) -> None:
    """What each shift of a day was told of the next; nothing where nothing was.

    Whoever leaves last is told of the vehicles; what another was told before names that one.
    """
    leaving = sorted(
        (part for part in day.shifts if part.told), key=lambda part: part.account.end_us
    )
    told = dict.fromkeys(
        said if part.account.worker == leaving[-1].account.worker
        else f"{said} ({part.account.worker})"
        for part in leaving
        for said in part.told
    )  # fmt: skip
    if not told:
        return
    medium.heading("Next")
    for said in told:
        medium.words(said, 1)
