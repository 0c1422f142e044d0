"""The terminal before the screen library is there: its keys taken as they come, a picture at once.

Importing the library takes longer than everything else up to the first picture. So the terminal
is taken first, the picture is written as rows of text, and the library's driver takes over what
stands there. Whatever ends the program in between, a fault or a signal, the terminal is given back
as it was.

Keys are left where the kernel keeps them, and the driver finds them there; only what an answer of
the terminal was looked for in has been read, and is handed on.

POSIX only. Modes are those of termios(3), sequences those of xterm's ctlseqs, "DEC Private Mode
Set": 1049 the alternate screen, 25 the cursor, 7 the wrapping of lines. From memory.
"""

from __future__ import annotations

import os
import re
import selectors
import signal
import termios
from collections.abc import Sequence
from contextlib import suppress
from time import monotonic
from types import FrameType
from typing import Any, Self

from cartclock.tui.terminal.signals import ENDING
from cartclock.tui.terminal.sink import Sink

READ_BYTES = 4096
ALTERNATE, MAIN = "\x1b[?1049h", "\x1b[?1049l"
# On the alternate screen: no cursor, and no line goes on in the next row.
_QUIET, _LOUD = "\x1b[?25l\x1b[?7l", "\x1b[?7h\x1b[?25h"
# Indexes of a list of modes (termios(3), `tcgetattr` of Python's library).
_INPUT, _LOCAL, _CHARACTERS = 0, 3, 6


class RawTerminal:
    """A terminal whose keys come one by one, as long as it is held; for a `with` statement.

    Args:
        keys: the file descriptor it is read from.
        screen: the one it is written to.

    Fields:
        is_shown: True while a picture of it stands.
        typed: what was read of the keys and is yet to be taken for them.
        asked_s: when it was asked what it has not answered, by `time.monotonic`; None: never.
    """

    def __init__(self, keys: int, screen: int) -> None:
        self._keys, self._sink = keys, Sink(screen)
        self._modes: list[Any] | None = None
        self._handlers: dict[int, Any] = {}
        self.is_shown = False
        self.typed = b""
        self.asked_s: float | None = None

    def __enter__(self) -> Self:
        try:
            # First, so that there is no moment in which the terminal is taken and not given back.
            for number in ENDING:
                # What whoever started the program has told it to pass over, it passes over.
                if signal.getsignal(number) is not signal.SIG_IGN:
                    self._handlers[number] = signal.signal(number, self._end)
            self._modes = termios.tcgetattr(self._keys)
            # Nothing that was typed already is thrown away.
            termios.tcsetattr(self._keys, termios.TCSANOW, _raw(self._modes))
        except BaseException:
            self.give_back()
            raise
        return self

    def __exit__(self, *_fault: object) -> None:
        self.give_back()

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows of the screen; raises OSError if it is no terminal."""
        columns, rows = os.get_terminal_size(self._sink.fileno())
        return columns, rows

    def show(self, rows: Sequence[str]) -> None:
        """Writes a picture on the alternate screen, from its first row down.

        rows: inert text with what SGR (ECMA-48, 8.3.117) says of its looks, each at most as wide
            as the screen; not more than the screen has.
        """
        text = "" if self.is_shown else f"{ALTERNATE}{_QUIET}"
        # Before it is written: a signal may come in the midst of it.
        self.is_shown = True
        text += "".join(f"\x1b[{number};1H\x1b[0m{row}" for number, row in enumerate(rows, 1))
        self._sink.write(f"{text}\x1b[0m")
        self._sink.flush()

    def ask(self, question: str) -> None:
        """Asks the terminal something; `answer` looks for what it says."""
        self._sink.write(question)
        self._sink.flush()
        self.asked_s = monotonic()

    def answer(self, form: re.Pattern[bytes], patience_s: float = 0.0) -> bytes:
        """What the terminal answered; b"" if nothing of that form came in time.

        What was typed meanwhile is kept in `typed`.
        """
        ends_at = monotonic() + patience_s
        with selectors.SelectSelector() as selector:
            selector.register(self._keys, selectors.EVENT_READ)
            while selector.select(max(0.0, ends_at - monotonic())):
                read = b""
                with suppress(OSError):
                    read = os.read(self._keys, READ_BYTES)
                if not read:
                    break
                self.typed += read
                found = form.search(self.typed)
                if found is not None:
                    self.asked_s = None
                    self.typed = self.typed[: found.start()] + self.typed[found.end() :]
                    return found[0]
        return b""

    def hand_over(self) -> list[Any] | None:
        """Leaves the terminal to whoever has it already and will give it back.

        Returns:
            The modes that it had before it was taken; None if it is not held.
        """
        modes, self._modes, self.is_shown = self._modes, None, False
        self._handlers.clear()
        return modes

    def _end(self, number: int, _frame: FrameType | None) -> None:
        # Nothing is raised: whatever is going on could catch it and go on.
        self.give_back()
        signal.signal(number, signal.SIG_DFL)
        signal.raise_signal(number)

    def give_back(self) -> None:
        """Makes the terminal what it was before it was taken; does nothing the second time."""
        # Told to end twice, it is in the midst of ending.
        for number in self._handlers:
            signal.signal(number, signal.SIG_IGN)
        if self.is_shown:
            self.is_shown = False
            self._sink.write(f"{_LOUD}{MAIN}")
            self._sink.flush()
        if self._modes is not None:
            # A terminal that went away has no modes.
            with suppress(termios.error):
                termios.tcsetattr(self._keys, termios.TCSANOW, self._modes)
            self._modes = None
        for number, handler in self._handlers.items():
            signal.signal(number, handler)
        self._handlers.clear()


def _raw(modes: Sequence[Any]) -> list[Any]:
    """Modes in which each key comes as it is pressed and none does anything by itself."""
    raw = list(modes)
    raw[_INPUT] &= ~(termios.IXON | termios.IXOFF | termios.ICRNL | termios.INLCR | termios.IGNCR)
    raw[_LOCAL] &= ~(termios.ECHO | termios.ICANON | termios.IEXTEN | termios.ISIG)
    raw[_CHARACTERS] = list(raw[_CHARACTERS])
    raw[_CHARACTERS][termios.VMIN] = 1
    return raw
