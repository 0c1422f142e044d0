"""Pictures in words: what stands under one, and what stands in its place."""

from __future__ import annotations

from cartclock.engine.dates import spoken
from cartclock.engine.vehicle.picture import Picture

PICTURES = "Pictures"
# Enough of a digest to find the file by.
_DIGITS = 12


def caption(picture: Picture, zone: str) -> str:
    """Section, what it was taken for or its kind, when attached, the beginning of its digest."""
    parts = (picture.section, picture.shows or picture.what, spoken(picture.at_us, zone))
    said = ", ".join(part for part in parts if part)
    return f"{said}, {picture.sha256[:_DIGITS]}" if picture.sha256 else said


def absence(picture: Picture, zone: str, why: str) -> str:
    """A sentence for a picture that is not shown; why: the reason, without full stop."""
    name = f"{picture.name}, " if picture.name else ""
    return f"Not shown: {name}{caption(picture, zone)}: {why}."
