"""A question that a press raised, as it is kept until it is answered."""

from __future__ import annotations

from typing import Literal

import msgspec
from msgspec import Struct

from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift_events import BreakKind, OtherKind
from cartclock.engine.times import Instant


class Asked(Struct, frozen=True):
    """A question on the screen, kept outside the log until it is answered.

    Fields:
        rule_id, sentence: from the rule.
        press: what was pressed.
        move, job: what it was pressed on.
        over: reasons given already.
        at_us: job time the press speaks of; 0 for the moment in which it is answered.
        until_us: of what was done between two times, the later one.
        worker: who pressed; "" for the first worker.
        rest, planned_s: of a break, which one and its length; None if open.
        other: which other work.
        finish: of both, True if what is in hand is finished by it.
        keys: of a close, True if it is asked behind it who took the keys.
    """

    rule_id: str
    sentence: str
    press: Literal["take up", "clock off", "close job", "fill in", "break", "other work"]
    move: Move | None = None
    job: str = ""
    over: dict[str, str] = {}
    at_us: Instant = Instant(0)
    until_us: Instant = Instant(0)
    worker: str = ""
    rest: BreakKind = "rest"
    planned_s: int | None = None
    other: OtherKind = "phone"
    finish: bool = False
    keys: bool = False

    @property
    def question(self) -> str:
        """What is asked; what leads to it comes before."""
        return self.sentence.rsplit(". ", 1)[-1]


def asked_again(kept: str | None) -> Asked | None:
    """The question that is kept; None if none is, or another version of this program asked it."""
    if kept is None:
        return None
    try:
        return msgspec.json.decode(kept.encode(), type=Asked)
    except msgspec.MsgspecError:
        return None
