"""Every shift in one line."""

from __future__ import annotations

from typing import ClassVar, get_args

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.hours.partition import PieceKind
from cartclock.engine.hours.summary import ShiftLine, shift_line

_LENGTHS: tuple[PieceKind, ...] = get_args(PieceKind)
_COLUMNS = ", ".join(f"{kind.replace(' ', '_')}_time_us INTEGER NOT NULL" for kind in _LENGTHS)


class ShiftLines(View[ShiftLine]):
    """The shifts as a table; a shift whose clocking on was struck has no line."""

    name, version, of = "shift_line", 1, "shift"
    kinds = frozenset(tag for tag, kind in ev.KINDS.items() if kind.of != "cart")
    tables: ClassVar = {
        "shift_line": (
            "CREATE TABLE shift_line (id TEXT PRIMARY KEY, worker TEXT NOT NULL,"
            " zone TEXT NOT NULL, place TEXT NOT NULL, on_us INTEGER NOT NULL, off_us INTEGER,"
            f" {_COLUMNS}) STRICT, WITHOUT ROWID",
            "CREATE INDEX shift_line_on ON shift_line (worker, on_us DESC)",
        ),
    }

    def part(self, seen: Subject) -> ShiftLine:
        return shift_line(seen.shift, seen.jobs)

    def lines(self, id_: str, part: ShiftLine) -> list[TableLine]:
        lengths = (part.lengths.get(kind, 0) for kind in _LENGTHS)
        said = (part.worker, part.zone, part.place, part.on_us, part.off_us)
        return [("shift_line", (id_, *said, *lengths))]


SHIFTS = ShiftLines()
