"""The aftercare as a calendar file (RFC 5545) for the customer's phone.

Hours become instants in UTC with a beginning and an end, never a duration, because a duration
of 48 hours is written as two days and days follow the clocks. Days become dates, their end
exclusive. A schedule that is handed out again keeps the identity of its entries, so that a
calendar updates what it has; entries that dropped out are sent once more as cancelled.
"""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from cartclock.engine.after.dates import date_of
from cartclock.engine.after.entries import Entry, entries
from cartclock.engine.dates import local, up_to_minute
from cartclock.engine.record.record import Record
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

if TYPE_CHECKING:
    from icalendar import Event

PRODID = "-//cartclock//aftercare//EN"
# How long a mere moment is shown, and when a phone speaks up; our own judgement.
MOMENT = timedelta(hours=1)
AT_NINE = timedelta(hours=9)
NINE_THE_DAY_BEFORE = timedelta(hours=-15)
AN_HOUR_BEFORE = timedelta(hours=-1)

_LONGEST = 75
_SECOND_US = 1_000_000
_BREAKS = frozenset("\n\r\x0b\x0c\x85\u2028\u2029")
_BYTE_ORDER = "\ufeff"
# They turn the direction of what follows them.
_BIDI = frozenset("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def calendar_file(
    record: Record,
    revision: int,
    handed_out: Sequence[Entry] = (),
    shop: str = "",
    phone: str = "",
) -> bytes:
    """The calendar file of a job's aftercare and cures, UTF-8, lines of at most 75 octets.

    Args:
        revision: of this schedule, >= 0; every entry carries it as its SEQUENCE.
        handed_out: the entries of earlier schedules (`engine.after.entries.handed_out`); those
            that are not among the present ones are cancelled.
        shop, phone: where to come and whom to ask; "" for nothing.

    The same record, revision and entries give the same bytes. Raises Refused if there is
    neither a date nor anything to cancel, ValueError for a revision under 0.
    """
    if revision < 0:
        raise ValueError(f"{revision} is no revision")
    touch, wet = date_of(record.dates, "touch"), date_of(record.dates, "wet")
    present = entries(record.cares, record.cures, record.zone, touch, wet)
    names = {entry.identity for entry in present}
    dropped = [entry for entry in handed_out if entry.identity not in names]
    if not present and not dropped:
        why = next((care.why or care.no_day for care in record.cares), "")
        raise Refused(f"There is no date for a calendar{': ' + why if why else ''}.")

    # Half a tenth of a second, and most runs write no calendar.
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    for entry in present:
        calendar.add_component(_event(record, entry, revision, shop, phone))
    for entry in dropped:
        calendar.add_component(_event(record, entry, revision, shop, phone, cancelled=True))
    made: bytes = calendar.to_ical()
    # The part folds a letter early at times; here the same line is folded the same for ever.
    lines = made.replace(b"\r\n ", b"").decode().removesuffix("\r\n").split("\r\n")
    return b"".join(folded_line(line) + b"\r\n" for line in lines)


def folded_line(line: str) -> bytes:
    """A content line in physical lines of at most 75 octets, no letter parted.

    Source: RFC 5545 section 3.1, read in the issuing body's text; the space that begins a
    continuation is one of its octets.
    """
    parts = [b""]
    for char in line:
        octets = char.encode()
        if len(parts[-1]) + len(octets) > _LONGEST:
            parts.append(b" ")
        parts[-1] += octets
    return b"\r\n".join(parts)


def uid(job: str, plan_sha256: str, identity: str) -> str:
    """The identity of an entry for ever: from the job, its plan, and what the entry is."""
    named = json.dumps([job, plan_sha256, identity])
    return f"{hashlib.sha256(named.encode()).hexdigest()[:40]}@cartclock"


def plain(text: str) -> str:
    """Text without anything that steers: one line feed for every line break, tabs kept.

    Other control characters, marks that turn the writing direction, half surrogates and marks of
    the byte order, which are no letters, are left out. Escaping and folding are done when the file
    is written.
    """
    found = []
    for char in text.replace("\r\n", "\n"):
        if char in _BREAKS:
            found.append("\n")
        elif char == "\t" or not (
            char in _BIDI or char == _BYTE_ORDER or unicodedata.category(char) in ("Cc", "Cs")
        ):
            found.append(char)
    return "".join(found)


def _event(
    record: Record,
    entry: Entry,
    revision: int,
    shop: str,
    phone: str,
    cancelled: bool = False,
) -> Event:
    from icalendar import Event

    event = Event()
    event.add("uid", uid(record.job, record.plan_sha256, entry.identity))
    event.add("sequence", revision)
    event.add("dtstamp", _utc(Instant(record.now_us // _SECOND_US * _SECOND_US)))
    begin, end = _stretch(entry)
    event.add("dtstart", begin)
    event.add("dtend", end)
    event.add("summary", plain(entry.say))
    event.add("description", plain(_description(record, entry, shop, phone)))
    if entry.visit and shop:
        event.add("location", plain(shop))
    event.add("status", "CANCELLED" if cancelled else "CONFIRMED")
    # What must not be done takes no time of the day; a visit does.
    event.add("transp", "OPAQUE" if entry.visit else "TRANSPARENT")
    if not cancelled:
        _add_alarm(event, entry, record)
    return event


def _stretch(entry: Entry) -> tuple[date | datetime, date | datetime]:
    if entry.by_day:
        return date.fromisoformat(entry.from_day), date.fromisoformat(entry.to_day)
    if entry.from_us == entry.to_us:
        begin = _utc(up_to_minute(entry.from_us))
        return begin, begin + MOMENT
    # Neither the beginning nor the end is told too early by less than it lasts.
    return _utc(Instant(entry.from_us // _SECOND_US * _SECOND_US)), _utc(up_to_minute(entry.to_us))


def _utc(at_us: Instant) -> datetime:
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=at_us)


def _description(record: Record, entry: Entry, shop: str, phone: str) -> str:
    lines = [record.vehicle, *entry.notes]
    who = ", ".join(part for part in (shop, phone) if part)
    if who:
        lines.append(who)
    return "\n".join(lines)


def _rings(record: Record, entry: Entry) -> str:
    """What a phone says: at an end what begins then, because nobody is to keep it any longer."""
    if entry.kind not in ("until", "cure"):
        return entry.say
    if entry.by_day:
        return f"To the end of today: {entry.say}"
    wet, touch = (date_of(record.dates, about) for about in ("wet", "touch"))
    # Another film of the vehicle may still need longer.
    if entry.about == "water" and wet is not None and entry.to_us == wet.at_us:
        return "From now on it may get wet again."
    if entry.kind == "cure" and touch is not None and entry.to_us == touch.at_us:
        return "From now on it may be touched."
    return f"Over now: {entry.say}"


def _add_alarm(event: Event, entry: Entry, record: Record) -> None:
    """An end speaks up when it is reached, a visit the day before, all else when it begins."""
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", plain(_rings(record, entry)))
    ends = entry.kind in ("until", "cure")
    if entry.by_day:
        before = NINE_THE_DAY_BEFORE if ends or entry.visit else AT_NINE
    else:
        before = timedelta() if ends else AN_HOUR_BEFORE if entry.visit else timedelta()
    related = {"RELATED": "END"} if ends else {}
    alarm.add("trigger", before, parameters=related)
    event.add_component(alarm)


def file_name(record: Record, revision: int) -> str:
    """A name for the file that any disk takes: "aftercare-job-3-2026-11-26-r2.ics"."""
    day = local(record.now_us, record.zone).date().isoformat()
    return f"aftercare-job-{record.number}-{day}-r{revision}.ics"
