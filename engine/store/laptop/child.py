"""A program of somebody else's, asked once: no longer, no more and with no children left behind."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import Sequence
from contextlib import suppress

from msgspec import Struct

# So much of what a program says is read.
MOST_SAID = 4096
# What was killed has so long to let go of its pipes.
_LEAVES_S = 1.0


class ProgramSaid(Struct, frozen=True):
    """What a program said.

    Fields:
        code: its exit code; 0 of one that would have gone on saying more and was ended for it.
        said, trouble: the beginning of its output and of what it said of itself.
    """

    code: int
    said: bytes
    trouble: bytes


class _Heard(asyncio.SubprocessProtocol):
    """What a program says, as far as it is read.

    Fields:
        said, trouble: see `ProgramSaid`.
        over: done when it has ended, or has said as much as is read.
        still: done when nobody can say any more: it, and all it started.
    """

    def __init__(self, loop: asyncio.AbstractEventLoop) -> None:
        self.said, self.trouble = b"", b""
        self.over: asyncio.Future[None] = loop.create_future()
        self.still: asyncio.Future[None] = loop.create_future()

    def pipe_data_received(self, fd: int, data: bytes | str) -> None:
        assert isinstance(data, bytes)  # the pipes are opened for bytes
        if fd == 1:
            self.said += data[: MOST_SAID - len(self.said)]
            if len(self.said) == MOST_SAID:
                _done(self.over)
        else:
            # What follows is thrown away, so that the program is not held up by it.
            self.trouble += data[: MOST_SAID - len(self.trouble)]

    def process_exited(self) -> None:
        _done(self.over)

    def connection_lost(self, exc: Exception | None) -> None:
        # It comes when the program has ended and both of its pipes are closed.
        _done(self.over)
        _done(self.still)


async def answer_of(words: Sequence[str], timeout_s: float) -> ProgramSaid:
    """Runs a program without a shell, in a session of its own, and ends all of that.

    Raises TimeoutError if it does not end in time; OSError and ValueError if it cannot be started.
    """
    loop = asyncio.get_running_loop()
    transport, heard = await loop.subprocess_exec(
        lambda: _Heard(loop),
        *words,
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        start_new_session=True,
    )
    try:
        async with asyncio.timeout(timeout_s):
            await heard.over
    finally:
        _end(transport)
        # What it said last may be on its way. What left its session may hold its pipes for ever.
        try:
            await let_go(heard.still)
        finally:
            transport.close()
    if len(heard.said) == MOST_SAID:
        return ProgramSaid(0, heard.said, b"")
    code = transport.get_returncode()
    assert code is not None  # it has ended
    return ProgramSaid(code, heard.said, heard.trouble)


async def let_go(still: asyncio.Future[None], most_s: float = _LEAVES_S) -> None:
    """Waits until what was killed has let go, for so many seconds at most; also where whoever asked
    is told to stop meanwhile, for else it would be left to nobody.
    """
    loop = asyncio.get_running_loop()
    until_s, stopped = loop.time() + most_s, False
    while not still.done() and loop.time() < until_s:
        try:
            await asyncio.wait([still], timeout=until_s - loop.time())
        except asyncio.CancelledError:
            stopped = True
    if stopped:
        raise asyncio.CancelledError


def _done(future: asyncio.Future[None]) -> None:
    if not future.done():
        future.set_result(None)


def _end(transport: asyncio.SubprocessTransport) -> None:
    # It may have ended by itself, and all it started with it.
    with suppress(ProcessLookupError, PermissionError):
        if sys.platform == "win32":
            transport.kill()
        else:
            os.killpg(transport.get_pid(), signal.SIGKILL)
