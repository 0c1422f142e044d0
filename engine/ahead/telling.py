"""How a finish is said: in five minutes and in shares of ten, because nobody knows it better."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.ahead.causes import Cause
from cartclock.engine.ahead.finish import Finish, Help, Part, PromiseKept
from cartclock.engine.dates import hour_minutes, spoken_weekday
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.air import TemperatureUnit, in_unit
from cartclock.engine.times import Instant

# Nothing that is expected is known better. Our own judgement.
TOLD_US = 5 * MINUTE_US
# In fewer of ten such days somebody is to be called. Our own judgement.
CALL_UNDER = 5
_PAST = "promised time is past"
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


def ready_about(at_us: Instant, cures: bool, now_us: Instant, zone: str) -> str:
    """The same of when a job is ready. cures: True if all its work is done and only a cure is left,
    whose end is known, so that no time is told before it.
    """
    return by_text(at_us, now_us, zone) if cures else about_text(at_us, now_us, zone)


def by_text(at_us: Instant, now_us: Instant, zone: str) -> str:
    """The same of what holds in four days of five."""
    return spoken_weekday(at_the_latest_us(at_us), now_us, zone)


def learned_text(jobs: int, from_shop: bool = False) -> str:
    """What it rests on: how many jobs of the worker, and whether other carts of the shop taught."""
    yours = f"{jobs} job{'' if jobs == 1 else 's'} of yours" if jobs else ""
    shop = "the shop's other carts" if from_shop else ""
    said = " and ".join(part for part in (yours, shop) if part)
    return f"from {said}" if said else FROM_THE_PLAN


def calls_now(promise: PromiseKept) -> bool:
    """True if somebody is to be called because of a promise."""
    return _tenths(promise) < CALL_UNDER


def _tenths(promise: PromiseKept) -> int:
    """As it is told, so that what is called for goes by what is read."""
    return round(promise.share * 10)


def kept_text(promise: PromiseKept) -> str:
    """In how many days a promise is kept, behind its time: "kept in 8 of 10 such days"."""
    if promise.past:
        return "which is past"
    tenths = _tenths(promise)
    if tenths <= 0:
        return "kept in fewer than 1 of 10 such days"
    return f"kept in {tenths if tenths < 10 else 'more than 9'} of 10 such days"


def promise_text(promise: PromiseKept) -> str:
    """The same without its time: "promise kept in 8 of 10 such days"."""
    return f"the {_PAST}" if promise.past else f"promise {kept_text(promise)}"


def parts_text(parts: Sequence[Part]) -> str:
    """What of the time is no work, the longest first: "nights 13:30, waits 0:11"."""
    return ", ".join(f"{part.what} {hour_minutes(part.length_us / SECOND_US)}" for part in parts)


def morning_text(found: Finish, zone: str) -> str:
    """When the worker's day begins, where a night lies in it; "" without one."""
    if not found.mornings:
        return ""
    first_us = found.mornings[0]
    return f"your day begins {spoken_weekday(first_us, found.now_us, zone)}"


def ready_sentence(found: Finish, zone: str) -> str:
    """When a job is ready, as expected and four times in five, and what that rests on."""
    ready = ready_about(found.ready_us, found.cures, found.now_us, zone)
    by = by_text(found.ready_by_us, found.now_us, zone)
    said = learned_text(found.learned, found.from_shop)
    return f"Ready about {ready}, four times in five by {by}; {said}."


def promise_sentence(promise: PromiseKept) -> str:
    """In how many days the promise is kept; who can hardly keep it calls now."""
    said = _PAST if promise.past else f"promise is {kept_text(promise)}"
    return f"The {said}{': call now' if calls_now(promise) else ''}."


def beside_text(found: Finish, zone: str) -> str:
    """What of the time is no work, and when the day begins; "" if all of it is work."""
    said = parts_text(found.parts)
    if any(part.what == "rests by the heat" for part in found.parts):
        said += f" ({SCREENING})"
    return "; ".join(part for part in (said, morning_text(found, zone)) if part)


def causes_text(found: Sequence[Cause]) -> str:
    """What took longer so far: "rests 1:40, phone 0:05"; "" for nothing."""
    return ", ".join(f"{one.what} {hour_minutes(one.length_us / SECOND_US)}" for one in found)


def helps_text(
    found: Sequence[Help], now_us: Instant, zone: str, unit: TemperatureUnit = "C"
) -> str:
    """What would help, and by when it is ready then, four times in five; "" for nothing."""
    told = []
    for one in found:
        at = "" if one.rest_c is None else f" at {in_unit(one.rest_c, unit):.0f} {unit}"
        told.append(f"{one.what}{at}: 4 in 5 by {by_text(one.ready_by_us, now_us, zone)}")
    return "; ".join(told)
