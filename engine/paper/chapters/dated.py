"""Rows with a time, under the date they fall on."""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.dates import local, spoken, spoken_day
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.paper.said import hour
from cartclock.engine.times import Instant

ENTRIES = (Column("", 15), Column())


class Calendar:
    """Says the date of a row of times where it changes from one to the next."""

    def __init__(self, zone: str) -> None:
        self._zone = zone
        self._date = ""

    def turned(self, at_us: Instant) -> tuple[Note, ...]:
        """The weekday and date, unless the last time had the same."""
        date = spoken_day(local(at_us, self._zone).date())
        if date == self._date:
            return ()
        self._date = date
        return (Note(date, 1),)


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


def dated_entries(found: Iterable[tuple[int, str]], zone: str) -> list[TableRow | Note]:
    """Instants with what is said of each, as rows of `ENTRIES`."""
    calendar = Calendar(zone)
    rows: list[TableRow | Note] = []
    for at_us, text in found:
        rows += [*calendar.turned(Instant(at_us)), TableRow((hour(Instant(at_us), zone), text), 2)]
    return rows
