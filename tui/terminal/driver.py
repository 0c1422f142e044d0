"""The way to the terminal, made to outlast what a cart does to it: stray bytes, signals, a closed
window.

Textual's own driver decodes what is typed strictly, so that one byte that is no UTF-8 ends the
program; its parser stumbles over numbers that name no character; a paste whose end was lost
swallows every key behind it; and a signal that ends the process leaves the terminal in the
alternate screen without a cursor. Here such input is dropped, and a signal leaves by the door.
"""

from __future__ import annotations

import os
import selectors
import signal
import sys
from codecs import getincrementaldecoder
from collections.abc import Sequence
from time import monotonic
from typing import Any, ClassVar, cast

from textual import constants, events
from textual.driver import Driver
from textual.message import Message

from cartclock.tui.terminal.ending import Ending
from cartclock.tui.terminal.ground import Answer
from cartclock.tui.terminal.signals import BY_SIGNAL, ENDING
from cartclock.tui.terminal.sink import Sink
from cartclock.tui.terminal.unseen import is_deaf, understood
from cartclock.tui.terminal.wire import Run, Wire

# Escape sequences are over after a tenth of a second (`textual.constants.ESCAPE_DELAY`).
LOOK_S = 0.1
# Our own judgement: a terminal sends a paste in one go, and a screen has no more cells a side.
PASTE_S = 2.0
# After so long without a key nothing begun waits for its end, and only a key ends the waiting:
# to look every tenth of a second costs as much as half the clocks.
QUIET_S = max(1.0, 2 * constants.ESCAPE_DELAY)
CELLS_MOST = 1000
PASTE_BEGINS, PASTE_ENDS = "\x1b[200~", "\x1b[201~"

# So much comes to the terminal in one piece, by a pipe as well as by a line of packets (1,500 bytes
# on Ethernet): it needs no marks around it to be shown at once.
ONE_PIECE_BYTES = 1000

# xterm ctlseqs, "Mouse Tracking": 1000 buttons pressed and let go of, 1006 their place in decimals.
# From memory.
MOUSE_MODES = (1000, 1006)


class GroundFound(Message):
    """The terminal said on which ground it writes.

    Fields:
        light: True if black is read better on it than white.
    """

    def __init__(self, light: bool) -> None:
        super().__init__()
        self.light = light


def sound(message: Message) -> bool:
    """False for what no keyboard and no window sends: half a surrogate pair, a size of nothing
    or of a million columns."""
    if isinstance(message, events.Key):
        return not any("\ud800" <= char <= "\udfff" for char in message.character or "")
    if isinstance(message, events.Resize):
        return all(0 < cells <= CELLS_MOST for cells in message.size)
    return True


if sys.platform == "win32":

    def terminal_driver(held: object = None) -> type[Driver] | None:
        """The library's own: none of this was tried on Windows."""
        return None

