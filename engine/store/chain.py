"""The rows and what they vouch for, read without an index: a damaged one leaves out what it
should find."""

from __future__ import annotations

import sqlite3
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator

from cartclock.engine.facts.events import TAGS, JobImported
from cartclock.engine.facts.imported import ImportedRows
from cartclock.engine.store import codec
from cartclock.engine.store.schema import Head

# Hears what is being looked at, and how far that is, 0 to 1.
Progress = Callable[[str, float], None]

# So often it is said how far it is.
_EVERY_ROWS = 10_000
_IMPORTED = TAGS[JobImported]


def nobody(_what: str, _part: float) -> None:
    """Hears nothing."""


class Chain:
    """What is told of every row of a log, of its private texts and its plans.

    Args:
        db: of the log; damaged text must come as text (`text_factory`), to be named.
        told: hears how far it is.

    Fields, once `faults` was read to its end:
        heads: origin -> its newest row.
        entered: when presses of this log were entered, job time.
    """

    def __init__(self, db: sqlite3.Connection, told: Progress = nobody) -> None:
        self._db, self._told = db, told
        self.heads: dict[str, Head] = {}
        self.entered: set[int] = set()
        self._own = ""
        self._imports: list[ImportedRows] = []
        # Rows of other logs: origin and number -> digest.
        self._others: dict[tuple[str, int], str] = {}

    def faults(self, own: str) -> Iterator[str]:
        """Every broken link, one sentence without full stop each.

        Named by seq: rows missing, changed or not following on, private texts that are not the
        ones sealed or that no row speaks of. Then plan texts that do not match their digest. Of
        another log there are exactly the rows that imports speak of.

        own: the origin of this log.
        """
        self._own = own
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
            links = codec.broken_links(lines, private, spoken_of, whole=origin == own)
            yield from (of + link for link in links)
        if own in origins:
            yield from self._import_faults()
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
            if origin == self._own:
                self.entered.add(line[9])
                if line[6] == _IMPORTED:
                    event = codec.decode(line[6], line[7], line[15])
                    self._imports += event.parts if isinstance(event, JobImported) else ()
            else:
                self._others[origin, line[1]] = line[-1]
            yield line

    def _import_faults(self) -> Iterator[str]:
        """Rows of other logs that no import speaks of, and such as are not those that came."""
        here: dict[str, list[int]] = {}
        for origin, seq in sorted(self._others):
            here.setdefault(origin, []).append(seq)
        spoken: set[tuple[str, int]] = set()
        for part in self._imports:
            of = f"installation {part.origin}"
            held = here.get(part.origin, [])
            found: list[int] = []
            whole = True
            for first, last in part.runs:
                run = held[bisect_left(held, first) : bisect_right(held, last)]
                gap = next((at for at, seq in enumerate(run, first) if at != seq), first + len(run))
                if gap <= last:
                    whole = False
                    yield f"{of}, row {gap}: is missing"
                found += run
            spoken.update((part.origin, seq) for seq in found)
            digests = "".join(self._others[part.origin, seq] for seq in found)
            if whole and codec.sha256_of(digests.encode()) != part.sha256:
                yield f"{of}, rows {part.rows}: are not those that were imported"
        for origin, seq in sorted(self._others.keys() - spoken):
            yield f"installation {origin}, row {seq}: no import speaks of it"
