"""The air of the hour ahead: the newest reading with its guard, its trend and the sun that moves.

None of what is added here can loosen a limit. All of it is a screening estimate.
"""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.body.budget import GUARD_F, RISE_C, RISE_F, Air
from cartclock.engine.body.climate import OPEN_SKY, Climate
from cartclock.engine.body.exposure import resting_wbgt_c, surrounded
from cartclock.engine.body.surroundings import SUN_STEP_US, Surroundings
from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.figures import heat
from cartclock.engine.figures.air import fahrenheit
from cartclock.engine.figures.wbgt import STILL_AIR
from cartclock.engine.times import Instant

# A rise between two readings is carried on until this hour of the day, and never faster than so
# many C a minute; two readings closer together say nothing of it. Our own judgement.
RISES_UNTIL_H = 15
READ_RISE_C = 0.02
APART_US = 10 * MINUTE_US


def air_ahead(
    found: Sequence[Climate],
    known: Climate,
    around: Surroundings,
    now_us: Instant,
    rest_place: ev.ReadingTaken | None,
) -> Air | None:
    """The air in force at `now_us` as the rules ahead need it; None without a WBGT.

    Args:
        found: the shift's readings up to now, in order.
        known: of these the newest with a WBGT.
        rest_place: climate where rests are taken; None: in place, outdoors in the shade.
    """
    here = surrounded(known, around, now_us)
    rest_wbgt_c = resting_wbgt_c(here, around, now_us, rest_place)
    if here.wbgt_c is None or rest_wbgt_c is None:
        return None
    estimated = here.wbgt_from == "estimate"
    none = (0.0, 0.0, 0.0)
    sun_c, read_c, rise_f = _rise(found, here, around, now_us) if estimated else none
    sun_c = min(sun_c, RISE_C - read_c)
    # What has risen since the reading was taken is there now, and so is what the sun has risen
    # since the step of time in which it stands still began.
    gone = min(now_us - here.at_us, HOUR_US) / MINUTE_US
    sun_gone = now_us % SUN_STEP_US / MINUTE_US
    return Air(
        wbgt_c=here.wbgt_c,
        rest_wbgt_c=rest_wbgt_c,
        adjusted_f=here.adjusted_f,
        index_f=here.trigger_f,
        off_table=here.off_table,
        guard_c=here.guard_c + gone * read_c + sun_gone * sun_c,
        guard_f=GUARD_F + gone * rise_f if estimated else 0.0,
        rise_c=sun_c + read_c,
        rise_f=rise_f,
    )


def _rise(
    found: Sequence[Climate], here: Climate, around: Surroundings, now_us: Instant
) -> tuple[float, float, float]:
    """Rise a minute of WBGT by the sun and by the readings, and of the air of the work/rest table
    by the readings; never a fall.
    """
    sun_c = 0.0
    if here.reading.place in OPEN_SKY:
        later = surrounded(here, around, Instant(now_us + HOUR_US))
        if later.wbgt_c is not None and here.wbgt_c is not None:
            sun_c = max(0.0, (later.wbgt_c - here.wbgt_c) * MINUTE_US / HOUR_US)
    before = [c for c in found if c.at_us <= here.at_us - APART_US and c.guard_c > 0]
    if not before or local(now_us, around.zone).hour >= RISES_UNTIL_H:
        return sun_c, 0.0, 0.0
    minutes = (here.at_us - before[-1].at_us) / MINUTE_US
    (old_c, old_f), (new_c, new_f) = _plain(before[-1]), _plain(here)
    read_c = min(READ_RISE_C, max(0.0, (new_c - old_c) / minutes))
    return sun_c, read_c, min(RISE_F, max(0.0, (new_f - old_f) / minutes))


def _plain(one: Climate) -> tuple[float, float]:
    """WBGT and table air of a reading as if it were taken indoors, so that only the air tells."""
    air_c, rh = one.reading.air_c, one.reading.rh
    # Only an estimate comes here, and that was made of both.
    assert air_c is not None
    assert rh is not None
    adjusted = heat.adjusted_air_f(fahrenheit(air_c), rh, "shade")
    return heat.wbgt_no_sun_c(air_c, rh, STILL_AIR), adjusted.air_f
