"""What a paper shows that is no text, for whatever medium can show it."""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from cartclock.engine.vehicle.picture import Picture


class Pictures(Struct, frozen=True):
    """What was attached; `load` reads the files, only where they are shown."""

    load: Callable[[], tuple[Picture, ...]]
    zone: str


Drawing = Pictures
"""All that a medium may leave out, because words say it as well."""
