"""Values on the lines of a sheet: turned with left and right, or typed."""

from __future__ import annotations

STEP_MINUTES = 5


class Length:
    """A planned length that left and right change; under one step it is open.

    most: in minutes.
    """

    def __init__(self, what: str, minutes: int | None, most: int) -> None:
        self.what, self.most = what, most
        self.minutes = minutes or 0

    def text(self) -> str:
        return f"{self.what:<6} {f'{self.minutes} min' if self.minutes else 'open end'}"

    def turn(self, step: int) -> None:
        self.minutes = max(0, min(self.most, self.minutes + step * STEP_MINUTES))


class Number:
    """A number that is turned or typed; None stands for not measured.

    Args:
        was: what it was when it was measured last; shown beside another value, and turned from.
        ago: how long ago that was, in words; "" if it need not be said.

    `entered` is True once something was typed or turned.
    """

    def __init__(
        self,
        name: str,
        unit: str,
        value: float | None,
        step: float,
        was: float | None = None,
        ago: str = "",
    ) -> None:
        self.name, self.unit, self.value, self.step = name, unit, value, step
        self.was, self.ago = was, ago
        self._typed, self.entered = "", False

    def text(self) -> str:
        if self.value is not None:
            was = "" if self.was in (None, self.value) else f" (was {self.was:g})"
            return f"{self.name:<18} {self._typed or f'{self.value:g}'} {self.unit}{was}"
        ago = f", {self.ago} ago" if self.ago else ""
        was = "" if self.was is None else f" (was {self.was:g} {self.unit}{ago})"
        return f"{self.name:<18} {self._typed or f'not measured{was}'}"

    def offer(self, value: float) -> None:
        """Another value than the one that stands, unless one was typed or turned."""
        if not self.entered:
            self.value = value

    def turn(self, step: int) -> None:
        self._typed, self.entered = "", True
        if self.value is None and self.was is not None:
            # The first turn takes the old value over, to be turned on from there.
            self.value = self.was
            return
        self.value = round((20.0 if self.value is None else self.value) + step * self.step, 1)

    def type(self, character: str) -> None:
        """Takes one more character, "" wipes; one that cannot stand in a number is passed over."""
        typed = self._typed + character if character else ""
        self.entered = True
        if typed in ("", "-", ".", "-."):
            self._typed, self.value = typed, None
            return
        try:
            self.value = float(typed)
        except ValueError:
            return
        self._typed = typed


class Choice:
    """One of several words, turned. `turned` is True once it was."""

    def __init__(self, name: str, words: tuple[str, ...], value: str) -> None:
        self.name, self.words, self.value = name, words, value
        self.turned = False

    def text(self) -> str:
        return f"{self.name:<18} {self.value}"

    def turn(self, step: int) -> None:
        self.turned = True
        self.value = self.words[(self.words.index(self.value) + step) % len(self.words)]
