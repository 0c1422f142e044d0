"""Files read for their digests beside the clocks: a large photo on a slow card stops no key.

They are read in a thread of their own, because a card may be taken out and a network may never
answer; the program does not wait for it when it ends.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from pathlib import Path

from cartclock.engine.desk.shop import Attachment
from cartclock.engine.trouble import Refused
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.panels import nothing
from cartclock.tui.widgets.sheet import Line

FILES = "files"
"""The kind of work beside the clocks that this is."""
# As many bytes as files have figures of.
_MB = 1_000_000
Read = Attachment | Refused


class _Reading:
    """How far the files are read; what a thread and the list both know."""

    def __init__(self, host: Host, paths: Sequence[str]) -> None:
        self._host, self._paths = host, tuple(paths)
        self._at = self._bytes = self._of = 0
        self.left = False

    def read(self) -> list[Read]:
        """What each file is, or why it cannot be attached; [] once it is left."""
        found: list[Read] = []
        for at, path in enumerate(self._paths):
            self._at, self._bytes, self._of = at, 0, 0
            try:
                found.append(self._host.cart.shop.attachment(path, self._far))
            except Refused as why:
                found.append(why)
            except _Left:
                return []
        return found

    def _far(self, done: int, of: int) -> None:
        self._bytes, self._of = done, of
        if self.left:
            raise _Left

    def said(self) -> str:
        """How far it is, as the line of the list."""
        name = Path(self._paths[self._at]).name
        nth = f"{self._at + 1} of {len(self._paths)}: " if len(self._paths) > 1 else ""
        return f"{nth}{self._bytes // _MB} of {self._of // _MB} MB read, {name}"


class _Left(Exception):
    """Nobody waits for the file any more."""


def open_attaching(
    host: Host, title: str, paths: Sequence[str], taken: Callable[[list[Read]], object]
) -> None:
    """Reads files while a list says how far it is; `taken` is given what came of each, in their
    order. esc leaves them: nothing is written, and `taken` is not asked.
    """
    reading = _Reading(host, paths)

    def leave() -> None:
        reading.left = True
        nothing(host)

    def done(found: list[Read]) -> None:
        if not reading.left:
            host.sheet.close()
            taken(found)

    def wait() -> None:
        """What picking the line that says how far it is does."""

    line = Line(reading.said, wait, stays=True)
    host.sheet.open(title, [line], "esc: leave it, nothing is written", closed=leave)
    host.cart.beside(_came(reading, done), FILES)


async def _came(reading: _Reading, done: Callable[[list[Read]], None]) -> None:
    read: Future[list[Read]] = Future()

    def work() -> None:
        # From here on nobody can cancel it: the program may end before it is read.
        read.set_running_or_notify_cancel()
        try:
            read.set_result(reading.read())
        except Exception as fault:
            # Told where it is waited for, as any other fault.
            read.set_exception(fault)

    threading.Thread(target=work, daemon=True).start()
    done(await asyncio.wrap_future(read))
