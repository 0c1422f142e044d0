"""When an alarm rings: its urgency, its rhythm, and which of several is heard.

An alarm begins when it is first seen and ends with its state. Nothing here makes a sound.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, get_args

from msgspec import Struct

from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.times import Instant

Urgency = Literal["info", "ready", "late", "rest", "emergency"]
URGENCIES: tuple[Urgency, ...] = get_args(Urgency)
"""From the least to the most urgent."""

# A rest that is called while a film is in play is one for somebody who is not well.
OF_THE_BODY: frozenset[Urgency] = frozenset({"rest", "emergency"})

# The rhythm, all of it our own judgement: a beginning rings three times, a second apart; what
# would do harm if it were not heard then rings every half minute, for five minutes in all. What
# was not heard by then is not heard at all, and the screen says it anyway.
FIRST_RINGS = 3
EVERY_S = 30
STOP_S = 300
REPEATED: frozenset[Urgency] = frozenset({"late", "rest", "emergency"})
# A tick comes some milliseconds early or late; a second is told apart to this much.
SLACK_US = 100_000


class Alarm(Struct, frozen=True):
    """Something that wants to be heard.

    Fields:
        key: what it belongs to; another key is another alarm.
        urgency: one of URGENCIES.
        sentence: what a voice would say.
        film: True for a film in play, which is spoken of before everything but the body in danger.
        repeated: False if it rings at its beginning only, though its urgency would ring on:
            a missing sign of life gets a new key, and so a new beginning, the more often the
            longer it is missing.
    """

    key: str
    urgency: Urgency
    sentence: str
    repeated: bool = True
    film: bool = False


def by_urgency(found: Sequence[Alarm]) -> tuple[Alarm, ...]:
    """The same alarms, the most urgent first, those alike in their order: the body in danger,
    then films in play, then everything else.
    """

    def rank(alarm: Alarm) -> tuple[bool, bool, int]:
        return (
            alarm.urgency not in OF_THE_BODY,
            not alarm.film,
            -URGENCIES.index(alarm.urgency),
        )

    return tuple(sorted(found, key=rank))


def _second(us: int, since_us: int) -> int:
    return (us - since_us + SLACK_US) // SECOND_US


def rings(alarm: Alarm, since_us: int, now_us: Instant, last_us: int | None = None) -> bool:
    """True if the alarm rings at `now_us`.

    Exact to the second: in the first three seconds of an alarm, then in every thirtieth until
    it has lasted five minutes; those that are not repeated, only in the first three. A second
    in which nobody looked is passed over.

    Args:
        since_us: when the alarm began.
        last_us: when anything rang last, this alarm or another; None if nothing has.
    """
    second = _second(now_us, since_us)
    if last_us is not None and (
        now_us - last_us < SECOND_US - SLACK_US or _second(last_us, since_us) >= second
    ):
        return False
    if 0 <= second < FIRST_RINGS:
        return True
    return repeats(alarm) and 0 < second < STOP_S and second % EVERY_S == 0


def repeats(alarm: Alarm) -> bool:
    """True if the alarm rings on after its beginning."""
    return alarm.repeated and alarm.urgency in REPEATED


class Ringing(Struct, frozen=True):
    """The alarms that there are, and when the bell rang last.

    Fields:
        since: key -> when it was first seen.
        last_us: when anything rang last; None if nothing has.
        ringing: the alarm that rings at this moment, the most urgent that does; None for silence.
        told: the alarms to be told in words at this moment: all at their beginning, and what
            rings on, each time it does.
    """

    since: dict[str, int] = {}
    last_us: Instant | None = None
    ringing: Alarm | None = None
    told: tuple[Alarm, ...] = ()


def ring(before: Ringing, found: Sequence[Alarm], now_us: Instant) -> Ringing:
    """What is heard at `now_us` of these alarms, after what was heard before.

    An alarm that is not among them any more has ended; if it comes back it begins anew.

    Args:
        found: the most urgent first, as `by_urgency` answers them.
    """
    since = {alarm.key: before.since.get(alarm.key, now_us) for alarm in found}
    due = [one for one in found if rings(one, since[one.key], now_us, before.last_us)]
    # What begins in the second of another one's ring is told, though it rings a second later.
    told = [
        one
        for one in found
        if one.key not in before.since
        or (one in due and _second(now_us, since[one.key]) >= FIRST_RINGS)
    ]
    if not due:
        return Ringing(since, before.last_us, None, tuple(told))
    return Ringing(since, now_us, due[0], tuple(told))
