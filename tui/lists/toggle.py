"""The line of a list that says whether what is in hand ends with what comes next."""

from __future__ import annotations

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts.words import place_text
from cartclock.tui.told.in_view import in_hand
from cartclock.tui.widgets.sheet import Line


class Toggle:
    """Whether what is in hand is finished or only put down by what comes next.

    Args:
        finish: what it says before it is turned.
        worker: whose hands; "" for the first worker.
    """

    def __init__(self, bench: Bench, finish: bool = False, worker: str = "") -> None:
        self.finish = finish
        hands = in_hand(bench, worker)
        self.there = hands is not None
        self._where = (
            place_text(bench.jobs[hands.job], hands.stage, hands.sections) if hands else ""
        )

    def text(self) -> str:
        # The state first: in few columns the place may be cut, and is in hand anyway.
        return f"{'finished' if self.finish else 'put down'}: {self._where}"

    def flip(self) -> None:
        self.finish = not self.finish

    def turn(self, step: int) -> None:
        self.flip()

    def lines(self) -> list[Line]:
        if not self.there:
            return []
        return [Line(self.text, self.flip, hot="f", turn=self.turn, stays=True)]
