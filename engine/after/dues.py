"""What the aftercare owes: dates and times behind an anchor, as the plan writes them.

Two kinds of time are kept apart. Hours and minutes are elapsed: 48 hours after an
instant are 48 hours, whatever the clocks of the place do meanwhile. Days, weeks, months
and years are calendar: a week after a Saturday is a Saturday, and it has no clock time.
RFC 5545 section 3.3.6 draws the same line between exact and nominal durations.
"""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta
from typing import Literal

from msgspec import Struct

from cartclock.engine.dates import at_clock, instant, iso_length, local
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.plan.plan import Aftercare
from cartclock.engine.times import Instant, Length

DueKind = Literal["until", "from", "every"]


class Duration(Struct, frozen=True):
    """A duration as written, each part a whole number >= 0, at least one of them > 0.

    Fields:
        years, months, weeks, days: calendar parts.
        hours, minutes, seconds: elapsed parts.
    """

    years: int = 0
    months: int = 0
    weeks: int = 0
    days: int = 0
    hours: int = 0
    minutes: int = 0
    seconds: int = 0

    @property
    def elapsed_us(self) -> Length:
        """The elapsed parts together, in microseconds."""
        return Length(((self.hours * 60 + self.minutes) * 60 + self.seconds) * 1_000_000)

    @property
    def calendar(self) -> bool:
        """True if there is a calendar part."""
        return bool(self.years or self.months or self.weeks or self.days)

    def __str__(self) -> str:
        parts = (
            (self.years, "year"),
            (self.months, "month"),
            (self.weeks, "week"),
            (self.days, "day"),
            (self.hours, "hour"),
            (self.minutes, "minute"),
            (self.seconds, "second"),
        )
        return " ".join(f"{n} {word if n == 1 else word + 's'}" for n, word in parts if n)


class Due(Struct, frozen=True):
    """One date or time that the customer is told. Exactly one of `at_us` and `day` is given.

    Fields:
        say: the sentence.
        kind: "until" an end, "from" a beginning, "every" one of a row of repeats.
        source: where the time comes from, as the plan says.
        duration: the label's own length in words ("48 hours"); of a repeat the step
            between two of them, not its distance from the anchor.
        at_us: an instant, microseconds UTC; None if the due is a calendar date.
        day: a calendar date in the zone, ISO 8601 text ("2026-11-26"); "" if an instant.
        nth, of: which of how many repeats, from 1; 1 of 1 if nothing repeats.
        if_not: what to do if it went wrong; "" if nothing is said.
        visit: True if the customer comes to the shop.
        example: True while the time is the starter's and not the pack's.
        moved_from: the aftercare's own day, ISO 8601 text, if a visit was moved to another one
            because the shop is closed (`engine.after.visits`), or a beginning behind an end of
            the same day; "" otherwise.
        why: why it was moved ("closed on Sundays"); "" otherwise.
    """

    say: str
    kind: DueKind
    source: str
    duration: str
    at_us: Instant | None = None
    day: str = ""
    nth: int = 1
    of: int = 1
    if_not: str = ""
    visit: bool = False
    example: bool = False
    moved_from: str = ""
    why: str = ""


def due_end_us(due: Due, zone: str) -> Instant:
    """The instant at which an end is over; of a date the end of that day in `zone`."""
    return Instant(
        instant(f"{due.day} 23:59", zone) + MINUTE_US if due.at_us is None else due.at_us
    )


def parsed_duration(text: str) -> Duration:
    """The duration that `text` writes in ISO 8601, such as "PT48H", "P7D", "P2W" or "P6M".

    Source: RFC 5545 section 3.3.6 for weeks standing alone, whole numbers and days with
    hours ("P1DT12H": the day first), read in the issuing body's text; ISO 8601 for years and
    months, which it lacks, from memory.
    Raises ValueError for anything else, for a sign, a fraction and a length of nothing.
    """
    found = iso_length(text)
    if found is None or (found["weeks"] and text != f"P{found['weeks']}W"):
        raise ValueError(
            f'"{text}" is not a duration; write it like "PT48H", "P7D", "P2W" or "P6M"'
        )
    parts = {name: int(digits) for name, digits in found.groupdict(default="0").items()}
    if not any(parts.values()):
        raise ValueError(f'"{text}" has no length; write it like "PT48H", "P7D", "P2W" or "P6M"')
    return Duration(**parts)


def _later(day: date, nth: int, length: Duration) -> date:
    """The calendar date so many lengths later; a month too short for the day gives its last.

    Raises ValueError or OverflowError past the year 9999.
    """
    months = day.year * 12 + day.month - 1 + nth * (12 * length.years + length.months)
    year, month = months // 12, months % 12 + 1
    in_month = date(year, month, min(day.day, monthrange(year, month)[1]))
    return in_month + nth * timedelta(weeks=length.weeks, days=length.days)


def _due(item: Aftercare, kind: DueKind, text: str, anchor_us: Instant, zone: str, nth: int) -> Due:
    length = parsed_duration(text)
    here = local(anchor_us, zone)
    at_us: Instant | None = None
    day = ""
    try:
        if not length.calendar:
            at_us = Instant(anchor_us + nth * length.elapsed_us)
            local(at_us, zone)
        else:
            # Counted from the anchor each time: a date clamped to 28 February must not
            # drag the following ones to the 28th.
            target = _later(here.date(), nth, length)
            if length.elapsed_us:
                at_us = Instant(at_clock(anchor_us, target, zone) + nth * length.elapsed_us)
            else:
                day = target.isoformat()
    except (ValueError, OverflowError):
        raise ValueError(f'"{text}" from {here.date().isoformat()} leaves the calendar') from None
    return Due(
        say=item.say,
        kind=kind,
        source=item.source,
        duration=str(length),
        at_us=at_us,
        day=day,
        nth=nth,
        of=item.times if kind == "every" else 1,
        if_not=item.if_not,
        visit=item.visit,
        example=item.source == "example",
    )


def dues(item: Aftercare, anchor_us: Instant, zone: str) -> tuple[Due, ...]:
    """What one aftercare owes after the anchor: its beginning, its end, its repeats in order.

    Hours and minutes are elapsed from the anchor and give an instant. Days, weeks,
    months and years count in the calendar of `zone` and give a date; a month too short
    for the day gives its last day, and 29 February the 28th in other years. Repeats are
    counted from the anchor, not from one another. A duration with both parts ("P1DT12H")
    goes the days at the anchor's clock time first, then the hours, and gives an instant.

    anchor_us: microseconds UTC, the end of the work that the aftercare follows.
    Raises ValueError for an unknown zone, a text that is no duration, `times` under 1
    where something repeats, or a date past the year 9999.
    """
    found: list[Due] = []
    if item.from_:
        found.append(_due(item, "from", item.from_, anchor_us, zone, 1))
    if item.until:
        found.append(_due(item, "until", item.until, anchor_us, zone, 1))
    if item.every:
        if item.times < 1:
            raise ValueError(f"{item.times} repeats are none; at least 1 is needed")
        found.extend(
            _due(item, "every", item.every, anchor_us, zone, nth)
            for nth in range(1, item.times + 1)
        )
    return tuple(found)
