"""A screen that is one list with one list over it: Today, Plan and Log."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.app import ComposeResult
from textual.containers import Horizontal

from engine.trouble import Asks, Refused, StoreFault
from tui.screens.cart import CartScreen
from tui.widgets.keyrow import KeyRow
from tui.widgets.plain import Plain
from tui.widgets.rows import Rows
from tui.widgets.sheet import Sheet


class ListingScreen(CartScreen):
    """Head, rows, one sheet, one notice, keys."""

    at = 0

    def compose(self) -> ComposeResult:
        """Head, rows, list, notice, keys."""
        with Horizontal(classes="head"):
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
        """Shows rows and keys."""
        lines = self.lines()
        self.at = max(0, min(self.at, len(lines) - 1))
        self.query_one(Rows).show(lines, self.at)
        self.query_one("#head", Plain).show(self.heading())
        self.paint_keys()

    def press_up(self) -> None:
        """The line above."""
        self.at -= 1

    def press_down(self) -> None:
        """The line below."""
        self.at += 1

    def guarded(self, do: Callable[[], Any]) -> Callable[[], None]:
        """A pick that answers in the notice line if it cannot be."""

        def press() -> None:
            try:
                do()
            except (Refused, Asks, StoreFault) as why:
                self.say(str(why))
            self.paint()

        return press
