"""How instants and lengths are said on paper; to the minute they are rounded as on every screen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cartclock.engine.dates import (
    clock_text,
    hour_minutes,
    local,
    occurs_twice,
    offset_text,
    spoken,
    spoken_day,
)
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.times import Instant


def hour(at_us: Instant, zone: str, seconds: bool = False) -> str:
    """The clock time alone, "14:05" or "14:05:10"; in a repeated hour with the zone's letters."""
    here = local(at_us, zone)
    said = f"{here:%H:%M:%S}" if seconds else f"{here:%H:%M}"
    return f"{said} {offset_text(at_us, zone).partition(' ')[0]}" if occurs_twice(here) else said


def between(from_us: Instant, to_us: Instant, zone: str) -> str:
    """Two instants: "Sat 24 Oct 2026 07:02 to 19:42", the second date only if it is another."""
    start = spoken(from_us, zone)
    if local(from_us, zone).date() == local(to_us, zone).date():
        return f"{start} to {hour(to_us, zone)}"
    return f"{start} to {spoken(to_us, zone)}"


def short_day(at_us: Instant, zone: str) -> str:
    """The day of an instant without its year, "Sat 24 Oct"."""
    return spoken_day(local(at_us, zone).date()).rpartition(" ")[0]


def short_moment(at_us: Instant, zone: str) -> str:
    """An instant without its year, "Sat 24 Oct 07:02"; a repeated hour has the zone's letters."""
    return f"{short_day(at_us, zone)} {hour(at_us, zone)}"


def stretch(from_us: Instant, to_us: Instant, zone: str) -> str:
    """From when to when in as few letters as can be: "07:02-07:15", the weekday if it is another
    day, "23:50-00:10 Sun"."""
    same = local(from_us, zone).date() == local(to_us, zone).date()
    end = "" if same else f" {short_day(to_us, zone)[:3]}"
    return f"{hour(from_us, zone)}-{hour(to_us, zone)}{end}"


def to_minute(length_us: int) -> str:
    """A length >= 0 as hours and minutes, "0:15", rounded to the nearest minute."""
    return hour_minutes(length_us / SECOND_US)


def counted(count: int, one: str, many: str = "") -> str:
    """So many of something: "1 high spot", "no high spots", "3 high spots"."""
    return f"{count or 'no'} {one if count == 1 else many or f'{one}s'}"


def rests_text(called: int, taken: int, too_short: int) -> str:
    """How many rests were called and taken: "3 rests called, 2 taken, 1 of them too short"."""
    said = f"{counted(called, 'rest')} called, {taken} taken"
    return f"{said}, {too_short} of them too short" if too_short else said


MOST_NAMED = 3
"""So many places are named one by one where they are nearly all; our own judgement."""


def places(names: Sequence[str], everything: Sequence[str]) -> str:
    """Where something happened: "roof, bonnet", "all of it", "all but the roof, bonnet"."""
    left = [name for name in everything if name not in names]
    if len(everything) <= MOST_NAMED or len(left) > MOST_NAMED or len(names) <= len(left):
        return ", ".join(names)
    return f"all but {', '.join(left)}" if left else "all of it"


def lasted(length_us: int) -> str:
    """A length as a clock shows it, seconds cut off: "5:09", "1:05:09"."""
    return clock_text(length_us // SECOND_US)


def exact_text(seconds: int) -> str:
    """Whole seconds as "7:35:12", hours always written."""
    minutes, left = divmod(seconds, 60)
    return f"{minutes // 60}:{minutes % 60:02}:{left:02}"


def apportioned(parts: Iterable[int], whole: int, unit: int) -> list[int]:
    """Parts in whole units that add up to `whole`, each less than one unit off.

    parts: lengths >= 0. whole: units their sum is to make, the sum's own cut or raised to a
    unit. The largest remainders are raised, the earlier first among equals.
    """
    lengths = list(parts)
    cut = [length // unit for length in lengths]
    most = sorted(range(len(lengths)), key=lambda i: -(lengths[i] % unit))
    for index in most[: whole - sum(cut)]:
        cut[index] += 1
    return cut
