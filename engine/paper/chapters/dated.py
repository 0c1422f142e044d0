"""Rows with a time, whose day stands where it begins."""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.dates import local, spoken, spoken_day
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Group, TableRow
from cartclock.engine.paper.said import hour, short_day
from cartclock.engine.times import Instant

_MOMENT = 16


class Days:
    """The days of several instants, told once where all have one: "Tue 9 Jun 2026"."""

    def __init__(self, instants: Iterable[Instant], zone: str) -> None:
        self._zone = zone
        self._days = sorted({local(at_us, zone).date() for at_us in instants})

    def __str__(self) -> str:
        if not self._days:
            return ""
        first, last = spoken_day(self._days[0]), spoken_day(self._days[-1])
        return first if first == last else f"{first} to {last}"

    def of(self, at_us: Instant) -> str:
        """When one of them was: the hour alone, with its day if there are several."""
        return spoken(at_us, self._zone) if len(self._days) > 1 else hour(at_us, self._zone)


def put_dated(medium: Medium, found: Iterable[tuple[Instant, tuple[str, ...]]], zone: str) -> None:
    """What was when, a row each: its day where that begins, its clock time, then these cells.

    Cells but the last have 15 letters.
    """
    day, rows = "", []
    for at_us, cells in found:
        here = short_day(at_us, zone)
        when = f"{here if here != day else ''} {hour(at_us, zone)}".strip()
        rows.append(TableRow((when, *cells)))
        day = here
    between = [Column("", 15)] * (max(len(row.cells) for row in rows) - 2)
    medium.groups((Column("", _MOMENT), *between, Column()), [Group("", "", tuple(rows))])
