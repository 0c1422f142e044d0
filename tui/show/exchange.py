"""One connection: the request that comes, the answer or the stream of events that goes.

h11 reads and writes HTTP; here is how much and how long is waited for.
"""

from __future__ import annotations

import asyncio

import h11
from msgspec import Struct

_CHUNK = 4096

HEADERS = (
    (
        "Content-Security-Policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
        "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
        "require-trusted-types-for 'script'; trusted-types 'none'",
    ),
    ("X-Content-Type-Options", "nosniff"),
    ("X-Frame-Options", "DENY"),
    ("Referrer-Policy", "no-referrer"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Permissions-Policy", "camera=(), geolocation=(), microphone=()"),
    ("Cache-Control", "no-store"),
    ("Connection", "close"),
)
"""What every answer says: nothing of a page comes from elsewhere, goes elsewhere or is kept."""


class Limits(Struct, frozen=True):
    """How much is taken on, all of it our own judgement.

    Fields:
        streams: of each page at a time.
        connections: at a time, streams left out; of one sender: so many of them.
        a_second: connections that are taken a second, `at_once` of them together.
        head_bytes: of a request. head_s: until it must be there.
        write_s: until what is written must be on its way.
    """

    streams: int = 8
    connections: int = 32
    of_one_sender: int = 16
    a_second: float = 20.0
    at_once: int = 40
    head_bytes: int = 8192
    head_s: float = 5.0
    write_s: float = 5.0


class Exchange:
    """A request and its answer.

    Args:
        reader, writer: of the connection.
    """

    def __init__(
        self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter, limits: Limits
    ) -> None:
        self._reader, self._writer, self._limits = reader, writer, limits
        self._http = h11.Connection(h11.SERVER, max_incomplete_event_size=limits.head_bytes)

    async def request(self) -> h11.Request | None:
        """The request; None if whoever asked went away first.

        Raises TimeoutError if it does not come, h11.RemoteProtocolError if it is none or too long,
        OSError.
        """
        async with asyncio.timeout(self._limits.head_s):
            while True:
                event = self._http.next_event()
                if event is h11.NEED_DATA:
                    self._http.receive_data(await self._reader.read(_CHUNK))
                elif isinstance(event, h11.Request):
                    return event
                else:
                    return None

    async def answer(
        self,
        status: int,
        kind: str,
        content: bytes,
        head: bool = False,
        more: tuple[tuple[str, str], ...] = (),
    ) -> None:
        """The whole answer. Raises TimeoutError if nobody takes it, OSError.

        Args:
            kind: the media type of the content.
            head: True if its headers alone are asked for.
            more: headers that this answer alone has.
        """
        if self._http.our_state not in (h11.IDLE, h11.SEND_RESPONSE):
            return
        headers = [
            *HEADERS,
            *more,
            ("Content-Type", kind),
            ("Content-Length", str(len(content))),
        ]
        await self._send(h11.Response(status_code=status, headers=headers))
        if content and not head:
            await self._send(h11.Data(content))
        await self._send(h11.EndOfMessage())

    async def begin_stream(self) -> None:
        """The beginning of a stream of events. Raises as `say` does."""
        await self._send(
            h11.Response(status_code=200, headers=[*HEADERS, ("Content-Type", "text/event-stream")])
        )

    async def say(self, content: bytes) -> None:
        """More of the stream. Raises TimeoutError if nobody takes it, OSError if nobody is there
        any more.
        """
        if self._reader.at_eof():
            raise ConnectionResetError
        await self._send(h11.Data(content))

    async def _send(self, event: h11.Event) -> None:
        self._writer.write(self._http.send(event) or b"")
        async with asyncio.timeout(self._limits.write_s):
            await self._writer.drain()
