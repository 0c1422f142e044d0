"""The sheet behind the windscreen: one sentence, set as large as can be."""

from __future__ import annotations

from cartclock.engine.after.dates import date_of
from cartclock.engine.dates import local, spoken, up_to_minute
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.sheets.aftercare import EXAMPLE_TEXT
from cartclock.engine.record.customer import until_text
from cartclock.engine.record.record import Record
from cartclock.engine.times import Instant

NOTHING = "No cure and no dry time is known of what was laid."

_WEEK_DAYS = 6


def windscreen_sentence(record: Record) -> str:
    """The one sentence: "Coating wet, do not touch before Thu 09:40."

    The latest end of cure and dry time of all that was laid, raised to the next minute, on the
    clock of the customer's zone; a day more than six days ahead is given with its date. While
    it is still worked on no time is told, and once the time is over it says since when the
    vehicle may get wet, or be touched. Where no plan says how long it takes, it is `NOTHING`.
    """
    return " ".join(_parts(record))


def _parts(record: Record) -> tuple[str, ...]:
    """The sentence in the parts that stand on lines of their own."""
    fresh = date_of(record.dates, "touch")
    if fresh is None:
        return (NOTHING,)
    what = f"{fresh.what[:1].upper()}{fresh.what[1:]}"
    if fresh.at_us is None:
        return (f"{what} wet, do not touch,", "it is still being worked on.")
    until_us = up_to_minute(fresh.at_us)
    if until_us <= record.now_us:
        return (f"{what} {_since(record, until_us)}.",)
    return (f"{what} wet, do not touch before", f"{_when(record, until_us)}.")


def _since(record: Record, touch_us: Instant) -> str:
    """From when on it may be touched; where it may get wet by now, from when on that."""
    wet = date_of(record.dates, "wet")
    wet_us = None if wet is None or wet.at_us is None else up_to_minute(wet.at_us)
    if wet_us is None or wet_us > record.now_us:
        return f"may be touched since {spoken(touch_us, record.zone)}"
    return f"may get wet since {spoken(max(touch_us, wet_us), record.zone)}"


def _when(record: Record, until_us: Instant) -> str:
    """Weekday and clock, with the date where the weekday alone could be another one."""
    weekday, day, month, _year, clock = spoken(until_us, record.zone).split(" ", 4)
    ahead = local(until_us, record.zone).date() - local(record.now_us, record.zone).date()
    return f"{weekday} {clock}" if ahead.days <= _WEEK_DAYS else f"{weekday} {day} {month} {clock}"


def put_windscreen(medium: Medium, facts: PaperFacts) -> None:
    """The sentence, and under it whom to ask."""
    record, shop = facts.of_job, facts.shop
    medium.large(_parts(record))
    fresh, wet = date_of(record.dates, "touch"), date_of(record.dates, "wet")
    pairs: list[tuple[str, str]] = []
    if fresh is not None and fresh.at_us is not None:
        until = spoken(up_to_minute(fresh.at_us), record.zone)
        pairs.append(("Do not touch", f"until {until} ({record.zone})"))
        pairs.append(("Laid last", fresh.why))
    if wet is not None and wet.at_us is not None:
        pairs.append(("Keep dry", f"until {until_text(wet, record.zone)}"))
    if any(date is not None and date.example for date in (fresh, wet)):
        pairs.append(("The time", EXAMPLE_TEXT))
    pairs.append(("Vehicle", f"{record.vehicle}, job {record.number}"))
    who = ", ".join(part for part in (shop.name, shop.phone) if part)
    if who:
        pairs.append(("Ask", who))
    pairs.append(("Written", spoken(record.now_us, record.zone)))
    medium.facts(pairs)


WINDSCREEN = Sheet("Windscreen card", put_windscreen, pages=1, lying=True)