else:
    from textual._ansi_sequences import SYNC_END, SYNC_START
    from textual._xterm_parser import XTermParser
    from textual.drivers.linux_driver import LinuxDriver

    from cartclock.tui.terminal.raw import ALTERNATE, READ_BYTES, RawTerminal

    class CartDriver(LinuxDriver):
        """Reads anything, writes to anything, and ends in order.

        held: what holds the terminal until this driver does; None: nobody.
        """

        held: ClassVar[RawTerminal | None] = None

        def __init__(self, *given: Any, **named: Any) -> None:
            super().__init__(*given, **named)
            assert sys.__stderr__ is not None
            self._file = cast("Any", Sink(sys.__stderr__.fileno()))
            self._wire = Wire()
            self.exit_event = self._ending = Ending()
            self._mouse = self._mouse and not is_deaf(os.environ.get("TERM", ""))
            self._answer = Answer(lambda light: self.process_message(GroundFound(light)))

        def write(self, data: str) -> None:
            """Writes what the terminal does not show already."""
            if data == ALTERNATE and self.held is not None and self.held.is_shown:
                # A picture stands there, and would be wiped.
                return
            data = understood(data, os.environ.get("TERM", ""))
            lean = self._wire.lean(data, self._app.size)
            if lean:
                super().write(lean)

        def put(self, runs: Sequence[Run]) -> None:
            """Writes cells of a picture that the library knows and need not draw."""
            changed = self._wire.put(runs, self._app.size)
            if len(changed.encode()) > ONE_PIECE_BYTES and self._app._sync_available:
                changed = f"{SYNC_START}{changed}{SYNC_END}"
            if changed:
                super().write(changed)

        def close(self) -> None:
            """Nothing is read or written from here on."""
            super().close()
            self._ending.close()

        def start_application_mode(self) -> None:
            """From now on ends in order when told to end, and takes the terminal."""
            # First, so that there is no moment in which the terminal is taken and not given back.
            for number in ENDING:
                self._loop.add_signal_handler(number, self._end, number)
            super().start_application_mode()  # type: ignore[no-untyped-call]  # Textual's own
            if self.held is not None:
                # The library found the modes that were set for it.
                self.attrs_before = self.held.hand_over() or self.attrs_before

        def _enable_mouse_support(self) -> None:
            """Asks for presses of its buttons and not, as the library does, for every move."""
            if self._mouse:
                self.write("".join(f"\x1b[?{mode}h" for mode in MOUSE_MODES))

        def _disable_mouse_support(self) -> None:
            """Takes that back."""
            if self._mouse:
                self.write("".join(f"\x1b[?{mode}l" for mode in MOUSE_MODES))

        def _enable_mouse_pixels(self) -> None:
            """A line is as high as a cell: nothing finer is asked for."""

        def _end(self, number: signal.Signals) -> None:
            # In its turn: an exit in the middle of making a screen leaves that half made.
            self._app.call_later(self._app.exit, return_code=BY_SIGNAL + number)

        def process_message(self, message: Message) -> None:
            """Hands on what can be meant; of a mouse nothing unless it was asked for."""
            if isinstance(message, events.MouseEvent) and not self._mouse:
                return
            if sound(message):
                super().process_message(message)

        def run_input_thread(self) -> None:
            """Reads until the program ends or the terminal is gone, which ends the program."""
            decode = getincrementaldecoder("utf-8")("replace").decode
            parser = XTermParser(self._debug)
            pasting, heard = False, monotonic()
            waiting = b""
            if self.held is not None:
                # Once: this begins again where the program was suspended.
                waiting, self.held.typed = self.held.typed, b""
                asked_s, self.held.asked_s = self.held.asked_s, None
                if asked_s is not None:
                    self._answer.asked(asked_s)
            with selectors.SelectSelector() as selector:
                selector.register(self.fileno, selectors.EVENT_READ)
                selector.register(self._ending, selectors.EVENT_READ)
                while True:
                    text, quiet_s = "", monotonic() - heard
                    looks = pasting or self._answer.holds or quiet_s <= QUIET_S
                    came = waiting or selector.select(LOOK_S if looks else None)
                    if self.exit_event.is_set():
                        return
                    if came:
                        read, waiting = waiting or self._read(), b""
                        if not read:
                            self._loop.call_soon_threadsafe(self._end, signal.SIGHUP)
                            return
                        heard = monotonic()
                        text = self._answer.sift(decode(read), heard)
                    elif held := self._answer.sift("", monotonic()):
                        text = held
                    elif pasting and monotonic() - heard > PASTE_S:
                        text = PASTE_ENDS
                    begins, ends = text.rfind(PASTE_BEGINS), text.rfind(PASTE_ENDS)
                    pasting = pasting if begins == ends else begins > ends
                    if not self._fed(parser, text):
                        parser, pasting = XTermParser(self._debug), False

        def _read(self) -> bytes:
            try:
                return os.read(self.fileno, READ_BYTES)
            except OSError:
                return b""

        def _fed(self, parser: XTermParser, text: str) -> bool:
            """False if the parser stumbled, after which it reads no more."""
            try:
                # No text at all would tell it that the input is over.
                for message in parser.feed(text) if text else ():
                    self.process_message(message)
                for message in parser.tick():
                    self.process_message(message)
            except (ArithmeticError, LookupError, ValueError):
                return False
            return True

    def terminal_driver(held: RawTerminal | None = None) -> type[Driver] | None:
        """The driver for this machine; None for whatever the library takes by itself.

        held: what holds the terminal already.
        """
        if constants.DRIVER:
            return None
        return type("HandedOver", (CartDriver,), {"held": held}) if held else CartDriver
