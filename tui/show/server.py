"""Serves the pages and their streams of events, on one address and to few at a time.

How many connections there are and how fast they are taken is decided here, how much and how long
one of them may take in `exchange.py`. Why so is decision 2 of this room.
"""

from __future__ import annotations

import asyncio
import socket
from collections import Counter
from collections.abc import Callable, Mapping
from time import monotonic

import h11
from msgspec import Struct

from cartclock.tui.show.addresses import STATUS, Opened, Site, Why, opened
from cartclock.tui.show.exchange import Exchange, Limits
from cartclock.tui.show.follow import Follower, Page, encoded
from cartclock.tui.show.refusals import Refusals
from cartclock.tui.show.seen import standing

# A press is on the page within a second, and so is a film that opens.
LOOK_S = 0.25
# Much more often than a page that hears nothing says so: QUIET_MS in heard.js.
BEAT_S = 1.0


class File(Struct, frozen=True):
    """A file of a page: its media type and its bytes."""

    kind: str
    content: bytes


class Server:
    """Serves until it is cancelled.

    Args:
        there: what is served.
        files: answers the files of a page by name, of what the page is of.
        follower: says what the pages say.
        tell: takes a line about what was refused.
    """

    def __init__(
        self,
        there: Site,
        files: Callable[[str], Mapping[str, File]],
        follower: Follower,
        tell: Callable[[str], None],
        limits: Limits | None = None,
    ) -> None:
        self._site, self._files, self._follower = there, files, follower
        self._limits = limits or Limits()
        self.refusals = Refusals(tell, monotonic)
        self._streams: Counter[str] = Counter()
        self._senders: Counter[str] = Counter()
        self._news: Mapping[str, Page] = {}
        self._newer = asyncio.Event()
        self._running: set[asyncio.Task[None]] = set()

    async def serve(self, listening: socket.socket) -> None:
        """Takes connections from a socket that listens.

        They are taken at a pace; those beyond it wait in the system's short line, or are turned
        away there.
        """
        listening.setblocking(False)
        try:
            async with asyncio.TaskGroup() as both:
                both.create_task(self._follow())
                both.create_task(self._accept(listening))
        finally:
            for task in self._running:
                task.cancel()
            await asyncio.gather(*self._running, return_exceptions=True)

    async def _accept(self, listening: socket.socket) -> None:
        loop = asyncio.get_running_loop()
        room, since = float(self._limits.at_once), loop.time()
        while True:
            try:
                connection, sender = await loop.sock_accept(listening)
            except OSError:
                # The system has none left to give.
                self.refusals.note("too many")
                await asyncio.sleep(1.0)
                continue
            now = loop.time()
            room = min(self._limits.at_once, room + (now - since) * self._limits.a_second) - 1
            since = now
            self._take(connection, str(sender[0]))
            if room < 1:
                await asyncio.sleep((1 - room) / self._limits.a_second)

    def _take(self, connection: socket.socket, sender: str) -> None:
        full = self._senders.total() >= self._limits.connections
        if full or self._senders[sender] >= self._limits.of_one_sender:
            connection.close()
            self.refusals.note("too many")
            return
        self._senders[sender] += 1
        task = asyncio.create_task(self._meet(connection, sender))
        self._running.add(task)
        task.add_done_callback(self._running.discard)

    async def _meet(self, connection: socket.socket, sender: str) -> None:
        """One connection, from its request to its end."""
        loop, page = asyncio.get_running_loop(), ""
        reader = asyncio.StreamReader(self._limits.head_bytes)
        protocol = asyncio.StreamReaderProtocol(reader)
        transport = None
        try:
            transport, _ = await loop.connect_accepted_socket(lambda: protocol, connection)
            transport.set_write_buffer_limits(self._limits.head_bytes)
            writer = asyncio.StreamWriter(transport, protocol, reader, loop)
            exchange = Exchange(reader, writer, self._limits)
            try:
                page = await self._answered(exchange)
            finally:
                self._senders[sender] -= 1
                self._senders += Counter()
            if page:
                await self._stream(exchange, page)
        except TimeoutError:
            self.refusals.note("slow")
        except (OSError, h11.ProtocolError):
            # Whoever asked went away, or asks for something else meanwhile.
            pass
        finally:
            if transport is None:
                connection.close()
            else:
                transport.close()
                # What nobody takes is not waited for.
                loop.call_later(self._limits.write_s, transport.abort)

    async def _answered(self, exchange: Exchange) -> str:
        """Answers a request; the page of which a stream was begun, "" for none."""
        try:
            request = await exchange.request()
        except h11.RemoteProtocolError:
            await self._refuse(exchange, "request")
            return ""
        if request is None:
            return ""
        found = opened(self._site, request.method, request.target, list(request.headers))
        if not isinstance(found, Opened):
            await self._refuse(exchange, found)
            return ""
        head = request.method == b"HEAD"
        if not found.whole:
            place = (("Location", f"{request.target.decode()}/"),)
            await exchange.answer(308, "text/plain", b"", head, place)
        elif found.file != "events":
            file = self._files(found.page)[found.file]
            await exchange.answer(200, file.kind, file.content, head)
        elif head:
            await exchange.answer(405, "text/plain", b"", head)
        elif self._streams[found.page] >= self._limits.streams:
            await self._refuse(exchange, "too many")
        else:
            self._streams[found.page] += 1
            return found.page
        return ""

    async def _refuse(self, exchange: Exchange, why: Why) -> None:
        self.refusals.note(why)
        await exchange.answer(STATUS[why], "text/plain", b"")

    # What the streams say.

    async def _stream(self, exchange: Exchange, page: str) -> None:
        """Says what there is to say of a page until whoever hears it goes away."""
        try:
            await exchange.begin_stream()
            while True:
                newer = self._newer
                if page in self._news:
                    await exchange.say(encoded(self._news[page]))
                await newer.wait()
        finally:
            self._streams[page] -= 1
            self._streams += Counter()

    async def _follow(self) -> None:
        told_at = 0.0
        while True:
            await asyncio.sleep(LOOK_S)
            self.refusals.tell_waiting()
            before, self._news = self._news, self._follower.look(tuple(self._streams))
            # What only runs on is told with the beat.
            turned = any(
                page not in before or standing(said) != standing(before[page])
                for page, said in self._news.items()
            )
            if turned or monotonic() - told_at >= BEAT_S - LOOK_S / 2:
                told_at = monotonic()
                self._newer.set()
                self._newer = asyncio.Event()
