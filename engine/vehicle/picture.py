"""A picture that belongs to a job: as it was when it was attached, or the reason why not."""

from __future__ import annotations

import zlib

from msgspec import Struct

from cartclock.engine.times import Instant

# A picture of more pixels takes too much memory to be drawn; our own judgement.
MOST_PIXELS = 80_000_000

PHOTOS = frozenset([".jpg", ".jpeg", ".png", ".heic", ".heif", ".webp", ".tif", ".tiff", ".dng"])
"""What a camera writes, as names end; every other name is a file. Common practice, no source."""

_HEIC = (b"heic", b"heix", b"hevc", b"mif1", b"msf1")
_JPEG = b"\xff\xd8\xff"
_PNG = b"\x89PNG\r\n\x1a\n"
# Markers of a frame: all of 0xC0 to 0xCF but those of tables and of the arithmetic coding.
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_SCAN, _END = 0xDA, b"\xff\xd9"
# Markers that stand alone, without a length behind them.
_ALONE = frozenset((0x01, *range(0xD0, 0xD9)))


class PhotoFile(Struct, frozen=True):
    """A photo that lies in a folder and belongs to no job yet.

    Fields:
        path: where it lies; name: without its folders.
        at_s: when it was written, in seconds since 1970 by the clock of whatever wrote it.
    """

    path: str
    name: str
    at_s: float


class Picture(Struct, frozen=True):
    """One attached photo.

    Fields:
        at_us: when it was attached.
        name: of the file, without its folders; "" if its path was forgotten.
        section: what it shows; "" if nobody said.
        sha256: of what was attached, hex.
        media: its media type (RFC 2046), "image/jpeg" or "image/png"; "" without content.
        content: the bytes of that digest; empty if they cannot be shown.
        why: without content the reason, without full stop; "" otherwise.
        what: its kind as it was attached.
        shows: what it was taken for; "" if nobody said.
    """

    at_us: Instant
    name: str
    section: str
    sha256: str
    media: str = ""
    content: bytes = b""
    why: str = ""
    what: str = "photo"
    shows: str = ""


def media_type(content: bytes) -> str:
    """The media type by the first bytes, whatever the name says; "" for what no paper shows.

    Signatures: JPEG ITU-T T.81 (SOI marker), PNG ISO/IEC 15948 5.2.
    """
    if content.startswith(_JPEG):
        return "image/jpeg"
    return "image/png" if content.startswith(_PNG) else ""


def _is_heic(content: bytes) -> bool:
    """True of pictures in the container of ISO/IEC 23008-12: its box of the type comes first,
    with one of the brands that phones write (from memory).
    """
    return content[4:8] == b"ftyp" and content[8:12] in _HEIC


def picture_fault(content: bytes) -> str:
    """Why the bytes are no whole JPEG or PNG picture, without full stop; "" if they are one.

    The frame around the picture is looked at, not every pixel.
    """
    media = media_type(content)
    if _is_heic(content):
        return "a HEIC picture, which no paper can read; a copy of it as JPEG can be attached"
    if not media:
        return "not a JPEG or PNG picture"
    size = _png_size(content) if media == "image/png" else _jpeg_size(content)
    if size is None or not size[0] or not size[1]:
        return "broken or not whole"
    pixels = size[0] * size[1]
    if pixels > MOST_PIXELS:
        many = f"{pixels / 1e6:.0f} million pixels"
        return f"{many}; at most {MOST_PIXELS // 1_000_000} million are shown"
    return ""


def _png_size(content: bytes) -> tuple[int, int] | None:
    """Width and height if every chunk is whole and its check is right (ISO/IEC 15948 5.3)."""
    at, size, drawn = len(_PNG), None, False
    while at + 12 <= len(content):
        length = int.from_bytes(content[at : at + 4], "big")
        kind, end = content[at + 4 : at + 8], at + 8 + length
        check = content[end : end + 4]
        if len(check) < 4 or zlib.crc32(content[at + 4 : end]) != int.from_bytes(check, "big"):
            return None
        if size is None:
            if kind != b"IHDR" or length != 13:
                return None
            width, height = content[at + 8 : at + 12], content[at + 12 : at + 16]
            size = int.from_bytes(width, "big"), int.from_bytes(height, "big")
        drawn = drawn or kind == b"IDAT"
        if kind == b"IEND":
            return size if drawn else None
        at = end + 4
    return None


def _jpeg_size(content: bytes) -> tuple[int, int] | None:
    """Width and height if a frame, a scan and an end are there (ITU-T T.81 B.1 and B.2)."""
    at, size = 2, None
    while at + 4 <= len(content):
        if content[at] != 0xFF:
            return None
        marker = content[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker in _ALONE:
            at += 2
            continue
        length = int.from_bytes(content[at + 2 : at + 4], "big")
        if marker == _SCAN:
            return size if content.find(_END, at) >= 0 else None
        if marker in _FRAMES and at + 9 <= len(content):
            height, width = content[at + 5 : at + 7], content[at + 7 : at + 9]
            size = int.from_bytes(width, "big"), int.from_bytes(height, "big")
        at += 2 + max(length, 2)
    return None
