"""The log of a session as a whole, where the path of a file is one beside its script."""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace

from cartclock.demo_sessions.script import files_of
from cartclock.engine.desk.shop import Attachment, Shop, unheard
from cartclock.engine.store.library import Library
from cartclock.engine.store.log import Log


class SessionShop(Shop):
    """A shop whose files are those of a session.

    Their paths are kept as they were typed, so that a log is the same wherever it is played.
    """

    def __init__(self, name: str, log: Log, library: Library) -> None:
        super().__init__(log, library=library)
        self._folder = files_of(name)

    def attachment(self, path: str, told: Callable[[int, int], object] = unheard) -> Attachment:
        """The file of the session called so; raises Refused as any other."""
        return replace(super().attachment(str(self._folder / path), told), path=path)
