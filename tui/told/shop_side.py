"""What there is to tell of the shop that this cart belongs to: read from what its sending left
beside the log, so that nothing on the screens waits for a network."""

from __future__ import annotations

from cartclock.engine.joined.carried import (
    Carried,
    ElsewhereJob,
    carried,
    carried_file,
    unsent_text,
)
from cartclock.engine.joined.handed import GivenThere, TakenElsewhere
from cartclock.engine.store.log import Log
from cartclock.engine.times import Instant


class ShopSide:
    """How it stands with the shop.

    Args:
        log: of this cart.
        zone: of the place of work.
    """

    def __init__(self, log: Log, zone: str) -> None:
        self._log, self._zone = log, zone
        # Which writing of the file was read last.
        self._read_ns = -1
        self._said: Carried | None = None

    def look(self) -> Carried | None:
        """What is known; read anew only where it was written anew. None without a shop."""
        try:
            written_ns = carried_file(self._log.path).stat().st_mtime_ns
        except OSError:
            self._read_ns, self._said = -1, None
            return None
        if written_ns != self._read_ns:
            self._read_ns, self._said = written_ns, carried(self._log.path)
        return self._said

    def unsent(self, now_us: Instant) -> str:
        """What there is to say of rows that wait, a sentence or two; "" if nothing."""
        return unsent_text(self.look(), self._log.head.seq, now_us, self._zone)

    @property
    def elsewhere(self) -> tuple[ElsewhereJob, ...]:
        """Jobs that are open on the other carts."""
        said = self.look()
        return () if said is None else said.open_jobs

    @property
    def taken(self) -> tuple[TakenElsewhere, ...]:
        """Jobs of this cart that another one has taken."""
        said = self.look()
        return () if said is None else said.taken

    @property
    def given(self) -> tuple[GivenThere, ...]:
        """Jobs that other carts gave away and this one may take."""
        said = self.look()
        return () if said is None else said.given
