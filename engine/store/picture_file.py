"""Attached photos read back for a paper: the very bytes that were attached, or none.

A file is known by its digest. One that was moved, changed or cannot be shown is named with
the reason; another one never takes its place.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path

from engine.job.picture import Picture
from engine.job.record import FORGOTTEN
from engine.job.vehicle import Attached

# A page with more than a few of these can no longer be sent by mail; our own judgement.
MOST_BYTES = 5_000_000


def pictures(files: Iterable[Attached]) -> tuple[Picture, ...]:
    """Every attached photo, in the order in which they were attached; other files are left out."""
    return tuple(_picture(file) for file in files if file.what == "photo")


def _picture(file: Attached) -> Picture:
    if file.path in ("", FORGOTTEN):
        return Picture(file.at_us, "", file.section, file.sha256, why="its path was forgotten")
    path = Path(file.path)

    def without(why: str) -> Picture:
        return Picture(file.at_us, path.name, file.section, file.sha256, why=why)

    try:
        # A pipe or a device would never come to an end.
        if not path.is_file():
            return without("not where it was when it was attached")
        size = path.stat().st_size
        if size > MOST_BYTES:
            return without(f"{size / 1e6:.1f} MB; at most {MOST_BYTES // 1_000_000} MB are shown")
        with path.open("rb") as opened:
            content = opened.read(MOST_BYTES + 1)
    except (OSError, ValueError) as why:
        return without(f"it cannot be read: {getattr(why, 'strerror', None) or 'no path'}")
    if hashlib.sha256(content).hexdigest() != file.sha256:
        return without("changed since it was attached")
    media = media_type(content)
    if not media:
        return without("not a JPEG, PNG, GIF or WebP picture")
    return Picture(file.at_us, path.name, file.section, file.sha256, media, content)


def media_type(content: bytes) -> str:
    """The media type by the first bytes, whatever the name says; "" for what no page shows.

    Signatures: JPEG ITU-T T.81 (SOI marker), PNG ISO/IEC 15948 5.2, GIF89a specification 17,
    WebP RFC 9649 section 2.4.
    """
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content.startswith((b"GIF87a", b"GIF89a")):
        return "image/gif"
    if content.startswith(b"RIFF") and content[8:12] == b"WEBP":
        return "image/webp"
    return ""
