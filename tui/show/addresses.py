"""Which page an address opens, and which requests are answered at all.

A page's address holds a token that is made of the key and of what the page is of, so that one
address says nothing of another.
"""

from __future__ import annotations

import base64
import hmac
import re
from collections.abc import Iterable, Mapping, Sequence
from ipaddress import IPv4Address, IPv6Address
from typing import Literal

from msgspec import Struct

# 128 bits, as long in an address as a word can be told by eye from another. Our own judgement.
_TOKEN_BYTES = 16
_PATH = re.compile(rb"/([A-Za-z0-9_-]{22})(/(|page\.css|page\.js|events))?")

Address = IPv4Address | IPv6Address
File = Literal["", "page.css", "page.js", "events"]
Why = Literal["address", "host", "origin", "request", "too many", "slow"]
"""Why a request is refused: its address is none of ours, it was sent to another name than ours or
by another page, it is none that is answered, there are too many, it comes too slowly."""

_FILES: dict[bytes, File] = {
    b"": "",
    b"page.css": "page.css",
    b"page.js": "page.js",
    b"events": "events",
}
STATUS: dict[Why, int] = {
    "address": 404,
    "host": 421,
    "origin": 403,
    "request": 400,
    "too many": 503,
    "slow": 408,
}
"""Why a request is refused -> status: IETF RFC 9110, section 15."""


def token(key: bytes, page: str) -> str:
    """The token of a page, 22 letters of RFC 4648, section 5.

    page: what it is of: "cart", or "customer/" and the id of a job.
    """
    made = hmac.digest(key, page.encode(), "sha256")[:_TOKEN_BYTES]
    return base64.urlsafe_b64encode(made).decode().rstrip("=")


def host_of(address: Address, port: int) -> str:
    """Address and port as a browser writes them: RFC 3986, section 3.2."""
    host = f"[{address}]" if address.version == 6 else str(address)
    return f"{host}:{port}"


class Site(Struct, frozen=True):
    """What is served, and under which names.

    Fields:
        hosts: names with their ports by which a browser may ask; no other name leads here, so a
            foreign name that was pointed at this computer opens nothing.
        pages: token -> what the page is of.
    """

    hosts: frozenset[str]
    pages: Mapping[str, str]


def site(key: bytes, pages: Iterable[str], address: Address, port: int) -> Site:
    """The site of these pages at one address."""
    names = [host_of(address, port)]
    if address.is_loopback:
        names.append(f"localhost:{port}")
    if port == 80:
        # A browser leaves out the port of the scheme.
        names += [name.removesuffix(":80") for name in names]
    return Site(frozenset(names), {token(key, page): page for page in pages})


class Opened(Struct, frozen=True):
    """What a request opens.

    Fields:
        page: what the page is of; file: which of its files.
        whole: False where only the slash at the end of its address is missing.
    """

    page: str
    file: File
    whole: bool = True


def opened(
    there: Site, method: bytes, target: bytes, headers: Sequence[tuple[bytes, bytes]]
) -> Opened | Why:
    """What a request opens, or why it is refused.

    headers: names in small letters, with what they say.
    """
    found: dict[bytes, list[bytes]] = {}
    for name, value in headers:
        found.setdefault(name, []).append(value)
    if method not in (b"GET", b"HEAD") or b"transfer-encoding" in found:
        return "request"
    if any(length != b"0" for length in found.get(b"content-length", ())):
        return "request"
    names = found.get(b"host", [])
    if len(names) != 1 or names[0].decode("latin-1").lower() not in there.hosts:
        return "host"
    origins = {f"http://{host}".encode() for host in there.hosts}
    if not origins.issuperset(found.get(b"origin", ())):
        return "origin"
    path = _PATH.fullmatch(target)
    page = _page(there, b"" if path is None else path[1])
    if path is None or not page:
        return "address"
    if path[2] is None:
        return Opened(page, "", whole=False)
    file = _FILES[path[3]]
    return Opened(page, file) if _own(file, found) else "origin"


def _page(there: Site, asked: bytes) -> str:
    """What the page of a token is of; "" for none. Takes as long for each token."""
    page = ""
    for one, named in there.pages.items():
        if hmac.compare_digest(one.encode(), asked):
            page = named
    return page


def _own(file: File, headers: Mapping[bytes, Sequence[bytes]]) -> bool:
    """Whether a browser that says what it asks for asks for a page of its own, or for a part of
    the page it shows: W3C Fetch Metadata Request Headers.
    """
    if file == "":
        return set(headers.get(b"sec-fetch-dest", ())) <= {b"document", b"empty"}
    return set(headers.get(b"sec-fetch-site", ())) <= {b"same-origin"}
