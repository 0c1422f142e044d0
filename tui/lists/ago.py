"""Minutes ago, typed as digits on any line of a list."""

from __future__ import annotations

# Digits of the minutes; our own judgement.
_MOST_DIGITS = 3


class Ago:
    """How long ago it was; `minutes` is 0 for now."""

    def __init__(self) -> None:
        self.minutes = 0

    def type(self, typed: str) -> None:
        """Takes a digit; "" forgets them."""
        if not typed:
            self.minutes = 0
        elif typed.isdigit():
            self.minutes = int(f"{self.minutes}{typed}"[-_MOST_DIGITS:])

    def behind(self, said: str) -> str:
        """The words with the minutes behind them: "spill, 5 min ago"."""
        return f"{said}, {self.minutes} min ago" if self.minutes else said
