"""Attached photos read back for a paper: the very bytes that were attached, or none.

A file is known by its digest. One that was moved, changed or cannot be shown is named with
the reason; another one never takes its place. What a paper gets of a large one is a smaller
picture of it (`thumbnail.py`).
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts.sealed import FORGOTTEN
from cartclock.engine.store.laptop.thumbnail import is_large, thumbnail
from cartclock.engine.vehicle.picture import Picture, media_type, picture_fault
from cartclock.engine.vehicle.vehicle import Attached

# What a camera writes is smaller, and what takes longer to read would hold up a paper. Our own
# judgement.
MOST_BYTES = 40_000_000
# All pictures of one paper together; a browser still opens it. Our own judgement.
MOST_TOGETHER_BYTES = 60_000_000


def pictures(files: Iterable[Attached]) -> tuple[Picture, ...]:
    """Every attached photo, in the order in which they were attached; other files are left out."""
    found: list[Picture] = []
    room = MOST_TOGETHER_BYTES
    for file in files:
        if file.what != "photo":
            continue
        one = _picture(file)
        if len(one.content) > room:
            why = (
                f"the pictures before it fill the {MOST_TOGETHER_BYTES // 1_000_000} MB of a paper"
            )
            one = replace(one, media="", content=b"", why=why)
        room -= len(one.content)
        found.append(one)
    return tuple(found)


def _picture(file: Attached) -> Picture:
    if file.path in ("", FORGOTTEN):
        return Picture(file.at_us, "", file.section, file.sha256, why="its path was forgotten")
    path = Path(file.path)

    def without(why: str) -> Picture:
        return Picture(file.at_us, path.name, file.section, file.sha256, why=why, shows=file.shows)

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
    broken = picture_fault(content)
    if broken:
        return without(broken)
    if is_large(content):
        content = thumbnail(content)
        if not content:
            return without("broken or not whole")
    media = media_type(content)
    return Picture(
        file.at_us, path.name, file.section, file.sha256, media, content, shows=file.shows
    )
