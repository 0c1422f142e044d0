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


async def answer_of(words: Sequence[str], timeout_s: float) -> ProgramSaid:
    """Runs a program without a shell, in a session of its own, and ends all of that.

    Raises TimeoutError if it does not end in time; OSError and ValueError if it cannot be started.
    """
    process = await asyncio.create_subprocess_exec(
        *words,
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        start_new_session=True,
    )
    assert process.stdout is not None and process.stderr is not None  # both are pipes
    complained = asyncio.create_task(_beginning(process.stderr, to_its_end=True))
    try:
        async with asyncio.timeout(timeout_s):
            said = await _beginning(process.stdout)
            if len(said) == MOST_SAID:
                return ProgramSaid(0, said, b"")
            return ProgramSaid(await process.wait(), said, await complained)
    finally:
        complained.cancel()
        _end(process)
        with suppress(TimeoutError):
            async with asyncio.timeout(_LEAVES_S):
                await process.communicate()


async def _beginning(stream: asyncio.StreamReader, to_its_end: bool = False) -> bytes:
    """The first of what is said; to_its_end: what follows is read and thrown away, so that the
    program is not held up by it."""
    found = b""
    while len(found) < MOST_SAID or to_its_end:
        more = await stream.read(MOST_SAID)
        if not more:
            break
        found += more[: MOST_SAID - len(found)]
    return found


def _end(process: asyncio.subprocess.Process) -> None:
    # It may have ended by itself, and all it started with it.
    with suppress(ProcessLookupError, PermissionError):
        if sys.platform == "win32":
            process.kill()
        else:
            os.killpg(process.pid, signal.SIGKILL)
