"""Lengths of time as a plan file writes them.

Steps are short and elapsed: "90s", "2m", "1h30m". Aftercare runs for hours or for calendar
days, months and years, and is written as an ISO 8601 duration. Hours are elapsed, the rest
follows the calendar; a mixture of both would mean two different things on the day the clocks
change, so it is refused.
"""

from __future__ import annotations

import re

from cartclock.engine.dates import iso_length
from cartclock.engine.plan.plan import LONGEST_S

MOST_YEARS = 50

STEP_LIKE = 'write it like "90s", "2m" or "1h30m"'
ISO_LIKE = 'write it like "PT48H" (hours), "P7D" (days), "P2W" (weeks), "P6M" (months) or "P1Y"'

_STEP = re.compile(r"(?:([0-9]{1,9})h)?(?:([0-9]{1,9})m)?(?:([0-9]{1,9})s)?")
_DATES, _TIMES = ("years", "months", "weeks", "days"), ("hours", "minutes", "seconds")
# Shortest and longest length of each unit of a date in days.
_SHORTEST_DAYS = (365, 28, 7, 1)
_LONGEST_DAYS = (366, 31, 7, 1)


class NotADuration(ValueError):
    """The text is no length of time; `str()` says what is wrong and what would be right."""


def _parts(match: re.Match[str], *groups: int | str) -> tuple[int, ...]:
    return tuple(int(match[group] or 0) for group in groups)


def step_seconds(text: str) -> int:
    """Seconds of a step duration such as "1h30m", 0 to `LONGEST_S`.

    Raises:
        NotADuration: the text is none, or longer than a year.
    """
    match = _STEP.fullmatch(text)
    if not text or match is None:
        raise NotADuration(f"is not a duration; {STEP_LIKE}")
    hours, minutes, seconds = _parts(match, 1, 2, 3)
    total = hours * 3600 + minutes * 60 + seconds
    if total > LONGEST_S:
        raise NotADuration(f"is longer than a year; {STEP_LIKE}")
    return total


def spelled(seconds: int) -> str:
    """A step duration as the file would write it: 5400 is "1h30m", 0 is "0s"; seconds >= 0."""
    hours, rest = divmod(seconds, 3600)
    minutes, left = divmod(rest, 60)
    parts = ((hours, "h"), (minutes, "m"), (left, "s"))
    return "".join(f"{count}{unit}" for count, unit in parts if count) or "0s"


def iso_extent(text: str) -> tuple[int, int]:
    """Shortest and longest length in seconds that an ISO 8601 duration can have.

    A month is 28 to 31 days, a year 365 or 366; both ends are equal for hours and days.
    The change of the clocks is not counted.

    Raises:
        NotADuration: no such duration, zero, negative, days mixed with hours, weeks mixed
            with anything (ISO 8601 writes weeks alone), or longer than `MOST_YEARS`.
    """
    if text.startswith("-"):
        raise NotADuration(f"counts backwards; {ISO_LIKE}")
    match = iso_length(text)
    if match is None:
        raise NotADuration(f"is not an ISO 8601 duration; {ISO_LIKE}")
    dates = _parts(match, *_DATES)
    hours, minutes, seconds = _parts(match, *_TIMES)
    if any(match.group(*_TIMES)) and any(match.group(*_DATES)):
        raise NotADuration(
            "mixes calendar days with hours, which part ways when the clocks change; "
            'write only hours ("PT36H") or only days ("P2D")'
        )
    if match["weeks"] and any(match.group("years", "months", "days")):
        raise NotADuration('mixes weeks with other units; write the days alone ("P17D")')
    time = hours * 3600 + minutes * 60 + seconds
    shortest = sum(n * days for n, days in zip(dates, _SHORTEST_DAYS, strict=True)) * 86_400
    longest = sum(n * days for n, days in zip(dates, _LONGEST_DAYS, strict=True)) * 86_400
    if longest + time == 0:
        raise NotADuration(f"is no time at all; {ISO_LIKE}")
    if longest + time > MOST_YEARS * 366 * 86_400:
        raise NotADuration(f"is longer than {MOST_YEARS} years; {ISO_LIKE}")
    return shortest + time, longest + time
