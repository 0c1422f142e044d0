"""One thing that can be taken up: what the ordering proposes, the rules take and the words say."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.turn import Turn
from cartclock.engine.times import Instant

Act = Literal["take up", "stand by", "look", "change", "end", "rest", "close"]


Why = Literal[
    "late", "window", "look", "held", "order", "early", "gap", "end", "rest", "lighter", "worn"
]


class Move(Struct, frozen=True):
    """One thing that can be taken up.

    Fields:
        act: take up work, stand by a window, look again at what is finished, take a fresh pad or
            towel, only end what is on, take the rest called for, or hand the vehicle over.
        job, stage, sections, turn: what; empty for "end" and "rest", only the job for "close"; of
            "change" the work that comes behind it.
        say: the verb of the work; of "change" what it says.
        minutes: planned minutes of the work, all sections together.
        opens_us, closes_us: marks of the window in front of it; None if none runs.
        why: what put it in its place.
    """

    act: Act
    job: str = ""
    stage: str = ""
    sections: tuple[str, ...] = ()
    turn: Turn = Turn()
    say: str = ""
    minutes: float = 0.0
    opens_us: Instant | None = None
    closes_us: Instant | None = None
    why: Why = "order"

    @property
    def begin_by_us(self) -> Instant | None:
        """Latest beginning that still ends before the window closes, never before it opens."""
        if self.opens_us is None or self.closes_us is None:
            return None
        return Instant(max(self.opens_us, self.closes_us - round(self.minutes * MINUTE_US)))
