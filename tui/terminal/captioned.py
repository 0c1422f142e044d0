"""A terminal whose last rows are not the program's: a caption stands in them.

The program is told of a terminal that has so many rows fewer, so that no screen, list or page can
ever lie under a caption, nor a caption over one of them.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import Any, Protocol, runtime_checkable

from textual import events
from textual.driver import Driver
from textual.geometry import Size
from textual.message import Message

from cartclock.tui.terminal.driver import terminal_driver

# From so many rows of the terminal on a caption has so many lines; our own judgement.
_ROWS = ((20, 3), (8, 2), (2, 1), (0, 0))


@runtime_checkable
class Captioned(Protocol):
    """A way to the terminal that keeps rows for a caption."""

    def room(self) -> tuple[int, int]:
        """Columns and rows that the caption has."""

    def caption(self, lines: Sequence[str]) -> None:
        """Shows lines of inert text, cut to the room."""


def caption_rows(height: int) -> int:
    """Rows for a caption on a terminal of so many."""
    return next(rows for least, rows in _ROWS if height >= least)


if sys.platform == "win32":

    def captioned_driver() -> type[Driver] | None:
        """The library's own, which keeps no rows."""
        return None

else:
    from cartclock.tui.terminal.driver import CartDriver

    class CaptionedDriver(CartDriver):
        """Says that the terminal is lower than it is, and writes into the rows below."""

        def __init__(self, *given: Any, **named: Any) -> None:
            super().__init__(*given, **named)
            self._whole = (0, 0)
            self._shown: tuple[str, ...] = ()
            # The library asks for the size before the terminal was asked.
            self._size = self._get_terminal_size()

        def _get_terminal_size(self) -> tuple[int, int]:
            return self._lower(*super()._get_terminal_size())

        def _lower(self, width: int, height: int) -> tuple[int, int]:
            if (width, height) != self._whole:
                self._whole, self._shown = (width, height), ()
            return width, max(1, height - caption_rows(height))

        def process_message(self, message: Message) -> None:
            """Hands on a size that the terminal itself tells of as the program's."""
            if isinstance(message, events.Resize):
                size = Size(*self._lower(*message.size))
                message = events.Resize(size, size)
            super().process_message(message)

        def room(self) -> tuple[int, int]:
            """Columns and rows that the caption has."""
            width, height = self._whole
            return width, min(caption_rows(height), height)

        def caption(self, lines: Sequence[str]) -> None:
            """Shows lines of inert text, cut to the room."""
            from cartclock.engine.letters import cropped, padded

            width, rows = self.room()
            said = tuple(padded(cropped(line, width), width) for line in lines)[:rows]
            said += (" " * width,) * (rows - len(said))
            if said == self._shown or self._writer_thread is None:
                return
            self._shown = said
            top = self._whole[1] - rows
            # The first line by exchanging ink and ground, which every terminal can; then cursor
            # and colours as they were, on which the program counts (DECSC and DECRC, of the
            # control functions of the VT100; from memory).
            looks = ("7", *("0" for _ in said[1:]))
            placed = "".join(
                f"\x1b[{top + at};1H\x1b[0;{look}m{line}"
                for at, (look, line) in enumerate(zip(looks, said, strict=True), 1)
            )
            self._writer_thread.write(f"\x1b7{placed}\x1b[0m\x1b8")

    def captioned_driver() -> type[Driver] | None:
        """The driver for this machine; None for whatever the library takes by itself."""
        plain = terminal_driver()
        return None if plain is None else CaptionedDriver
