"""The end of a thread that waits for a terminal, and a way to wake it for that."""

from __future__ import annotations

import os
from threading import Event


class Ending(Event):
    """An event that a selector hears, too: there is something to read while it is set."""

    def __init__(self) -> None:
        super().__init__()
        self._hears, self._rings = os.pipe()

    def fileno(self) -> int:
        """The file descriptor to wait at."""
        return self._hears

    def set(self) -> None:
        """It is so from now on; whoever waits is woken."""
        if not self.is_set():
            super().set()
            os.write(self._rings, b".")

    def clear(self) -> None:
        """It is so no longer."""
        if self.is_set():
            os.read(self._hears, 1)
            super().clear()

    def close(self) -> None:
        """Nobody waits any more."""
        os.close(self._hears)
        os.close(self._rings)
