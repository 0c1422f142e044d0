"""How a finish is said: in five minutes and in shares of ten, because nobody knows it better."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.ahead.finish import Finish, Part
from cartclock.engine.dates import hour_minutes, spoken_weekday
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.times import Instant

# Nothing that is expected is known better. Our own judgement.
TOLD_US = 5 * MINUTE_US
FROM_THE_PLAN = "from the plan only"
SCREENING = "rests by the heat are a screening estimate"


def about_us(at_us: int) -> Instant:
    """What is expected, to the nearest five minutes."""
    return Instant((at_us + TOLD_US // 2) // TOLD_US * TOLD_US)


def at_the_latest_us(at_us: int) -> Instant:
    """What holds in four days of five, up to the next five minutes."""
    return Instant(-(-at_us // TOLD_US) * TOLD_US)


def about_text(at_us: Instant, now_us: Instant, zone: str) -> str:
    """What is expected as a clock time, of another day with its weekday: "Wed 21:00"."""
    return spoken_weekday(about_us(at_us), now_us, zone)


def by_text(at_us: Instant, now_us: Instant, zone: str) -> str:
    """The same of what holds in four days of five."""
    return spoken_weekday(at_the_latest_us(at_us), now_us, zone)


def learned_text(jobs: int) -> str:
    """What it rests on."""
    return f"from {jobs} job{'' if jobs == 1 else 's'} of yours" if jobs else FROM_THE_PLAN


def kept_text(share: float) -> str:
    """In how many days a promise is kept, share 0 to 1."""
    tenths = round(share * 10)
    if tenths <= 0:
        return "in fewer than 1 of 10 such days"
    return f"in {tenths} of 10 such days" if tenths < 10 else "in more than 9 of 10 such days"


def parts_text(parts: Sequence[Part]) -> str:
    """What of the time is no work, the longest first: "nights 13:30, waits 0:11"."""
    return ", ".join(f"{part.what} {hour_minutes(part.length_us / SECOND_US)}" for part in parts)


def morning_text(found: Finish, zone: str) -> str:
    """When the worker's day begins, where a night lies in it; "" without one."""
    if not found.mornings:
        return ""
    first_us = found.mornings[0]
    return f"your day begins {spoken_weekday(first_us, found.now_us, zone)}"
