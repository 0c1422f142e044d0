"""A day and a time of day as a person types them, as the one instant they stand for.

Read are a time (`17:30`, `17.30`, `1730`, `17`), alone or behind a day: `today`, `tomorrow`, a
weekday (`fri`, `friday`), so many days on (`+2`), a date (`2026-09-24`). What could be two
instants or none, and what has passed, is refused with what can be written instead.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from cartclock.engine.dates import instants_shown, local, offset_text, spoken, spoken_day
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
# Letters from which on a weekday is known: two would do, three are what people write.
_LETTERS = 3
_WEEK = 7
_TIME = re.compile(r"([0-9]{1,2})(?:[:.]?([0-9]{2}))?")
_ON = re.compile(r"\+([0-9]{1,3})")
_HALF_A_DAY_US = 12 * 3600 * 1_000_000
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
# The time of day in what is named as an example, and how many days on its weekday and its date
# lie.
_EXAMPLE, _WEEKDAY_ON, _DATE_ON = time(17, 30), 3, 10


class _NoTime(Refused):
    """What was typed is of no form that is read; the sentence does not say which are."""


def time_forms(now_us: Instant, zone: str) -> str:
    """How a time ahead can be typed, each form with an example that is ahead of now."""
    now = local(now_us, zone)
    weekday = _DAYS[(now.weekday() + _WEEKDAY_ON) % _WEEK][:_LETTERS]
    clock = f"{_EXAMPLE:%H:%M}"
    forms = [f"tomorrow {clock}", f"{weekday} {clock}"]
    if now.time() < _EXAMPLE:
        forms.insert(0, clock)
    return f"{', '.join(forms)} or {_later(now.date(), _DATE_ON)} {clock}"


def time_ahead(text: str, now_us: Instant, zone: str, rolls: bool = False) -> Instant:
    """The instant not before `now_us` that was typed, on the clock of `zone`.

    A time that the clocks show twice is told apart by the zone's letters or its offset behind it
    ("01:30 EST", "01:30 UTC-05:00").

    Args:
        rolls: True where a time without a day that has passed can only be one of tomorrow.

    Raises Refused, in a sentence, for what is none, could be two, or has passed.
    """
    try:
        return _read(text, now_us, zone, rolls)
    except _NoTime as why:
        raise _instead(why, time_forms(now_us, zone)) from None


def _read(text: str, now_us: Instant, zone: str, rolls: bool) -> Instant:
    """As `time_ahead`; raises _NoTime for what is of no form."""
    day_word, clock_word, letters = _said_apart(text.lower().split())
    now = local(now_us, zone)
    today = now.date()
    clock = _clock(clock_word, text)
    day = _day(day_word, clock, today, text, now.time())
    if rolls and not day_word:
        ahead = any(at_us >= now_us for at_us in _shown(day, clock, letters, zone))
        # What the clocks jump over on this day has passed if its hour has.
        jumped = not _shown(day, clock, "", zone) and clock > now.time()
        day = day if ahead or jumped else _later(today, 1)
    at_us = _one(day, clock, letters, zone)
    if at_us >= now_us:
        return at_us
    if day != today:
        raise Refused(f"{spoken(at_us, zone)} has passed.")
    following = f"{spoken_day(_later(today, 1))} {clock:%H:%M}"
    raise Refused(f"{clock:%H:%M} has passed today; tomorrow {clock:%H:%M} is {following}.")


def time_then(text: str, around_us: Instant, zone: str) -> Instant:
    """The instant that was typed, on the clock of `zone`; without a date the one within twelve
    hours of `around_us`. Raises Refused like `time_ahead`, and for a day that is no date, because
    it would be told from another day than the reader's.
    """
    try:
        day, _clock_word, _letters = _said_apart(text.lower().split())
        if day and not _DATE.fullmatch(day):
            raise _NoTime(f'"{day}" is no date.')
        from_us = Instant(0) if day else Instant(around_us - _HALF_A_DAY_US)
        return _read(text, from_us, zone, rolls=True)
    except _NoTime as why:
        clock = f"{_EXAMPLE:%H:%M}"
        day_then = local(around_us, zone).date()
        raise _instead(why, f"{clock} or {day_then} {clock}") from None


def read_in_full(text: str, now_us: Instant, zone: str, rolls: bool = False) -> str:
    """What is typed as it is read, with its weekday, or why it is not read; "" for nothing.

    It stands under a question that says what can be typed. rolls: as in `time_ahead`.
    """
    if not text.strip():
        return ""
    try:
        return spoken(_read(text, now_us, zone, rolls), zone)
    except Refused as why:
        return str(why)


def _instead(why: _NoTime, forms: str) -> Refused:
    return Refused(f"{str(why).removesuffix('.')}; write it like {forms}.")


def _said_apart(words: list[str]) -> tuple[str, str, str]:
    """Day, time and letters of the zone, each "" if not said."""
    match words:
        case [clock]:
            return "", clock, ""
        case [first, second] if _TIME.fullmatch(first):
            return "", first, second
        case [day, clock]:
            return day, clock, ""
        case [day, clock, letters]:
            return day, clock, letters
        case _:
            raise _NoTime(f'"{" ".join(words)}" is not a time.')


def _clock(word: str, text: str) -> time:
    found = _TIME.fullmatch(word)
    if found is None:
        raise _NoTime(f'"{text}" has no time of day.')
    hour, minute = int(found[1]), int(found[2] or 0)
    if hour > 23 or minute > 59:
        raise Refused(f'"{word}" is no time of a day; the last one is 23:59.')
    return time(hour, minute)


def _day(word: str, clock: time, today: date, text: str, now: time) -> date:
    if word in ("", "today"):
        return today
    if word == "tomorrow":
        return _later(today, 1)
    on = _ON.fullmatch(word)
    if on is not None:
        return _later(today, int(on[1]))
    if _DATE.fullmatch(word):
        try:
            return date.fromisoformat(word)
        except ValueError:
            raise Refused(f'"{word}" is not in the calendar.') from None
    named = [at for at, name in enumerate(_DAYS) if name.startswith(word)]
    if len(word) < _LETTERS or not named:
        raise _NoTime(f'"{text}" is not a time.')
    days = (named[0] - today.weekday()) % _WEEK
    if not days and clock > now:
        following = _later(today, _WEEK)
        raise Refused(
            f'"{word}" is today: write today {clock:%H:%M}, '
            f"or {following} {clock:%H:%M} for {spoken_day(following)}."
        )
    return _later(today, days or _WEEK)


def _later(day: date, days: int) -> date:
    try:
        return day + timedelta(days=days)
    except OverflowError:
        raise Refused(f"{days} days on is not in the calendar.") from None


def _shown(day: date, clock: time, letters: str, zone: str) -> tuple[Instant, ...]:
    """The instants at which the clock of `zone` shows that; letters "": whatever it is called."""
    try:
        found = instants_shown(datetime.combine(day, clock), zone)
    except ValueError:
        raise Refused(f"{day} {clock:%H:%M} is not in the calendar.") from None
    if not letters:
        return found
    return tuple(at_us for at_us in found if letters in _names(offset_text(at_us, zone)))


def _one(day: date, clock: time, letters: str, zone: str) -> Instant:
    """The one instant at which the clock of `zone` shows that."""
    found = _shown(day, clock, "", zone)
    if not found:
        raise Refused(
            f"The clocks jump over {clock:%H:%M} on {spoken_day(day)}; "
            "write an hour more or an hour less."
        )
    named = {at_us: offset_text(at_us, zone) for at_us in found}
    if letters:
        found = _shown(day, clock, letters, zone)
        if not found:
            raise Refused(
                f'"{letters.upper()}" is not what the clocks show on {spoken_day(day)} '
                f"{clock:%H:%M}; that is {' or '.join(named.values())}."
            )
    if len(found) > 1:
        either = " or ".join(f"{clock:%H:%M} {said.split()[0]}" for said in named.values())
        raise Refused(f"{clock:%H:%M} comes twice on {spoken_day(day)}: write {either}.")
    return found[0]


def _names(offset: str) -> list[str]:
    """What an offset may be called behind a time, in small letters: "est", "utc-05:00"."""
    return offset.lower().replace("(", "").replace(")", "").split()
