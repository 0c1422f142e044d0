"""Every shift in lines: itself, and how it served its jobs beside having them in hand."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime, time, timedelta
from typing import Any, ClassVar, get_args

from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.history.answers import HeatWeek
from cartclock.engine.history.shift_lines import ShiftLine, ShiftLines, lines_of_shift
from cartclock.engine.hours.partition import PieceKind
from cartclock.engine.store.codec import json_list
from cartclock.engine.store.library import KNOWN_SHIFTS, Library
from cartclock.engine.times import Length

# Of so many shifts the middle one is told, and of fewer than so many none. Our own judgement.
MOST_DAYS = 9
LEAST_DAYS = 3

_LENGTHS: tuple[PieceKind, ...] = get_args(PieceKind)
_NAMES = [f"{kind.replace(' ', '_')}_time_us" for kind in _LENGTHS]
ON_CLOCK = " + ".join(name for name in _NAMES if name != "off_time_us")
"""Time on the clock as SQL: all of a shift but what was told afterwards to be off."""

_COLUMNS = ", ".join(f"{name} INTEGER NOT NULL" for name in _NAMES)

# Job, stage of that job ("": none) and kind of time -> microseconds.
ServedTimes = dict[tuple[str, str, PieceKind], int]


class Shifts(View[ShiftLines]):
    """The shifts as tables; a shift whose clocking on was struck has no line."""

    name, version, of = "shift_line", 2, "shift"
    kinds = frozenset(tag for tag, kind in ev.KINDS.items() if kind.of != "cart")
    tables: ClassVar = {
        "shift_line": (
            "CREATE TABLE shift_line (id TEXT PRIMARY KEY, worker TEXT NOT NULL,"
            " zone TEXT NOT NULL, place TEXT NOT NULL, day TEXT NOT NULL, week TEXT NOT NULL,"
            f" on_us INTEGER NOT NULL, off_us INTEGER, {_COLUMNS}, heat_rest_us INTEGER NOT NULL,"
            " meal_us INTEGER NOT NULL, caution_us INTEGER NOT NULL, over_us INTEGER NOT NULL,"
            " peak_c REAL, drinks_ml INTEGER NOT NULL) STRICT, WITHOUT ROWID",
            "CREATE INDEX shift_line_day ON shift_line (worker, day DESC)",
        ),
        "served_line": (
            "CREATE TABLE served_line (id TEXT NOT NULL, job TEXT NOT NULL, stage TEXT NOT NULL,"
            " kind TEXT NOT NULL, length_us INTEGER NOT NULL,"
            " PRIMARY KEY (id, job, stage, kind)) STRICT, WITHOUT ROWID",
            "CREATE INDEX served_line_job ON served_line (job, stage, kind, id, length_us)",
        ),
    }

    def part(self, seen: Subject) -> ShiftLines:
        return lines_of_shift(seen.shift, seen.jobs)

    def lines(self, id_: str, part: ShiftLines) -> list[TableLine]:
        line = part.shift
        lengths = (line.lengths.get(kind, 0) for kind in _LENGTHS)
        said = (line.worker, line.zone, line.place, line.day, line.week, line.on_us, line.off_us)
        heat = (
            *(line.heat_rest_us, line.meal_us, line.caution_us, line.over_us),
            *(line.peak_c, line.drinks_ml),
        )
        found: list[TableLine] = [("shift_line", (id_, *said, *lengths, *heat))]
        found += [
            ("served_line", (id_, one.job, one.stage, one.kind, one.length_us))
            for one in part.served
        ]
        return found

    # Asking.

    def served(self, library: Library, jobs: Collection[str]) -> ServedTimes:
        """How long these jobs were served by all shifts without being in hand."""
        found: ServedTimes = {
            (job, stage, kind): length_us
            for job, stage, kind, length_us in library.rows(_SERVED, json_list(jobs))
        }
        for _id, part in library.parts(self):
            for one in part.served:
                if one.job in jobs:
                    key = (one.job, one.stage, one.kind)
                    found[key] = found.get(key, 0) + one.length_us
        return found

    def by_week(
        self, library: Library, worker: str, from_day: str, to_day: str
    ) -> tuple[HeatWeek, ...]:
        """The weeks of a worker's shifts that began on these days or between, in order."""
        weeks: dict[str, list[tuple[Any, ...]]] = {}
        for week, *told in library.rows(_BY_WEEK, worker, from_day, to_day):
            weeks.setdefault(week, []).append(tuple(told))
        for _id, part in library.parts(self):
            if part.shift.worker == worker and from_day <= part.shift.day <= to_day:
                weeks.setdefault(part.shift.week, []).append(_told(part.shift))
        return tuple(_week(week, weeks[week]) for week in sorted(weeks))

    def usual_hours(self, library: Library, worker: str) -> tuple[time | None, time | None]:
        """When the worker's days begin and end, by the middle one of the newest shifts that are
        over, without what was told to be off; (None, None) while there are too few.
        """
        return library.once(
            self, ("usual hours", worker), lambda: self._usual_hours(library, worker)
        )

    def _usual_hours(self, library: Library, worker: str) -> tuple[time | None, time | None]:
        found = library.rows(
            "SELECT on_us, off_us - off_time_us, zone FROM shift_line"
            " WHERE worker = ? AND off_us IS NOT NULL"
            f" AND {KNOWN_SHIFTS}"
            " ORDER BY day DESC LIMIT ?",
            worker,
            MOST_DAYS,
        )
        # What goes on would be reckoned anew with every press, and says nothing of when days end.
        found += [
            (part.shift.on_us, part.shift.on_us + part.shift.clock_us, part.shift.zone)
            for _id, part in library.parts(self, library.going_on)
            if part.shift.worker == worker and part.shift.off_us is not None
        ]
        newest = sorted(found, reverse=True)[:MOST_DAYS]
        if len(newest) < LEAST_DAYS:
            return None, None
        begins = sorted(local(on_us, zone).time() for on_us, _off_us, zone in newest)
        # Longer than a day is no day; a late one ends behind midnight.
        lengths = sorted(off_us - on_us for on_us, off_us, _zone in newest)
        begin, length_us = begins[len(begins) // 2], lengths[len(lengths) // 2]
        end = datetime.combine(date(2000, 1, 1), begin) + timedelta(microseconds=length_us)
        return begin.replace(second=0, microsecond=0), end.time().replace(second=0, microsecond=0)


def _told(line: ShiftLine) -> tuple[Any, ...]:
    """A shift as `_BY_WEEK` tells one."""
    return (
        *(1, line.clock_us, line.caution_us, line.over_us),
        *(line.heat_rest_us, line.drinks_ml, line.peak_c),
    )


def _week(week: str, told: list[tuple[Any, ...]]) -> HeatWeek:
    *columns, peaks = zip(*told, strict=True)
    shifts, clock_us, caution_us, over_us, rest_us, drinks_ml = map(sum, columns)
    known = [peak_c for peak_c in peaks if peak_c is not None]
    return HeatWeek(
        week=week,
        shifts=shifts,
        clock_us=Length(clock_us),
        caution_us=Length(caution_us),
        over_us=Length(over_us),
        heat_rest_us=Length(rest_us),
        drinks_ml=drinks_ml,
        peak_c=max(known, default=None),
    )


_SERVED = (
    "SELECT job, stage, kind, sum(length_us) FROM served_line"
    f" WHERE job IN (SELECT value FROM json_each(?)) AND {KNOWN_SHIFTS} GROUP BY job, stage, kind"
)
_BY_WEEK = (
    f"SELECT week, count(*), sum({ON_CLOCK}), sum(caution_us), sum(over_us),"
    " sum(heat_rest_us), sum(drinks_ml), max(peak_c) FROM shift_line"
    f" WHERE worker = ? AND day BETWEEN ? AND ? AND {KNOWN_SHIFTS} GROUP BY week"
)

SHIFTS = Shifts()
