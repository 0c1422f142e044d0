"""The title of the terminal's window: the clock that hurts first, for a glance at the task bar."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cartclock.engine.now.faces import Face

NAME = "cartclock"
# xterm control sequences, "Operating System Commands" and "Window manipulation": OSC 2 sets the
# title; 22 and 23 with 2 put it on the terminal's own pile and take it from there. A terminal
# that does not know the pile is left with an empty title. From memory.
KEEP, GIVE_BACK = "\x1b[22;2t", "\x1b[23;2t"
MOST_LETTERS = 80


def title_text(faces: Sequence[Face]) -> str:
    """The first of the faces in one line: "3:20 LEVEL bonnet left"; the program's name if off."""
    face = faces[0] if faces else None
    if face is None or face.field == "off":
        return NAME
    return " ".join(part for part in (face.clock, face.word, face.where) if part)


def plainly(text: str) -> str:
    """The text without control characters, cut to what a title shows."""
    return "".join(c if c.isprintable() else " " for c in text)[:MOST_LETTERS]


class Title:
    """Writes the title when it changed, at most once a second.

    Args:
        write: writes to the terminal what is not seen as text.
        seconds: a clock that runs on.
    """

    def __init__(self, write: Callable[[str], None], seconds: Callable[[], float]) -> None:
        self._write, self._seconds = write, seconds
        self._shown = ""
        self._at: float | None = None

    def show(self, text: str) -> None:
        """Shows the text, unless it stands there or the last one is not a second old."""
        text, now = plainly(text), self._seconds()
        # A tick may come a little early; it must not leave the title a second behind.
        if text == self._shown or (self._at is not None and now - self._at < 0.9):
            return
        self._write(f"{KEEP if self._at is None else ''}\x1b]2;{text}\x07")
        self._shown, self._at = text, now

    def clear(self) -> None:
        """Gives the title back as it was found."""
        if self._at is not None:
            self._write(f"\x1b]2;\x07{GIVE_BACK}")
            self._at, self._shown = None, ""
