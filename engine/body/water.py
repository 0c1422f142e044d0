"""Drinks of a shift: how much, when the next one is due, and when it is too much.

The account belongs to the worker's shift. A drink is one press; nobody is asked how thirsty
they are. Reminders speak only in heat. Screening estimate, not medical advice.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.body.climate import Climate
from cartclock.engine.body.exposure import climates, limit_of
from cartclock.engine.dates import age_said
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.shift import Break, Shift
from cartclock.engine.figures import heat
from cartclock.engine.figures.body import (
    DRINK_EVERY_MINUTES,
    DRINK_FROM_F,
    DRINK_ML,
    MOST_DRINK_ML_PER_HOUR,
)
from cartclock.engine.times import Instant

# In cooler air than this an estimate alone calls for no drink; our own judgement.
ESTIMATE_FROM_C = 25.0
# Water alone is enough as long as meals replace the salt (NIOSH 2017-126, read in the issuing
# body's text); after how long without one it is said is our own judgement.
FOOD_AFTER_US = 3 * HOUR_US
# "Every 15 to 20 minutes" (NIOSH 2017-126): the reminder comes at the later end.
REMIND_US = round(max(DRINK_EVERY_MINUTES) * MINUTE_US)
SALT = ", and food or electrolytes too"
# The breaks that a call of a rest is answered by.
RESTS = ("rest", "heat")


class Water(Struct, frozen=True):
    """The drinks of a shift at one moment.

    Fields:
        drinks: how many.
        ml: all of them.
        last_us: the newest; None if there was none.
        last_hour_ml: of the 60 minutes that end now.
        most_in_hour_ml: of the 60 minutes of the shift in which it was most.
        due_us: when the next is due; None if it is not hot or the shift is over.
        with_rest: True if it was told with a rest that is on, so that it does not ring by itself.
        salt: True after `FOOD_AFTER_US` of work in heat since the last meal.
        now_us: the moment.
    """

    drinks: int
    ml: int
    last_us: Instant | None
    last_hour_ml: int
    most_in_hour_ml: int
    due_us: Instant | None
    now_us: Instant
    with_rest: bool = False
    salt: bool = False

    @property
    def due_in_s(self) -> int | None:
        """Seconds until the next drink is due, negative once it is overdue; None if none is."""
        return None if self.due_us is None else (self.due_us - self.now_us) // 1_000_000

    @property
    def due(self) -> bool:
        """True from the moment the next drink is due."""
        return self.due_us is not None and self.now_us >= self.due_us

    @property
    def too_much(self) -> bool:
        """True with more than 1.4 l in the last hour (NIOSH 2017-126)."""
        return self.last_hour_ml > MOST_DRINK_ML_PER_HOUR

    @property
    def sentence(self) -> str:
        """What is to be said now; "" if nothing is."""
        if self.too_much:
            return (
                f"{self.last_hour_ml} ml in the last hour: more than "
                f"{MOST_DRINK_ML_PER_HOUR:.0f} ml in an hour can do harm. Wait with the next."
            )
        if not self.due or self.due_us is None:
            return ""
        cup = f"Drink a cup now, about {DRINK_ML:.0f} ml{SALT if self.salt else ''}."
        if self.last_us is None:
            return f"It is hot and no drink is noted. {cup}"
        ago = age_said((self.now_us - self.last_us) // MINUTE_US)
        return f"The last drink was {ago} ago. {cup}"


def drinks(shift: Shift, now_us: Instant) -> list[tuple[Instant, int]]:
    """(job time, ml) of the shift's drinks up to `now_us`, in order of time."""
    found = [
        (row.at_us, row.event.ml)
        for row in shift.facts
        if isinstance(row.event, ev.DrinkTaken) and row.at_us <= now_us and row.event.ml > 0
    ]
    return sorted(found)


def in_hour_ml(found: Sequence[tuple[int, int]], end_us: int) -> int:
    """Millilitres of the 60 minutes that end at `end_us`; a drink an hour ago is out of it."""
    return sum(ml for at_us, ml in found if end_us - HOUR_US < at_us <= end_us)


def is_hot(one: Climate, acclimatized: bool) -> bool | None:
    """Whether a reading calls for drinks; None if it has no figure.

    Hot is a heat index of 80 F or more, or a verdict on moderate work that is not clear. In air
    under 25 C an estimate alone calls for none; a meter or a globe does.

    Source: our own judgement; the index after 89 FR 70698, read second-hand.
    """
    if one.wbgt_c is None and one.index_f is None and not one.off_table:
        return None
    air_c = one.reading.air_c
    if one.wbgt_from == "estimate" and air_c is not None and air_c < ESTIMATE_FROM_C:
        return False
    if one.hot_from(DRINK_FROM_F):
        return True
    if one.wbgt_c is None:
        return False
    limit_c = limit_of(acclimatized)(heat.class_watts("moderate"))
    return heat.limit_verdict(limit_c - one.wbgt_c, acclimatized) != "clear"


def hot_since(shift: Shift, now_us: Instant, acclimatized: bool) -> int | None:
    """Since when it has been hot without a break, by the readings; None if it is not.

    A reading that has gone stale still counts here: a reminder to drink does no harm, and
    heat seldom goes away unnoticed.
    """
    since_us: int | None = None
    for one in climates(shift):
        if one.at_us > now_us:
            break
        hot = is_hot(one, acclimatized)
        if hot is True and since_us is None:
            since_us = one.at_us
        elif hot is False:
            since_us = None
    return since_us


def water(shift: Shift, now_us: Instant, hot_since_us: int | None) -> Water:
    """The drinks of a shift at `now_us`.

    hot_since_us: since when it has been hot, usually from `hot_since`; None: it is not.

    In heat the next drink is due 20 minutes after the last one, or after it got hot; later
    where another cup would make more than 1.4 l in an hour.

    Source: a cup of 240 ml every 15 to 20 minutes and never more than 48 oz in an hour, NIOSH
    2017-126; read in the issuing body's text.
    """
    found = drinks(shift, now_us)
    last_us = found[-1][0] if found else None
    due_us: Instant | None = None
    if hot_since_us is not None and shift.doing is not None:
        since_us = hot_since_us if last_us is None else max(hot_since_us, last_us)
        due_us = Instant(since_us + REMIND_US)
        # Every time a drink leaves the hour there is room for more.
        for at_us, _ml in found:
            if in_hour_ml(found, due_us) + DRINK_ML <= MOST_DRINK_ML_PER_HOUR:
                break
            due_us = max(due_us, Instant(at_us + HOUR_US))
    on_break = shift.doing.what if isinstance(shift.doing, Break) else ""
    resting = on_break in RESTS
    salt = (
        hot_since_us is not None
        and on_break != "meal"
        and now_us - _fed_us(shift, hot_since_us) >= FOOD_AFTER_US
    )
    return Water(
        with_rest=resting and due_us is not None and due_us < shift.since_us + REMIND_US,
        salt=salt,
        drinks=len(found),
        ml=sum(ml for _at_us, ml in found),
        last_us=last_us,
        last_hour_ml=in_hour_ml(found, now_us),
        most_in_hour_ml=max((in_hour_ml(found, at_us) for at_us, _ml in found), default=0),
        due_us=due_us,
        now_us=now_us,
    )


def _fed_us(shift: Shift, hot_since_us: int) -> int:
    """Since when there was heat and no meal."""
    meals = [
        span.end_us
        for span in shift.spans
        if isinstance(span.doing, Break) and span.doing.what == "meal"
    ]
    return max(hot_since_us, shift.on_us, *meals)
