"""One scale of time for rows under each other: where it is cut, and what the cuts are called."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time, timedelta

from cartclock.engine.dates import instant, local, spoken_day
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.times import Instant

# Hours between two cuts, whichever first leaves no more than so many. Our own judgement.
_STEPS_H = (1, 2, 3, 6, 12, 24, 48, 168, 672)
_MOST_CUTS = 6
_QUARTER_US = HOUR_US // 4


def named_cuts(from_us: Instant, to_us: Instant, zone: str) -> tuple[tuple[float, str], ...]:
    """Round hours, or midnights, behind `from_us` and up to `to_us` by the clock of `zone`, each
    with its word: "18:00", "Sat 28".
    """
    hours = (to_us - from_us) / HOUR_US
    step_h = next((step for step in _STEPS_H if hours / step <= _MOST_CUTS), _STEPS_H[-1])
    found = _midnights(from_us, to_us, zone, step_h // 24) if step_h >= 24 else ()
    return tuple(found) or tuple(_hours(from_us, to_us, zone, min(step_h, 12)))


def _midnights(
    from_us: Instant, to_us: Instant, zone: str, days: int
) -> Iterator[tuple[float, str]]:
    day = local(from_us, zone).date()
    while True:
        day += timedelta(days=days)
        at_us = instant(f"{datetime.combine(day, time()):%Y-%m-%d %H:%M}", zone)
        if at_us > to_us:
            return
        yield at_us, " ".join(spoken_day(day).split(" ")[:2])


def _hours(from_us: Instant, to_us: Instant, zone: str, step_h: int) -> Iterator[tuple[float, str]]:
    # Offsets from UTC are whole quarters of an hour.
    for at_us in range(-(-from_us // _QUARTER_US) * _QUARTER_US, to_us + 1, _QUARTER_US):
        here = local(Instant(at_us), zone)
        if here.minute == 0 and here.hour % step_h == 0:
            yield at_us, f"{here:%H:%M}"
