"""The rows and what they vouch for, read without an index: a damaged one leaves out what it
should find."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator

from cartclock.engine.store import codec
from cartclock.engine.store.schema import Head

# Hears what is being looked at, and how far that is, 0 to 1.
Progress = Callable[[str, float], None]

# So often it is said how far it is.
_EVERY_ROWS = 10_000


def nobody(_what: str, _part: float) -> None:
    """Hears nothing."""


class Chain:
    """What is told of every row of a log, of its private texts and its plans.

    Args:
        db: of the log; damaged text must come as text (`text_factory`), to be named.
        told: hears how far it is.

    Fields, once `faults` was read to its end:
        heads: origin -> its newest row.
        entered: when presses were entered, job time.
    """

    def __init__(self, db: sqlite3.Connection, told: Progress = nobody) -> None:
        self._db, self._told = db, told
        self.heads: dict[str, Head] = {}
        self.entered: set[int] = set()

    def faults(self, own: str) -> Iterator[str]:
        """Every broken link, one sentence without full stop each.

        Named by seq: rows missing, changed or not following on, private texts that are not the
        ones sealed or that no row speaks of. Then plan texts that do not match their digest.

        own: the origin of this log.
        """
        private = {
            ref: codec.commitment(salt, text)
            for ref, salt, text in self._db.execute(
                "SELECT ref, salt, text FROM private NOT INDEXED"
            )
        }
        (count,) = self._db.execute("SELECT count(*) FROM rows NOT INDEXED").fetchone()
        named = self._db.execute("SELECT DISTINCT origin FROM rows NOT INDEXED")
        origins = [origin for (origin,) in named]
        if origins and own not in origins:
            yield f"row 0: is missing, and every other row of installation {own}"
        spoken_of: set[str] = set()
        asked = (
            f"SELECT {', '.join(codec.COLUMNS)} FROM rows NOT INDEXED WHERE origin = ? ORDER BY seq"
        )
        for origin in origins:
            lines = self._read(self._db.execute(asked, (origin,)), origin, count)
            of = "" if origin == own else f"installation {origin}, "
            links = codec.broken_links(lines, private, spoken_of)
            yield from (of + link for link in links)
        for ref in sorted(private.keys() - spoken_of, key=str):
            yield f"private text {ref}: no row speaks of it"
        plans = self._db.execute("SELECT sha256, text FROM plan_text NOT INDEXED")
        for sha256, text in plans:
            if codec.sha256_of(text.encode()) != sha256:
                yield f"plan text {sha256}: is not what was written, its digest differs"

    def _read(
        self, lines: Iterator[codec.Stored], origin: str, count: int
    ) -> Iterator[codec.Stored]:
        for index, line in enumerate(lines):
            if index % _EVERY_ROWS == 0:
                self._told("the rows", index / count)
            self.heads[origin] = Head(line[1], line[-1])
            self.entered.add(line[9])
            yield line
