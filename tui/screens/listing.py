"""A screen that is one list with one list over it: Today, Plan and Log."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult

from cartclock.engine.letters import cells, cropped, inert
from cartclock.engine.now.glance import Face, most_urgent
from cartclock.tui.screens.cart import LOW, NARROW, CartScreen
from cartclock.tui.widgets.beside import Beside
from cartclock.tui.widgets.keyrow import KeyRow
from cartclock.tui.widgets.plain import Plain
from cartclock.tui.widgets.rows import Rows
from cartclock.tui.widgets.sheet import Sheet

# Grounds of the clock at the end of a head line.
CLOCK_FIELDS = ("wait", "ready", "late", "rest", "back")


def head_clock(face: Face, width: int, named: bool = True) -> str:
    """The clock that hurts first, for the end of a head line: its digits always, then its word,
    then its place, in no more than two thirds of the line.

    Args:
        width: columns of the screen.
        named: False leaves the place out.
    """
    if face.field == "off":
        return ""
    where, word = inert(face.where), inert(face.word.lower())
    most = max(0, 2 * width // 3 - cells(face.clock) - 1)
    said = f"{where}: {word}" if where and named and width >= NARROW else word
    if cells(said) > most:
        said = cropped(word, most)
    return f"{said} {face.clock}"


class ListingScreen(CartScreen):
    """Head, rows, one sheet, one notice, keys."""

    at = 0
    # True for a text that is read: the lines move, none of them is chosen.
    reading: ClassVar[bool] = False

    def compose(self) -> ComposeResult:
        """Head, rows, list, notice, keys."""
        with Beside(classes="head"):
            yield Plain("", id="head")
            yield Plain("", id="on-clock", classes="right")
        yield Rows()
        yield Sheet()
        yield Plain("", id="notice", fold=True)
        yield KeyRow()

    def lines(self) -> list[str]:
        """The rows to show."""
        raise NotImplementedError

    def heading(self) -> str:
        """The head line."""
        raise NotImplementedError

    def on_screen_resume(self) -> None:
        """Back on top: shows what is so now."""
        self.paint()

    def paint(self) -> None:
        """Shows rows and keys, and beside the head the clock that hurts first."""
        lines, rows = self.lines(), self.query_one(Rows)
        last = len(lines) - (rows.size.height if self.reading else 1)
        self.at = max(0, min(self.at, last))
        if self.reading:
            rows.show(lines, None, self.at)
        else:
            rows.show(lines, self.at)
        self.query_one("#head", Plain).show(self.heading())
        face = most_urgent(self.cart.run_screen.look().faces)[0]
        clock = self.query_one("#on-clock", Plain)
        clock.show(head_clock(face, self.app.size.width))
        clock.update_classes({field: face.field == field for field in CLOCK_FIELDS})
        # A list on a small screen takes the room of the answer.
        low = self.app.size.height < LOW
        self.query_one("#notice", Plain).display = not (low and self.sheet.is_open)
        super().paint()

    @property
    def _step(self) -> int:
        """How far one press goes: a line, or most of a page."""
        return max(1, self.query_one(Rows).size.height - 2) if self.reading else 1

    def press_up(self) -> None:
        """The line above, or the page."""
        self.at -= self._step

    def press_down(self) -> None:
        """The line below, or the page."""
        self.at += self._step
