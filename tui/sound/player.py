"""What there is to play a sound and to show a note with, and how it is run.

Whatever makes a noise runs as a process of its own without a line to the screen, is never
waited for, and is ended if it takes too long.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress

# What is killed is gone within so long, or hangs in the kernel.
DEATH_S = 0.5
LINUX_PLAYERS = (("pw-play",), ("paplay",), ("aplay", "-q"))
# The sound module of Windows, in a process of its own like every other player.
WINDOWS_PLAYER = "import sys, winsound; winsound.PlaySound(sys.argv[1], winsound.SND_FILENAME)"
MAC_NOTE = (
    "on run argv",
    'display notification (item 1 of argv) with title "cartclock"',
    "end run",
)

Which = Callable[[str], str | None]


def spoken(sentence: str) -> str:
    """The sentence as one word of a command line: no control characters, no leading dash."""
    return "".join(c if c.isprintable() else " " for c in sentence).lstrip("- ").rstrip()


def players(platform: str = sys.platform, which: Which = shutil.which) -> list[tuple[str, ...]]:
    """The command lines that play the WAV file named behind them, the best one first."""
    if platform == "win32":
        return [(sys.executable, "-c", WINDOWS_PLAYER)]
    known = (("afplay",),) if platform == "darwin" else LINUX_PLAYERS
    return [player for player in known if which(player[0])]


def noter(platform: str = sys.platform, which: Which = shutil.which) -> tuple[str, ...]:
    """The command line that shows the sentence behind it on the desktop; empty if there is none."""
    if platform == "darwin" and which("osascript"):
        return ("osascript", *(word for line in MAC_NOTE for word in ("-e", line)))
    if platform != "win32" and which("notify-send"):
        return ("notify-send", "--app-name=cartclock", "--urgency=critical", "--")
    return ()


class Running:
    """A process that was started and is not waited for.

    Args:
        words: the command line.
        timeout_s: it is ended after so many seconds.
        seconds: a clock that runs on.

    Raises OSError or ValueError: it cannot be started.
    """

    def __init__(
        self, words: Sequence[str], timeout_s: float, seconds: Callable[[], float]
    ) -> None:
        self._timeout_s, self._seconds = timeout_s, seconds
        self._begun = seconds()
        # A session of its own: no key pressed here reaches it, and its children end with it.
        self._process = subprocess.Popen(
            words,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            # CREATE_NO_WINDOW; the module names it on Windows only.
            creationflags=0x08000000 if sys.platform == "win32" else 0,
        )

    def failure(self) -> str | None:
        """None while it or a child of it runs, "" when it ended well, else what became of it."""
        if self._runs():
            if self._seconds() - self._begun < self._timeout_s:
                return None
            self.end()
            return f"did not end within {self._timeout_s:g} s"
        code = self._process.poll()
        return f"failed with code {code}" if code else ""

    def end(self) -> None:
        """Ends it with its children, if one of them still runs."""
        if not self._runs():
            return
        with suppress(OSError):
            if sys.platform == "win32":
                self._process.kill()
            else:
                os.killpg(self._process.pid, signal.SIGKILL)
        # A process that hangs in the kernel dies later, and nobody waits for it.
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(DEATH_S)

    def _runs(self) -> bool:
        if self._process.poll() is None:
            return True
        if sys.platform == "win32":
            return False
        # Its number stays that of its children for as long as there are any. One that has ended
        # and of which nobody took note yet may count as well.
        try:
            os.killpg(self._process.pid, 0)
        except OSError:
            return False
        return True
