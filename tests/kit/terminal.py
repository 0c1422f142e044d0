"""The program on a real pseudo-terminal: keys, signals and sizes as a terminal gives them.

Nothing here looks into the program: what it wrote is what a terminal would have got.
"""

from __future__ import annotations

import fcntl
import os
import select
import signal
import struct
import subprocess
import sys
import termios
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from time import monotonic

from tests.kit.warm import CLI, Forked, forked

ROOT = Path(__file__).parents[2]
# Takes the terminal as its own, so that the kernel tells it of sizes and of a hang-up.
TAKES = (
    "import fcntl, os, sys, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); "
    "os.execv(sys.executable, [sys.executable, *sys.argv[1:]])"
)
PATIENCE_S = 20.0


class Terminal:
    """A child on a pseudo-terminal, and everything it wrote."""

    def __init__(
        self, child: subprocess.Popen[bytes] | Forked, master: int, plain: list[int]
    ) -> None:
        self.child, self.master = child, master
        # Its modes before the child began.
        self.plain = plain
        self.wrote = bytearray()
        # When what came: the moment, and how much had come by then.
        self.came: list[tuple[float, int]] = []
        self._open = True

    def take(self, seconds: float = 0.0) -> bool:
        """Takes in what the child writes within so many seconds; False if nothing came."""
        if not self._open or not select.select([self.master], [], [], seconds)[0]:
            return False
        try:
            news = os.read(self.master, 65536)
        except OSError:
            # The child has closed its side.
            news = b""
        self._open = bool(news)
        self.wrote += news
        self.came.append((monotonic(), len(self.wrote)))
        return self._open

    def pause(self, seconds: float) -> None:
        """Takes in whatever comes within so many seconds."""
        ends_at = monotonic() + seconds
        while (left := ends_at - monotonic()) > 0 and self._open:
            self.take(left)

    def wait_for(self, text: str | bytes, since: int = 0) -> int:
        """Waits until the child has written a text; answers where it ends."""
        sought = text.encode() if isinstance(text, str) else text
        ends_at = monotonic() + PATIENCE_S
        while (found := self.wrote.find(sought, since)) < 0:
            if monotonic() > ends_at or not (self.take(0.2) or self.child.poll() is None):
                raise AssertionError(f"{sought!r} never came; at the end {self.wrote[-600:]!r}")
        return found + len(sought)

    def send(self, keys: str | bytes) -> None:
        """Types."""
        os.write(self.master, keys.encode() if isinstance(keys, str) else keys)

    def answer(self, keys: str | bytes, text: str) -> None:
        """Types, and waits for a text that only then comes."""
        since = len(self.wrote)
        self.send(keys)
        self.wait_for(text, since)

    def resize(self, columns: int, rows: int) -> None:
        """Another size; the kernel tells the child."""
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def kill(self, number: signal.Signals, patience_s: float = PATIENCE_S) -> int:
        """Sends a signal and waits for the end; answers the exit code."""
        self.child.send_signal(number)
        return self.ended(patience_s)

    def ended(self, patience_s: float = PATIENCE_S) -> int:
        """Waits for the end; answers the exit code."""
        ends_at = monotonic() + patience_s
        while self.child.poll() is None:
            self.take(0.02)
            if monotonic() > ends_at:
                raise AssertionError(f"it does not end; at the end {self.wrote[-600:]!r}")
        while self.take():
            pass
        return self.child.returncode

    def hang_up(self) -> int:
        """The window is closed; answers the exit code."""
        os.close(self.master)
        self._open, self.master = False, -1
        return self.child.wait(PATIENCE_S)

    def modes(self) -> list[int]:
        """Input, output, control and local flags of the terminal."""
        return modes(self.master)


def modes(terminal: int) -> list[int]:
    """Input, output, control and local flags of a terminal."""
    return termios.tcgetattr(terminal)[:4]


@contextmanager
def terminal(
    folder: Path,
    *command: str,
    size: tuple[int, int] = (80, 24),
    env: dict[str, str] | None = None,
    own: bool = True,
    warm: bool = False,
    settled: bool = True,
) -> Iterator[Terminal]:
    """A Python child on a pseudo-terminal; `command` is what stands behind `python`.

    Args:
        folder: where the program keeps everything.
        size: columns and rows.
        env: more environment.
        own: False where only time counts: no signals come from the terminal then.
        warm: True where the start does not count: it is a fork that has read the program already.
            What the screen library reads of its environment is what that process had.
        settled: False where the first questions may be asked; else a file that settles nothing
            stands where there is none.
    """
    if settled and folder.is_dir() and not (folder / "settings.toml").exists():
        # Not where a test takes the right to write there away.
        with suppress(PermissionError):
            (folder / "settings.toml").touch()
    master, slave = os.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
    plain = modes(master)
    kept = {name: value for name, value in os.environ.items() if not name.startswith("TEXTUAL")}
    for name in ("NO_COLOR", "COLORTERM", "COLUMNS", "LINES", "PYTEST_CURRENT_TEST"):
        kept.pop(name, None)
    kept |= {"CARTCLOCK_HOME": str(folder), "TERM": "xterm-256color", "LANG": "C.UTF-8"}
    kept |= env or {}
    command = command or ("-m", CLI)
    child: subprocess.Popen[bytes] | Forked
    if warm:
        child = forked(command, kept, slave)
    else:
        child = subprocess.Popen(
            [sys.executable, *(("-S", "-c", TAKES) if own else ()), *command],
            cwd=ROOT,
            stdin=slave,
            stdout=slave,
            stderr=slave,
            start_new_session=True,
            env=kept,
        )
    os.close(slave)
    found = Terminal(child, master, plain)
    try:
        yield found
    finally:
        if child.poll() is None:
            child.kill()
            child.wait()
        # A test may have hung up itself.
        if found.master >= 0:
            os.close(master)


def run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """A command of the program without a terminal."""
    return subprocess.run(
        [sys.executable, "-m", "cartclock.tui.cli", *arguments],
        cwd=ROOT,
        env={**os.environ, "CARTCLOCK_HOME": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )
