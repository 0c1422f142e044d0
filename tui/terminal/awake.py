"""Keeps the laptop awake while it must be looked at, in a thread of its own.

The way to it may block for seconds, where a message bus does not answer; nothing waits for it.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Literal

AwakeState = Literal["off", "asking", "screen on", "running", "cannot"]

# How long it is said that a closed lid sleeps. Our own judgement.
LID_S = 120.0
# So long the end of the program waits for the laptop to be let go.
CLOSE_S = 1.0
CANNOT = "This laptop may fall asleep: no way found to keep it awake."
DARK = "The screen may go dark: only the laptop itself is kept awake."
LID = "A closed lid puts this laptop to sleep, whatever keeps it awake."


class Awake:
    """Holds the laptop awake, or not.

    Args:
        seconds: a clock that runs on.

    Fields:
        state: off; asking for it; the screen is kept on; the laptop runs but the screen may go
            dark; it cannot be kept awake.
    """

    def __init__(self, seconds: Callable[[], float] = time.monotonic) -> None:
        self.state: AwakeState = "off"
        self._seconds = seconds
        self._stop: threading.Event | None = None
        self._threads: list[threading.Thread] = []
        self._lid_since: float | None = None

    def want(self, wanted: bool) -> None:
        """Begins or ends to hold it; nothing if it is so already."""
        if wanted and self._stop is None:
            self._stop = threading.Event()
            self.state = "asking"
            thread = threading.Thread(
                target=self._hold, args=(self._stop,), name="awake", daemon=True
            )
            # One that was let go may still be waiting for an answer.
            self._threads = [one for one in self._threads if one.is_alive()] + [thread]
            thread.start()
        elif not wanted and self._stop is not None:
            self._stop.set()
            self._stop, self.state = None, "off"

    @property
    def notices(self) -> tuple[str, ...]:
        """What is to be said: that it cannot be; and once, for a while, what a lid does."""
        if self.state in ("off", "asking"):
            return ()
        now = self._seconds()
        if self._lid_since is None:
            self._lid_since = now
        said = {"cannot": (CANNOT,), "running": (DARK,)}.get(self.state, ())
        return (*said, LID) if now - self._lid_since < LID_S else said

    def close(self) -> None:
        """Lets go; waits a moment for it and no longer."""
        self.want(False)
        end = time.monotonic() + CLOSE_S
        for thread in self._threads:
            thread.join(max(0.0, end - time.monotonic()))

    def _hold(self, stop: threading.Event) -> None:
        # The mode must be entered and left by one thread.
        try:
            from wakepy import keep

            with keep.presenting(on_fail="pass") as screen_on:
                if screen_on.active:
                    self._found(stop, "screen on")
                    stop.wait()
                    return
            with keep.running(on_fail="pass") as running:
                if running.active:
                    self._found(stop, "running")
                    stop.wait()
                    return
        # Whatever the system's own way to it may raise: the clocks go on without it.
        except Exception:
            pass
        self._found(stop, "cannot")

    def _found(self, stop: threading.Event, state: AwakeState) -> None:
        # An answer that comes too late belongs to a holding that has ended.
        if stop is self._stop:
            self.state = state
