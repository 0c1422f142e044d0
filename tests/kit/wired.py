"""A driver without a terminal that the library writes to as to one, and what a terminal would show.

What came past the library is seen by what the library would paint: the cells must be the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from textual.app import App
from textual.drivers.headless_driver import HeadlessDriver

from cartclock.tui.terminal.wire import Run, Wire
from cartclock.tui.widgets import painted
from tests.kit.screen import Screen


class Counting(HeadlessDriver):
    """Counts what is written.

    Fields:
        raw: bytes of what the library wrote; wrote: of what went to the terminal.
        short: how often cells came past the library.
        whole: a terminal that got everything; shown: one that got the difference.
    """

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        # A style keeps the codes that it was first written with, in whatever colours, and another
        # test's terminal may have had others.
        painted._style.cache_clear()
        self.raw = self.wrote = self.short = 0
        self.whole, self.shown = Screen(), Screen()
        self._wire = Wire()

    @property
    def is_headless(self) -> bool:
        return False

    def write(self, data: str) -> None:
        lean = self._wire.lean(data, self._app.size)
        self._wrote(data, lean)

    def put(self, runs: Sequence[Run]) -> None:
        """Cells that came past the library."""
        self.short += 1
        data = "".join(
            f"\x1b[{row + 1};{column + 1}H\x1b[{colours}m{text}\x1b[m"
            for row, column, colours, text in runs
        )
        place = f"\x1b[{self.whole.y + 1};{self.whole.x + 1}H"
        self._wrote(data + place, self._wire.put(runs, self._app.size))

    def _wrote(self, data: str, lean: str) -> None:
        self.raw += len(data.encode())
        self.wrote += len(lean.encode())
        self.whole.take(data)
        self.shown.take(lean)


def painted_anew(app: App[Any]) -> Screen:
    """What a terminal would show if the library painted all of the screen on top."""
    screen = Screen()
    update = app.screen._compositor.render_full_update()
    screen.take(update.render_segments(app.console))
    return screen
