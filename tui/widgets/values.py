"""Values on the lines of a sheet: turned with left and right, or typed."""

from __future__ import annotations

STEP_MINUTES = 5


class Length:
    """A planned length that left and right change; under one step it is open."""

    def __init__(self, what: str, minutes: int | None) -> None:
        self.what = what
        self.minutes = minutes or 0

    def text(self) -> str:
        return f"{self.what:<6} {f'{self.minutes} min' if self.minutes else 'open end'}"

    def turn(self, step: int) -> None:
        self.minutes = max(0, min(240, self.minutes + step * STEP_MINUTES))


class Number:
    """A number that is turned or typed; None stands for not measured."""

    def __init__(self, name: str, unit: str, value: float | None, step: float) -> None:
        self.name, self.unit, self.value, self.step = name, unit, value, step
        self._typed = ""

    def text(self) -> str:
        shown = self._typed or ("not measured" if self.value is None else f"{self.value:g}")
        return f"{self.name:<18} {shown}{' ' + self.unit if self.value is not None else ''}"

    def turn(self, step: int) -> None:
        self._typed = ""
        self.value = round((20.0 if self.value is None else self.value) + step * self.step, 1)

    def type(self, character: str) -> None:
        """Takes one more character, "" wipes; one that cannot stand in a number is passed over."""
        typed = self._typed + character if character else ""
        if typed in ("", "-", ".", "-."):
            self._typed, self.value = typed, None
            return
        try:
            self.value = float(typed)
        except ValueError:
            return
        self._typed = typed


class Choice:
    """One of several words, turned."""

    def __init__(self, name: str, words: tuple[str, ...], value: str) -> None:
        self.name, self.words, self.value = name, words, value

    def text(self) -> str:
        return f"{self.name:<18} {self.value}"

    def turn(self, step: int) -> None:
        self.value = self.words[(self.words.index(self.value) + step) % len(self.words)]
