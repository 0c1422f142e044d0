"""How much the second screen takes on: slow ones, large ones, many at a time."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import AsyncIterator, Collection, Mapping
from contextlib import asynccontextmanager
from ipaddress import ip_address
from time import monotonic
from typing import cast

import pytest

from cartclock.tui.show.addresses import site, token
from cartclock.tui.show.exchange import Limits
from cartclock.tui.show.follow import CART, CUSTOMER, Follower, Page
from cartclock.tui.show.refusals import TELL_S, Refusals
from cartclock.tui.show.seen import LostPage
from cartclock.tui.show.server import Server
from cartclock.tui.show.web import page_files

pytestmark = pytest.mark.waits

KEY = bytes(32)
PATIENCE_S = 10.0


class Still:
    """Says the same of every page, and as much as it is told to."""

    def __init__(self, length: int = 5) -> None:
        self.looked, self.text = 0, "x" * length

    def look(self, pages: Collection[str]) -> Mapping[str, Page]:
        self.looked += 1
        return dict.fromkeys(pages, LostPage(self.text))


class Serving:
    """A server on a port of this computer."""

    def __init__(self, server: Server, listening: socket.socket, follower: Still) -> None:
        self.server, self.follower = server, follower
        self.port: int = listening.getsockname()[1]
        self.told: list[str] = []

    @property
    def counts(self) -> Mapping[str, int]:
        return {why: count for why, count in self.server.refusals.counts.items() if count}

    def head(self, page: str = CART, file: str = "events") -> bytes:
        """A request for a file of a page."""
        host = f"127.0.0.1:{self.port}"
        return f"GET /{token(KEY, page)}/{file} HTTP/1.1\r\nHost: {host}\r\n\r\n".encode()

    async def send(self, content: bytes) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
        reader, writer = await asyncio.open_connection("127.0.0.1", self.port)
        writer.write(content)
        await writer.drain()
        return reader, writer

    async def status(self, content: bytes) -> bytes:
        """The first line of the answer; what was sent may be cut off."""
        reader, writer = await self.send(content)
        try:
            return (await asyncio.wait_for(reader.readline(), PATIENCE_S)).strip()
        except ConnectionResetError:
            return b""
        finally:
            writer.close()


@asynccontextmanager
async def serving(limits: Limits, follower: Still | None = None) -> AsyncIterator[Serving]:
    listening = socket.create_server(("127.0.0.1", 0), backlog=16)
    there = site(KEY, [CART, CUSTOMER], ip_address("127.0.0.1"), listening.getsockname()[1])
    follower = follower or Still()
    told: list[str] = []
    server = Server(there, page_files, cast(Follower, follower), told.append, limits)
    found = Serving(server, listening, follower)
    found.told = told
    task = asyncio.create_task(server.serve(listening))
    try:
        yield found
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        listening.close()


async def test_who_sends_slowly_is_let_go() -> None:
    async with serving(Limits(head_s=0.2)) as there:
        began = monotonic()
        reader, writer = await there.send(b"GET / HTTP/1.1\r\nHost: a")
        assert await asyncio.wait_for(reader.read(), PATIENCE_S) == b""
        assert 0.15 < monotonic() - began < 2.0
        assert there.counts == {"slow": 1}
        writer.close()


async def test_what_is_no_request_or_too_long_is_refused() -> None:
    async with serving(Limits(head_bytes=2048)) as there:
        bad = b"HTTP/1.1 400"
        assert (await there.status(b"\x16\x03\x01\x02\x00\r\n\r\n")).startswith(bad)
        assert (await there.status(b"GET / HTTP/1.1\r\nA: " + b"x" * 4096)).startswith(bad)
        assert (await there.status(b"GET / HTTP/1.1\r\n" + b"a: b\r\n" * 900)).startswith(bad)
        assert there.counts == {"request": 3}


async def test_streams_of_a_page_are_few_and_leave_the_other_pages_free() -> None:
    async with serving(Limits(streams=2)) as there:
        open_ = [await there.send(there.head()) for _ in range(2)]
        for reader, _writer in open_:
            assert (await reader.readline()).startswith(b"HTTP/1.1 200")
        assert (await there.status(there.head())).startswith(b"HTTP/1.1 503")
        assert (await there.status(there.head(CUSTOMER))).startswith(b"HTTP/1.1 200")
        assert there.counts == {"too many": 1}
        # One that goes makes room for another.
        open_[0][1].close()
        for _ in range(40):
            await asyncio.sleep(0.1)
            if (await there.status(there.head())).startswith(b"HTTP/1.1 200"):
                break
        else:
            raise AssertionError("There never was room again.")
        open_[1][1].close()


async def test_connections_that_ask_nothing_are_few_and_a_stream_goes_on() -> None:
    async with serving(Limits(connections=4, at_once=100)) as there:
        reader, writer = await there.send(there.head())
        await reader.readuntil(b"\n\n")
        idle = [await there.send(b"") for _ in range(12)]
        gone = 0
        for one, _writer in idle:
            try:
                await asyncio.wait_for(one.read(1), 0.2)
                gone += 1
            except (TimeoutError, ConnectionResetError) as why:
                gone += isinstance(why, ConnectionResetError)
        assert gone == 8
        assert there.counts == {"too many": 8}
        assert b"data: " in await asyncio.wait_for(reader.readuntil(b"\n\n"), PATIENCE_S)
        for _reader, other in [*idle, (reader, writer)]:
            other.close()


async def test_connections_are_taken_at_a_pace() -> None:
    async with serving(Limits(a_second=20.0, at_once=4)) as there:
        began = monotonic()
        statuses = [await there.status(there.head(CART, "")) for _ in range(14)]
        assert all(one.startswith(b"HTTP/1.1 200") for one in statuses)
        # Four at once and ten more at twenty a second.
        assert monotonic() - began > 0.4


async def test_who_takes_nothing_of_a_stream_is_let_go() -> None:
    # More than the system keeps for somebody who reads nothing.
    async with serving(Limits(write_s=0.3), Still(1 << 24)) as there:
        stalled = socket.create_connection(("127.0.0.1", there.port))
        stalled.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        stalled.sendall(there.head())
        for _ in range(100):
            await asyncio.sleep(0.1)
            if there.counts:
                break
        assert there.counts == {"slow": 1}
        stalled.close()


async def test_nothing_is_looked_for_while_nobody_looks_on() -> None:
    class Counting(Still):
        def look(self, pages: Collection[str]) -> Mapping[str, Page]:
            self.looked += bool(pages)
            return super().look(pages) if pages else {}

    async with serving(Limits(), Counting()) as there:
        await asyncio.sleep(0.6)
        assert there.follower.looked == 0


def test_a_flood_of_refusals_is_a_line_a_minute() -> None:
    told: list[str] = []
    now = 0.0
    refusals = Refusals(told.append, lambda: now)
    for _ in range(5_000):
        now += 0.1
        refusals.note("address")
        refusals.tell_waiting()
    assert refusals.counts["address"] == 5_000
    assert len(told) == 1 + int(500 // TELL_S)
    assert told[:2] == [
        "Refused: an address that opens no page.",
        "Refused: an address that opens no page, 600 times.",
    ]
