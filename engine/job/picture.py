"""A picture that belongs to a job: as it was when it was attached, or the reason why not."""

from __future__ import annotations

from msgspec import Struct


class Picture(Struct, frozen=True):
    """One attached photo.

    Fields:
        at_us: when it was attached.
        name: of the file, without its folders; "" if its path was forgotten.
        section: what it shows; "" if nobody said.
        sha256: of what was attached, hex.
        media: its media type (RFC 2046), "image/jpeg" or the like; "" without content.
        content: the bytes of that digest; empty if they cannot be shown.
        why: without content the reason, without full stop; "" otherwise.
    """

    at_us: int
    name: str
    section: str
    sha256: str
    media: str = ""
    content: bytes = b""
    why: str = ""
