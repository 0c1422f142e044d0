"""What the screen library sends, changed where the colours are few."""

from __future__ import annotations

from collections.abc import Callable

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from cartclock.tui.terminal.colours import Colours, in_sixteen, without_colours


class NoColours(LineFilter):
    """Sends no colour at all."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The segments without their colours."""
        return without_colours(segments)


class Sixteen(LineFilter):
    """Sends the 16 colours that every colour terminal has."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The segments in colours by number."""
        return in_sixteen(segments)


FILTERS: dict[Colours, tuple[Callable[[], LineFilter], ...]] = {
    "none": (NoColours,),
    "sixteen": (Sixteen,),
    "many": (),
}
