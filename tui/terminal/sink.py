"""What a terminal is written through."""

from __future__ import annotations

import os
import selectors


class Sink:
    """A terminal to write to; one that went away takes everything and says nothing.

    A writer that stumbled there would leave the program hanging on its full queue.
    """

    def __init__(self, fileno: int) -> None:
        self._fileno = fileno
        self._waiting = bytearray()

    def fileno(self) -> int:
        """The file descriptor."""
        return self._fileno

    def write(self, text: str) -> None:
        """Keeps the text for the next flush."""
        self._waiting += text.encode("utf-8", "replace")

    def flush(self) -> None:
        """Writes what was kept, all of it."""
        while self._waiting:
            try:
                del self._waiting[: os.write(self._fileno, self._waiting)]
            except BlockingIOError:
                # Another program has set the terminal to answer at once.
                with selectors.DefaultSelector() as selector:
                    selector.register(self._fileno, selectors.EVENT_WRITE)
                    selector.select()
            except OSError:
                self._waiting.clear()
