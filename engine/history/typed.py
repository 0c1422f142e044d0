"""What is typed to find jobs: words, and days among them."""

from __future__ import annotations

import re
from calendar import monthrange
from datetime import date

from msgspec.structs import replace

from cartclock.engine.history.answers import Sought

_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
# A month is known by its first letters only beside a day or a year: a vehicle may be called so.
_LETTERS = 3
_ISO = re.compile(r"([0-9]{4})-([0-9]{1,2})(?:-([0-9]{1,2}))?")


def sought_by(typed: str, among: Sought = Sought()) -> Sought:  # noqa: B008  # it cannot be changed
    """The words of what was typed, without the days among them, and from when to when those are:
    "2026-09", "2026-09-21", "sep 2026", "21 sep 2026".

    among: what is wanted beside it.
    """
    words = typed.split()
    for at in range(len(words)):
        for length in (3, 2, 1):
            days = _days(words[at : at + length]) if at + length <= len(words) else None
            if days is not None:
                said = " ".join((*words[:at], *words[at + length :]))
                first, last = (day.isoformat() for day in days)
                return replace(among, words=said, from_day=first, to_day=last)
    return replace(among, words=" ".join(words))


def _days(words: list[str]) -> tuple[date, date] | None:
    """The first and the last day that these words name together; None if they name none."""
    match words:
        case [one] if (iso := _ISO.fullmatch(one)) is not None:
            year, month, day = iso.groups()
            return _between(int(year), int(month), int(day) if day else None)
        case [name, year] if year.isdecimal() and len(year) == 4:
            return _between(int(year), _month(name), None)
        case [day, name, year] if day.isdecimal() and year.isdecimal() and len(year) == 4:
            return _between(int(year), _month(name), int(day))
    return None


def _month(name: str) -> int:
    """A month by its name or the beginning of it; 0 for none."""
    wanted = name.casefold()
    if len(wanted) < _LETTERS:
        return 0
    return next((nth for nth, one in enumerate(_MONTHS, 1) if one.startswith(wanted)), 0)


def _between(year: int, month: int, day: int | None) -> tuple[date, date] | None:
    try:
        if day is not None:
            return date(year, month, day), date(year, month, day)
        return date(year, month, 1), date(year, month, monthrange(year, month)[1])
    except ValueError:
        return None
