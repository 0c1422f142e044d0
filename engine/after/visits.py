"""Visits to the shop: a day on which it is closed gives way to the next one on which it is open.

The aftercare's own day stays known: what was moved says from which day and why. Repeats are
counted from the anchor before anything is moved, so that one closed day drags nothing else.
"""

from __future__ import annotations

from datetime import date, timedelta

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.dues import Due
from cartclock.engine.dates import at_clock, local, spoken_day

# So far a search for an open day goes; a year has every date and every weekday. Our own judgement.
SEARCHED_DAYS = 366
ON_WEEKDAYS = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")
_NAMED = 3


class Closed(Struct, frozen=True):
    """When the shop is closed.

    Fields:
        weekdays: ISO 8601 numbers, 1 for Monday to 7 for Sunday.
        dates: single days.
    """

    weekdays: frozenset[int] = frozenset()
    dates: frozenset[date] = frozenset()

    @property
    def known(self) -> bool:
        """False if nothing is said, so that nothing can be said of a day."""
        return bool(self.weekdays or self.dates)

    def reason(self, day: date) -> str:
        """Why the shop is closed on a day ("Sundays", "Thu 24 Dec 2026"); "" if it is open."""
        if day.isoweekday() in self.weekdays:
            return ON_WEEKDAYS[day.isoweekday() - 1]
        return spoken_day(day) if day in self.dates else ""


NEVER_CLOSED = Closed()


def open_day(day: date, closed: Closed) -> tuple[date | None, tuple[str, ...]]:
    """The first open day from `day` on, and the reasons of the days passed over, each once.

    None if there is none within `SEARCHED_DAYS` or before the calendar ends.
    """
    reasons: dict[str, None] = {}
    for ahead in range(SEARCHED_DAYS):
        try:
            tried = day + timedelta(days=ahead)
        except OverflowError:
            break
        why = closed.reason(tried)
        if not why:
            return tried, tuple(reasons)
        reasons[why] = None
    return None, tuple(reasons)


def reasons_text(reasons: tuple[str, ...]) -> str:
    """Reasons in words: "closed on Saturdays, Sundays and Mon 28 Dec 2026"; at least one."""
    named, more = list(reasons[:_NAMED]), len(reasons) - _NAMED
    if more > 0:
        named.append(f"{more} more {'day' if more == 1 else 'days'}")
    first, last = named[:-1], named[-1]
    return f"closed on {', '.join(first)} and {last}" if first else f"closed on {last}"


def arranged(due: Due, closed: Closed, zone: str) -> Due | None:
    """A visit on an open day, with the day it was moved from and why; None if no day is open.

    A visit at a clock time keeps it. What is no visit, or falls on an open day, stays as it is.
    """
    if not due.visit:
        return due
    day = own_day(due, zone)
    found, reasons = open_day(day, closed)
    if found is None:
        return None
    if found == day:
        return due
    moved = replace(due, moved_from=day.isoformat(), why=reasons_text(reasons))
    if due.at_us is None:
        return replace(moved, day=found.isoformat())
    return replace(moved, at_us=at_clock(due.at_us, found, zone))


def own_day(due: Due, zone: str) -> date:
    """The calendar date of a due in the zone."""
    if due.at_us is None:
        return date.fromisoformat(due.day)
    here = local(due.at_us, zone)
    return date(here.year, here.month, here.day)


def no_day_text(days: list[date]) -> str:
    """What is said where no open day was found from these days on; "" for none."""
    if not days:
        return ""
    named = [spoken_day(day) for day in days[:2]]
    more = f" and {len(days) - 2} more" if len(days) > 2 else ""
    from_ = " and ".join(named) if not more else ", ".join(named) + more
    return (
        f"No open day was found in the {SEARCHED_DAYS} days from {from_} on; "
        "agree on a day with the shop."
    )
