"""A line between a cart and its shop's server that can be slow, stand still, or break."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

# Bytes that go on together: small beside what a slow line carries in a second.
_PIECE = 4_096
# Pieces that are on their way at most, before the end that sends has to wait.
_UNDER_WAY = 64

Ends = tuple[asyncio.StreamReader, asyncio.StreamWriter]


class Line:
    """Passes on what comes to `port`, in a thread of its own.

    Fields, to be changed at any time:
        delay_s: how long each byte is on its way, each way.
        bytes_s: how many go in a second, each way; 0: as many as come.
        cut_there, cut_back: the line breaks once so many bytes went to the server, or back from
            it; None: it does not.
        silent: an end that goes away is not told to the server.
        went, came: bytes that passed so far, to the server and back.
    """

    def __init__(self, to_port: int, delay_s: float = 0.0, bytes_s: float = 0.0) -> None:
        self.port = 0
        self.delay_s, self.bytes_s = delay_s, bytes_s
        self.cut_there: int | None = None
        self.cut_back: int | None = None
        self.silent = False
        self.went = self.came = 0
        self._to = to_port
        self._ends: list[asyncio.StreamWriter] = []
        self._loop = asyncio.new_event_loop()
        self._flows = asyncio.Event()
        self._flows.set()
        opened = threading.Event()
        self._thread = threading.Thread(target=self._run, args=(opened,), daemon=True)
        self._thread.start()
        assert opened.wait(10)

    def hold(self) -> None:
        """Nothing goes on from here, and both ends are answered as before: a middle box does so."""
        self._do(self._flows.clear)

    def flow(self) -> None:
        """Goes on, with what was held."""
        self._do(self._flows.set)

    def cut(self) -> None:
        """Breaks every connection."""
        self._do(self._broken)

    def close(self) -> None:
        """Breaks all and takes no more."""
        self._do(self._broken)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)

    def _do(self, act: object) -> None:
        done = threading.Event()

        def once() -> None:
            act()  # type: ignore[operator]  # a method of this class
            done.set()

        self._loop.call_soon_threadsafe(once)
        assert done.wait(10)

    def _run(self, opened: threading.Event) -> None:
        asyncio.set_event_loop(self._loop)
        server = self._loop.run_until_complete(asyncio.start_server(self._met, "127.0.0.1", 0))
        self.port = server.sockets[0].getsockname()[1]
        opened.set()
        self._loop.run_forever()
        server.close()
        left = asyncio.all_tasks(self._loop)
        for one in left:
            one.cancel()
        self._loop.run_until_complete(asyncio.gather(*left, return_exceptions=True))
        self._loop.close()

    async def _met(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        to_reader, to_writer = await asyncio.open_connection("127.0.0.1", self._to)
        self._ends += [writer, to_writer]
        # It is cancelled when the line is closed.
        with suppress(asyncio.CancelledError):
            await asyncio.gather(
                self._pass(reader, to_writer, there=True),
                self._pass(to_reader, writer, there=False),
            )

    async def _pass(
        self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter, there: bool
    ) -> None:
        pieces: asyncio.Queue[tuple[float, bytes]] = asyncio.Queue(_UNDER_WAY)

        async def come() -> None:
            data = b"-"
            while data:
                data = b""
                with suppress(OSError):
                    data = await reader.read(_PIECE)
                await pieces.put((self._loop.time() + self.delay_s, data))

        coming = self._loop.create_task(come())
        while True:
            due, data = await pieces.get()
            if due > self._loop.time():
                await asyncio.sleep(due - self._loop.time())
            await self._flows.wait()
            if not data:
                break
            if self._breaks(len(data), there):
                self._broken()
                break
            with suppress(OSError):
                writer.write(data)
                await writer.drain()
            if self.bytes_s:
                await asyncio.sleep(len(data) / self.bytes_s)
        if not (there and self.silent):
            writer.close()
        await coming

    def _breaks(self, many: int, there: bool) -> bool:
        if there:
            self.went += many
            return self.cut_there is not None and self.went >= self.cut_there
        self.came += many
        return self.cut_back is not None and self.came >= self.cut_back

    def _broken(self) -> None:
        for end in self._ends:
            end.transport.abort()
        self._ends.clear()


@contextmanager
def line_to(port: int, delay_s: float = 0.0, bytes_s: float = 0.0) -> Iterator[Line]:
    """A line to a port of this computer, closed at the end."""
    one = Line(port, delay_s, bytes_s)
    try:
        yield one
    finally:
        one.close()
