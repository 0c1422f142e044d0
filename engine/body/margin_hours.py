"""The heat of a shift by the hours of the clock: how near to its limit each of them came.

The limit is that of the course, by the mean effort of the hour before. A screening estimate, NIOSH
2016-106; where no reading was in force nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from msgspec import Struct

from cartclock.engine.body.course import Course, Hold
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.figures.limits import LimitVerdict, limit_verdict
from cartclock.engine.times import Instant


class MarginHour(Struct, frozen=True):
    """An hour of the clock, or what of it had a reading in force without a gap.

    Fields:
        from_us, to_us: what of it.
        margin_c: the least that the limit was over the WBGT in it, C; negative is over.
        verdict: what that is worth.
    """

    from_us: Instant
    to_us: Instant
    margin_c: float
    verdict: LimitVerdict


def margin_hours(found: Course, base_us: int) -> tuple[MarginHour, ...]:
    """The hours that had a reading in force, in order.

    base_us: any instant at which an hour of the place's clock begins, microseconds.
    """
    hours: list[MarginHour] = []
    for run in found.limits:
        pieces: dict[int, list[tuple[int, int, float]]] = {}
        for one, other in pairwise(run):
            wbgt_c = _in_force(found.wbgt_c, one.at_us)
            margin_c = min(one.limit_c, other.limit_c) - wbgt_c
            from_us = one.at_us
            while from_us < other.at_us:
                index = (from_us - base_us) // HOUR_US
                to_us = min(other.at_us, base_us + (index + 1) * HOUR_US)
                pieces.setdefault(index, []).append((from_us, to_us, margin_c))
                from_us = Instant(to_us)
        hours += [_hour(pieces[index], found.acclimatized) for index in sorted(pieces)]
    return tuple(hours)


def _hour(pieces: list[tuple[int, int, float]], acclimatized: bool) -> MarginHour:
    margin_c = min(margin for _from, _to, margin in pieces)
    return MarginHour(
        Instant(pieces[0][0]),
        Instant(pieces[-1][1]),
        margin_c,
        limit_verdict(margin_c, acclimatized),
    )


def _in_force(holds: Iterable[Hold], at_us: Instant) -> float:
    """The value in force from that instant on; there is one wherever a limit is told."""
    return next(one.value for one in holds if one.from_us <= at_us < one.to_us)
