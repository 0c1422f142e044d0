"""How the air goes on from a reading that was warmer than the one before.

A day warms the slower the nearer it is to its warmest hour, so a rise slows down evenly until
then and stands from there on. It makes an estimate stricter and never loosens a limit.
"""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.times import Length

# The steepest rise carried on, in C of WBGT and in F of the table's air a minute; what readings
# tell alone is followed up to `READ_RISE_C`. Our own judgement.
RISE_C, RISE_F = 0.03, 0.06
READ_RISE_C = 0.02


class Rise(Struct, frozen=True):
    """What the air may have risen since its reading, and rises from now on.

    Fields:
        sun_c: WBGT in C a minute by the sun, >= 0.
        sun_age_us: time since the sun was reckoned.
        read_c, read_f: WBGT in C and air of the table in F a minute at the time of the reading, by
            it and the one before, 0 to `READ_RISE_C` and `RISE_F`.
        age_us: time since the reading, at most an hour.
        lasts_us: from the reading to the warmest hour, when nothing of it is left; 0 after that.
    """

    sun_c: float = 0.0
    sun_age_us: Length = Length(0)
    read_c: float = 0.0
    read_f: float = 0.0
    age_us: Length = Length(0)
    lasts_us: Length = Length(0)

    @property
    def read(self) -> bool:
        """True if the readings rise."""
        return self.lasts_us > 0 and (self.read_c > 0 or self.read_f > 0)

    def wbgt_c(self, at_us: int) -> float:
        """WBGT in C over the reading so long after now; before now if negative."""
        read_c = self.read_c * self._minutes(at_us)
        if at_us <= 0:
            return read_c
        minutes = (self.sun_age_us + at_us) / MINUTE_US
        now_c = self.read_c * self._minutes(0)
        return now_c + min(RISE_C * minutes, self.sun_c * minutes + read_c - now_c)

    def table_f(self, at_us: int) -> float:
        """Air of the table in F over the reading so long after now; before now if negative."""
        return self.read_f * self._minutes(at_us)

    def _minutes(self, at_us: int) -> float:
        """So many minutes at the pace of the reading have the same rise."""
        gone_us = min(max(0, self.age_us + at_us), self.lasts_us)
        return gone_us * (1 - gone_us / (2 * self.lasts_us)) / MINUTE_US if gone_us else 0.0


NO_RISE = Rise()
