"""What was refused, counted and told in few lines, whatever comes down the line.

Nothing that was sent is told: only why it was refused and how often.
"""

from __future__ import annotations

from collections.abc import Callable

from cartclock.tui.show.addresses import Why

# One line for each reason in so long. Our own judgement.
TELL_S = 60.0

_SAID: dict[Why, str] = {
    "address": "an address that opens no page",
    "host": "sent to another name than this address",
    "origin": "sent by a foreign page",
    "request": "no request that is answered here",
    "too many": "too many connections",
    "slow": "too slow",
}


class Refusals:
    """Counts what was refused.

    Args:
        tell: takes a line.
        seconds: a clock that goes on, whatever it counts from.
    """

    def __init__(self, tell: Callable[[str], None], seconds: Callable[[], float]) -> None:
        self._tell, self._seconds = tell, seconds
        self._told: dict[Why, float] = {}
        self._waits: dict[Why, int] = {}
        self.counts: dict[Why, int] = dict.fromkeys(_SAID, 0)

    def note(self, why: Why) -> None:
        """One more; told at once, or with the next line for this reason."""
        self.counts[why] += 1
        self._waits[why] = self._waits.get(why, 0) + 1
        self.tell_waiting()

    def tell_waiting(self) -> None:
        """Tells what has waited long enough."""
        now = self._seconds()
        for why, count in tuple(self._waits.items()):
            if why not in self._told or now - self._told[why] >= TELL_S:
                self._told[why] = now
                del self._waits[why]
                self._tell(f"Refused: {_SAID[why]}{f', {count} times' if count > 1 else ''}.")
