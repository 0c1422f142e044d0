"""How an instant, a calendar date and a length are reckoned in a zone and said.

Instants are whole microseconds since 1970-01-01 UTC. Clock times are 24 hour and English,
whatever the machine's locale.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from cartclock.engine.times import Instant
from cartclock.engine.until import bare, holds

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
_DAY = timedelta(days=1)
# `strftime` says them in the language of the machine.
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_MINUTE_US = 60 * 1_000_000
_QUARTER_US = 15 * _MINUTE_US

# ISO 8601 as far as an aftercare needs it: whole numbers, no sign. Who reads it says what of it
# may stand together.
_ISO = (
    r"P(?=[0-9T])"
    r"(?:(?P<years>[0-9]{1,9})Y)?(?:(?P<months>[0-9]{1,9})M)?"
    r"(?:(?P<weeks>[0-9]{1,9})W)?(?:(?P<days>[0-9]{1,9})D)?"
    r"(?:T(?=[0-9])(?:(?P<hours>[0-9]{1,9})H)?(?:(?P<minutes>[0-9]{1,9})M)?"
    r"(?:(?P<seconds>[0-9]{1,9})S)?)?"
)
_CLOCK = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9]{2}:[0-9]{2}")

# Ages from here on are said in hours.
_IN_MINUTES = 120


def iso_length(text: str) -> re.Match[str] | None:
    """The numbers of a length of time written by ISO 8601, a group a unit; None if it is none."""
    # Compiled when first asked for: a start reads no length, and no pattern takes longer.
    return re.fullmatch(_ISO, text)


_ISO_LARGEST = ("years", "months", "weeks", "days", "hours", "minutes", "seconds")
_ISO_UNITS = ("hours", "days", "weeks", "months", "years", "minutes", "seconds")


def iso_parts(text: str) -> list[tuple[str, int]]:
    """Unit and number of each part of a length of time by ISO 8601 that is not 0; [] if the text
    is none.
    """
    found = iso_length(text)
    if found is None:
        return []
    return [(unit, int(found[unit])) for unit in _ISO_UNITS if int(found[unit] or 0)]


def iso_said(text: str) -> str:
    """A length of time by ISO 8601 in words: "48 hours", "1 day 12 hours"; a text that is none."""
    parts = sorted(iso_parts(text), key=lambda part: _ISO_LARGEST.index(part[0]))
    return " ".join(f"{many} {unit[:-1] if many == 1 else unit}" for unit, many in parts) or text


def iso_text(unit: str, many: int) -> str:
    """A length of time of one unit ("hours") by ISO 8601: "PT48H"."""
    return f"P{'T' if unit in ('hours', 'minutes', 'seconds') else ''}{many}{unit[0].upper()}"


def up_to_minute(at_us: Instant) -> Instant:
    """The next whole minute, or the instant itself: what begins or ends is never told too early."""
    return Instant(-(-at_us // _MINUTE_US) * _MINUTE_US)


def _timezone(zone: str) -> ZoneInfo:
    try:
        return ZoneInfo(zone)
    # LookupError: no such zone. OSError: a folder of the zone database ("Europe").
    except (LookupError, ValueError, OSError):
        raise ValueError(f'"{zone}" is not a time zone; write it like "Europe/Berlin"') from None


def _microseconds(at: datetime) -> int:
    return (at - _EPOCH) // _MICROSECOND


def _resolved(wall: datetime, zone: ZoneInfo) -> int:
    # fold=0 is RFC 5545 section 3.3.5 in both cases: of a repeated time the first, and
    # for a time that does not exist the offset before the gap.
    return _microseconds(wall.replace(tzinfo=zone, fold=0).astimezone(UTC))


def local(at_us: Instant, zone: str) -> datetime:
    """The clock and calendar of `zone` at an instant.

    Two of them are compared and subtracted by their clock times, without the offsets: what
    has elapsed is reckoned with instants.
    Raises ValueError for an unknown zone or an instant outside the years 1 to 9999.
    """
    timezone = _timezone(zone)
    try:
        return (_EPOCH + at_us * _MICROSECOND).astimezone(timezone)
    except OverflowError:
        raise ValueError(f"{at_us} microseconds lie outside the calendar") from None


def day_of(at_us: Instant, zone: str) -> date:
    """The calendar day of an instant in `zone`. Raises ValueError like `local`."""
    # A day ends where a quarter of an hour does, whatever the zone: offsets from UTC are whole
    # quarters (tz database, every zone since 1973; from memory).
    holds(at_us, _QUARTER_US - bare(at_us) % _QUARTER_US)
    return local(Instant(bare(at_us)), zone).date()


def instant(text: str, zone: str) -> Instant:
    """The instant, microseconds UTC, of a clock time "YYYY-MM-DD HH:MM" in `zone`.

    Source: RFC 5545 section 3.3.5, read in the issuing body's text. A time that occurs twice
    is the first one; a time that the clocks jump over is reckoned with the offset before the gap.
    Raises ValueError for an unknown zone and for a text that is no date and time.
    """
    timezone = _timezone(zone)
    if _CLOCK.fullmatch(text) is None:
        raise ValueError(f'"{text}" is not a time; write it like "2026-11-26 14:00"')
    try:
        return Instant(_resolved(datetime.fromisoformat(text), timezone))
    except (ValueError, OverflowError):
        raise ValueError(f'"{text}" is not in the calendar') from None


@lru_cache(maxsize=256)
def time_on_day(day: date, clock: time, zone: str) -> Instant:
    """The instant at which a clock in `zone` shows a time on a day; seconds are left out.

    A time that occurs twice or not at all that day is read as in `instant`. Raises ValueError for
    an unknown zone.
    """
    return instant(f"{day} {clock:%H:%M}", zone)


def hour_of_day(at_us: Instant, zone: str) -> float:
    """Hours since midnight by the clock of `zone`, to the minute: 0 to under 24. Raises ValueError
    like `local`.
    """
    here = local(at_us, zone)
    return here.hour + here.minute / 60


def instants_shown(wall: datetime, zone: str) -> tuple[Instant, ...]:
    """Every instant at which the clock of `zone` shows `wall`, in order: one, of a time that
    occurs twice two, of one that the clocks jump over none.

    wall: without an offset. Raises ValueError for an unknown zone or outside the years 1 to 9999.
    """
    timezone = _timezone(zone)
    try:
        both = [
            Instant(_microseconds(wall.replace(tzinfo=timezone, fold=fold).astimezone(UTC)))
            for fold in (0, 1)
        ]
        shown = [at_us for at_us in both if local(at_us, zone).replace(tzinfo=None) == wall]
    except OverflowError:
        raise ValueError(f"{wall} lies outside the calendar") from None
    return tuple(dict.fromkeys(shown))


def at_clock(at_us: Instant, day: date, zone: str) -> Instant:
    """The instant on another day at which the clock of `zone` shows what it shows at `at_us`.

    A time that occurs twice or not at all that day is read as in `instant`. Raises ValueError
    like `local`.
    """
    return Instant(_resolved(datetime.combine(day, local(at_us, zone).time()), _timezone(zone)))


def day_said(text: str, today: date) -> date | None:
    """A date as it is typed: yesterday, today, tomorrow, or by ISO 8601; None for none."""
    near = {"yesterday": -_DAY, "today": 0 * _DAY, "tomorrow": _DAY}.get(text)
    if near is not None:
        return today + near
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def spoken_day(day: date | str) -> str:
    """A calendar date, given as such or as ISO 8601 text, as "Thu 26 Nov 2026".

    Raises ValueError for a text that is no date.
    """
    asked = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{_WEEKDAYS[asked.weekday()]} {asked.day} {_MONTHS[asked.month - 1]} {asked.year:04}"


def spoken(at_us: Instant, zone: str) -> str:
    """An instant on the clock of `zone`, as "Thu 26 Nov 2026 14:00"; seconds are cut off.

    A clock time that occurs twice that night carries the zone's abbreviation and offset,
    as "Sun 1 Nov 2026 01:30 EST (UTC-05:00)"; the offset alone where the zone database has
    no letters. Raises ValueError like `local`.
    """
    here = local(at_us, zone)
    text = f"{spoken_day(here.date())} {here:%H:%M}"
    return f"{text} {offset_text(at_us, zone)}" if occurs_twice(here) else text


def occurs_twice(here: datetime) -> bool:
    """Whether the clock of a zone shows this again that night; `here` is of `local`."""
    # An instant cannot lie in a gap, so two offsets for one clock time mean a repeat.
    return here.replace(fold=1 - here.fold).utcoffset() != here.utcoffset()


def offset_text(at_us: Instant, zone: str) -> str:
    """The zone's abbreviation and offset at an instant, "EST (UTC-05:00)"; the offset alone where
    the zone database has no letters. Raises ValueError like `local`."""
    here = local(at_us, zone)
    offset = f"UTC{here.isoformat(timespec='minutes')[len('2026-11-26T14:00') :]}"
    name = here.tzname() or ""
    return f"{name} ({offset})" if name.isalpha() else offset


def clock_apart(at_us: Instant, zone: str, here: str) -> str:
    """What the clock of `zone` goes by at an instant, "CEST"; "" where that of `here` shows the
    same. Raises ValueError like `local`.
    """
    if local(at_us, zone).utcoffset() == local(at_us, here).utcoffset():
        return ""
    return offset_text(at_us, zone).split(" ")[0]


def spoken_near(at_us: Instant, now_us: Instant, zone: str) -> str:
    """As `spoken`, but of the day that `now_us` falls on in `zone` only the clock time ("14:00").

    Another day is named without its year ("Sun 1 Nov 01:30"). Raises ValueError like `local`.
    """
    weekday, day, month, _year, clock = spoken(at_us, zone).split(" ", 4)
    if local(at_us, zone).date() == day_of(now_us, zone):
        return clock
    return f"{weekday} {day} {month} {clock}"


def spoken_weekday(at_us: Instant, now_us: Instant, zone: str) -> str:
    """As `spoken_near`, but of the next six days with the weekday alone ("Wed 21:00").

    Raises ValueError like `local`.
    """
    near = spoken_near(at_us, now_us, zone)
    ahead = (day_of(at_us, zone) - day_of(now_us, zone)).days
    return f"{near.split(' ')[0]} {near.split(' ')[-1]}" if 0 < ahead < 7 else near


def spoken_soon(at_us: Instant, now_us: Instant, zone: str) -> str:
    """As `spoken_near`, but of the day after that of `now_us` "07:17 tomorrow".

    Raises ValueError like `local`.
    """
    if day_of(at_us, zone) - day_of(now_us, zone) == _DAY:
        return f"{spoken(at_us, zone).split(' ', 4)[4]} tomorrow"
    return spoken_near(at_us, now_us, zone)


def clock_text(seconds: float) -> str:
    """A length as a clock shows it: "5:09", from an hour on "1:05:09", "-0:07" if under 0.

    seconds: finite; fractions are cut off towards 0. Raises ValueError or OverflowError
    if not finite.
    """
    whole = int(seconds)
    sign = "-" if whole < 0 else ""
    hours, rest = divmod(abs(whole), 3600)
    minutes, left = divmod(rest, 60)
    if hours:
        return f"{sign}{hours}:{minutes:02}:{left:02}"
    return f"{sign}{minutes}:{left:02}"


def measured_text(seconds: float) -> str:
    """A length that is over, as `clock_text` but to the nearest second; half a one is raised.

    seconds: >= 0. Raises ValueError or OverflowError if not finite.
    """
    return clock_text(int(seconds + 0.5))


def hour_minutes(seconds: float) -> str:
    """A length as a table has it: "1:40", "0:05"; >= 0, to the nearest minute.

    Raises ValueError or OverflowError if not finite.
    """
    hours, minutes = divmod(nearest_minute(seconds), 60)
    return f"{hours}:{minutes:02}"


def nearest_minute(seconds: float) -> int:
    """The minutes that every screen and paper says of a length; half a minute is raised.

    seconds: >= 0. Raises ValueError or OverflowError if not finite.
    """
    return int(seconds / 60 + 0.5)


def age_said(minutes: int) -> str:
    """How old something is: "64 min", from two hours on "8 h 10 min". minutes: >= 0."""
    return f"{minutes} min" if minutes < _IN_MINUTES else hours_text(minutes * 60)


def hours_text(seconds: float) -> str:
    """A length in hours and minutes: "7 h 35 min", "8 h", "35 min", "0 min".

    seconds: finite; to the nearest minute, so lengths that must add up are to be made of whole
    minutes first. Raises ValueError or OverflowError if not finite.
    """
    whole = nearest_minute(abs(seconds))
    sign = "-" if whole and seconds < 0 else ""
    hours, minutes = divmod(whole, 60)
    if not hours:
        return f"{sign}{minutes} min"
    return f"{sign}{hours} h {minutes} min" if minutes else f"{sign}{hours} h"
