"""Small pictures, made byte by byte or by the printing library's own."""

from __future__ import annotations

import hashlib
import struct
import zlib
from io import BytesIO

from PIL import Image

from cartclock.engine.vehicle.picture import Picture, media_type


def chunk(kind: bytes, body: bytes) -> bytes:
    """A chunk of PNG (ISO/IEC 15948 5.3)."""
    check = zlib.crc32(kind + body)
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", check)


def png(width: int = 4, height: int = 3, rows: bytes | None = None) -> bytes:
    """A green picture of that size; rows: what is packed in its place."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    if rows is None:
        rows = zlib.compress((b"\0" + b"\x20\x80\x40" * width) * height)
    parts = (chunk(b"IHDR", head), chunk(b"IDAT", rows), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def jpeg(width: int = 40, height: int = 20, turned: int = 1, place: str = "") -> bytes:
    """A JPEG picture; turned: its orientation (Exif 2.32 4.6.4), place: words beside it."""
    beside = Image.Exif()
    beside[0x0112] = turned
    if place:
        beside[0x010E] = place
    packed = BytesIO()
    Image.new("RGB", (width, height), "green").save(packed, "JPEG", exif=beside)
    return packed.getvalue()


def picture(content: bytes, section: str = "bonnet", why: str = "", name: str = "a.jpg") -> Picture:
    """That content as attached at the first second of a shift of tests."""
    sha256 = hashlib.sha256(content).hexdigest()
    return Picture(1_790_000_000_000_000, name, section, sha256, media_type(content), content, why)
