"""The signal for whoever hears nothing: ink and ground of the picture change places for a second.

The new state itself is the first change; at its second second the picture is turned round, and
with the third it stands again: three changes in three seconds, half a flash a second. W3C WCAG 2.1,
SC 2.3.1, allows three flashes a second. The contrast of a turned pair is the same.
"""

from __future__ import annotations

from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.now.faces import Face
from cartclock.engine.times import Instant

# What must not be missed; work in hand and a film that waits call nobody.
CALLING = frozenset({"ready", "late", "rest", "back", "ask"})
# The second in which it is turned, counted from 0.
TURNED_S = 1


class Signal:
    """Looks at the first face of each picture, and says whether this one is to be turned round."""

    def __init__(self) -> None:
        self._key: str | None = None
        self._since_us: Instant | None = None

    def turned(self, face: Face, now_us: Instant) -> bool:
        """Whether the picture of this instant is turned round.

        The state that stands when the program starts is none that came.
        """
        if self._key is not None and face.key != self._key:
            self._since_us = now_us if face.field in CALLING else None
        self._key = face.key
        return self._is_turn(now_us)

    def show(self, now_us: Instant) -> None:
        """The signal from this instant on, whatever the state."""
        self._since_us = now_us

    def _is_turn(self, now_us: Instant) -> bool:
        if self._since_us is None:
            return False
        gone_s = (now_us - self._since_us) // SECOND_US
        if gone_s > TURNED_S:
            self._since_us = None
        return gone_s == TURNED_S
