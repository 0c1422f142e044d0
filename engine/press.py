"""Which press: known by the log it stands in and its number there, never by the number alone."""

from __future__ import annotations

from typing import NamedTuple


class Press(NamedTuple):
    """A press of any log.

    Fields:
        origin: identity of the installation that wrote it.
        seq: sequence number of its first row.
    """

    origin: str
    seq: int

    def __str__(self) -> str:
        return str(self.seq)
