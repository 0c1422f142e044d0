"""The card behind the windscreen: one date, read through glass."""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.after.dates import ToldDate, date_of
from cartclock.engine.dates import spoken, spoken_day, up_to_minute
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.keep import when_text
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.sheets.aftercare import otherwise_text
from cartclock.engine.record.record import Record
from cartclock.engine.times import Instant

UNKNOWN = "No cure and no dry time is known of what was laid."
NOTHING = "Nothing that cures or dries is on record."


class CardWords(Struct, frozen=True):
    """What stands on the card.

    Fields:
        over: what is asked for.
        lines: what is read first: a day and an hour, or a sentence in two parts.
        under: what else is to be kept.
    """

    over: str
    lines: tuple[str, ...]
    under: tuple[str, ...] = ()


def card_words(record: Record) -> CardWords:
    """The latest end of cure and dry time of all that was laid, raised to the next minute, on the
    clock of the customer's zone.

    While it is still worked on no time is told, and once the time is over it says since when
    the vehicle may get wet, or be touched. Where no plan says how long it takes, it is `UNKNOWN`,
    and `NOTHING` where nothing was laid that must stay.
    """
    fresh = date_of(record.dates, "touch")
    if fresh is None:
        said = UNKNOWN if record.coated else NOTHING
        return CardWords("Ask before touching it", (said,))
    what = f"{fresh.what[:1].upper()}{fresh.what[1:]}"
    if fresh.at_us is None:
        return CardWords(f"{what} wet, do not touch", ("It is still being worked on.",))
    until_us = up_to_minute(fresh.at_us)
    if until_us <= record.now_us:
        return CardWords(what, _since(record, until_us))
    weekday, day, month, year, clock = spoken(until_us, record.zone).split(" ", 4)
    ahead = year != spoken(record.now_us, record.zone).split(" ")[3]
    told = f"{weekday} {day} {month}{f' {year}' if ahead else ''}"
    return CardWords(f"Wet {fresh.what}: do not touch before", (told, clock), _dry(record))


def _since(record: Record, touch_us: Instant) -> tuple[str, ...]:
    """From when on it may be touched; where it may get wet by now, from when on that."""
    wet = date_of(record.dates, "wet")
    wet_us = None if wet is None or wet.at_us is None else up_to_minute(wet.at_us)
    if wet_us is None or wet_us > record.now_us:
        return "may be touched since", spoken(touch_us, record.zone)
    return "may get wet since", spoken(max(touch_us, wet_us), record.zone)


def _dry(record: Record) -> tuple[str, ...]:
    wet = date_of(record.dates, "wet")
    if wet is None or wet.at_us is None or wet.at_us <= record.now_us:
        return ()
    if wet.day:
        weekday, day, month, _year = spoken_day(wet.day).split(" ")
        return (f"Keep dry to end of {weekday} {day} {month}",)
    return (f"Keep dry until {when_text(wet.at_us, record.zone, record.now_us)}",)


def put_windscreen(medium: Medium, facts: PaperFacts) -> None:
    """The date, whom to ask, and at the foot what the shop knows it by."""
    record, shop = facts.of_job, facts.shop
    said = card_words(record)
    fresh, wet = date_of(record.dates, "touch"), date_of(record.dates, "wet")
    ask = (f"Ask {shop.phone}",) if shop.phone else ()
    medium.large(said.over, said.lines, (*said.under, *ask), _foot(facts, (fresh, wet)))


def _foot(facts: PaperFacts, dates: tuple[ToldDate | None, ...]) -> str:
    record = facts.of_job
    parts = [f"{record.vehicle}, job {record.number}", facts.shop.name]
    if any(date is not None and date.example for date in dates):
        parts.append("example times, replace from the pack")
    fresh = dates[0]
    if fresh is not None and fresh.at_us is not None:
        parts.append(f"laid last: {fresh.why}")
        if fresh.at_us > record.now_us:
            parts.append(otherwise_text(fresh, record.zone, facts.unit))
    parts.append(f"times of {record.zone}, written {spoken(record.now_us, record.zone)}")
    return "; ".join(part for part in parts if part)


WINDSCREEN = Sheet("Windscreen card", put_windscreen, pages=1, lying=True)
