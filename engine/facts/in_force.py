"""Which reading a shift goes by at an instant: the one rule of screens, gate, papers and learning.

A reading says what is so at a place, not what one hand knows: it holds for everybody on the
clock there, for every job, from the instant it was taken and for less than an hour. Whose shift
it stands in does not matter; what worker and papers are told is made of shifts that hold the
readings of their place (`with_readings`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, Row
from cartclock.engine.facts.shift import Shift
from cartclock.engine.times import Instant

STALE_US = HOUR_US
"""So long a reading is believed, microseconds. Our own judgement."""

LIKE_US = 36 * HOUR_US
"""So long it tells of the air of the day ahead, before that day's own is read. Our own judgement.
"""


def is_in_force(taken_us: Instant, at_us: Instant) -> bool:
    """True if a reading taken at one instant is believed at another: not before, not stale."""
    return 0 <= at_us - taken_us < STALE_US


def readings_taken(shift: Shift | None, at_us: Instant, *quantities: str) -> list[Row]:
    """The readings of a shift up to an instant, old ones too, the newest first.

    quantities: fields of `ReadingTaken` that each of them must have measured.
    """
    found = [
        row
        for row in (() if shift is None else shift.facts)
        if isinstance(row.event, ev.ReadingTaken)
        and row.at_us <= at_us
        and all(getattr(row.event, name) is not None for name in quantities)
    ]
    return sorted(found, key=lambda row: row.happened, reverse=True)


def newest_reading(shift: Shift | None, at_us: Instant, *quantities: str) -> Row | None:
    """The newest of `readings_taken`, in force or not; None if there is none."""
    return next(iter(readings_taken(shift, at_us, *quantities)), None)


def reading_in_force(
    shift: Shift | None, at_us: Instant, *quantities: str
) -> ev.ReadingTaken | None:
    """The newest reading that has these quantities, if it is believed at `at_us`; else None."""
    row = newest_reading(shift, at_us, *quantities)
    if row is None or not isinstance(row.event, ev.ReadingTaken):
        return None
    return row.event if is_in_force(row.at_us, at_us) else None


def _together(one: Shift, other: Shift) -> bool:
    """True if both were at the same place at one time, or within the hour that a reading holds."""
    reaches = other.off_us is None or other.off_us >= one.on_us - STALE_US
    begins = one.off_us is None or other.on_us <= one.off_us
    return reaches and begins and _place(one.on) == _place(other.on)


def _place(on: ev.ClockedOn) -> str:
    return " ".join(on.place.casefold().split())


def shift_before(shift: Shift, others: Iterable[Shift]) -> Shift | None:
    """The worker's last shift before this one, if it was at the same place and over for less than
    `LIKE_US` when this one began; else None.

    others: that shift at least; the one given, and any other, may be among them.
    """
    before = [one for one in others if one.worker == shift.worker and one.on_us < shift.on_us]
    last = max(before, key=lambda one: one.on_us, default=None)
    if last is None or last.off_us is None or shift.on_us >= last.off_us + LIKE_US:
        return None
    return last if _place(last.on) == _place(shift.on) else None


def with_readings(shift: Shift, others: Iterable[Shift]) -> Shift:
    """The shift with what was measured, and forecast, in other shifts at its place.

    others: at least those that share an instant with the shift or the hour before it; the shift
    itself, and any other, may be among them. What was measured more than an hour before it began
    or after its end stays out. The shift given stays as it is.
    """
    known = {row.identity for row in shift.facts}
    found = [
        row
        for other in others
        if other.id != shift.id and _together(shift, other)
        for row in other.facts
        if row.identity not in known and _reaches(row, shift)
    ]
    if not found:
        return shift
    return replace(shift, facts=sorted([*shift.facts, *found], key=lambda row: row.happened))


def _reaches(row: Row, shift: Shift) -> bool:
    if shift.off_us is not None and row.at_us > shift.off_us:
        return False
    # A forecast is of the whole day; whether of this one, its reader asks.
    return isinstance(row.event, ev.DayExpected) or (
        isinstance(row.event, ev.ReadingTaken | ev.RoofSaid) and row.at_us > shift.on_us - STALE_US
    )


def with_all_readings(shifts: Mapping[str, Shift]) -> dict[str, Shift]:
    """These shifts, by id, each `with_readings` of the others."""
    return {id_: with_readings(shift, shifts.values()) for id_, shift in shifts.items()}
