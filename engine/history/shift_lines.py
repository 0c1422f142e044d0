"""A shift as lines: itself with its heat, and how it served its jobs beside having them in hand."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cartclock.engine.dates import local
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.partition import PieceKind, partition, told_to_us
from cartclock.engine.record.exposure import exposure_record
from cartclock.engine.times import Instant, Length


class ShiftLine(Struct, frozen=True):
    """A shift in one line; lengths in microseconds, up to its end or the last turn in it.

    The heat is a screening estimate by the climate where the work was, rests among it.

    Fields:
        worker, zone, place: as said at clocking on.
        day: on which it began in that zone, ISO 8601 text.
        week: of that day, ISO 8601 text ("2026-W30").
        on_us, off_us: job time; `off_us` None while on the clock.
        lengths: how long each kind of time was, of those that were; they add up to the shift.
        heat_rest_us, meal_us: of the breaks, those by the heat and for a meal.
        caution_us, over_us: time in the bands "caution" and "over" of the limit in force.
        peak_c: WBGT of the hour with the least margin, C; None if no whole hour was read.
        drinks_ml: what was drunk.
    """

    worker: str
    zone: str
    place: str
    day: str
    week: str
    on_us: Instant
    off_us: Instant | None
    lengths: Mapping[PieceKind, int]
    heat_rest_us: Length
    meal_us: Length
    caution_us: Length
    over_us: Length
    peak_c: float | None
    drinks_ml: int

    @property
    def clock_us(self) -> Length:
        """Time on the clock, microseconds: all of it but what was told to be off."""
        return Length(sum(self.lengths.values()) - self.lengths.get("off", 0))


class ServedLine(Struct, frozen=True):
    """How long a shift served a job without having it in hand.

    Fields:
        job: its id.
        stage: whose film was stood by for; "" of other work.
        kind: "standing by" or "other".
        length_us: > 0.
    """

    job: str
    stage: str
    kind: PieceKind
    length_us: Length


class ShiftLines(Struct, frozen=True):
    """A shift with everything that is kept of it in lines."""

    shift: ShiftLine
    served: tuple[ServedLine, ...]


def lines_of_shift(shift: Shift, jobs: Mapping[str, Job]) -> ShiftLines:
    """The lines of a shift.

    shift: with what others measured at its place (`engine.facts.in_force`). jobs: at least those
    worked in it.
    """
    end_us = told_to_us(shift)
    pieces = partition(shift, jobs, end_us)
    lengths: dict[PieceKind, int] = {}
    breaks: dict[str, int] = {}
    for piece in pieces:
        lengths[piece.kind] = lengths.get(piece.kind, 0) + piece.length_us
        if piece.kind == "break":
            breaks[piece.what] = breaks.get(piece.what, 0) + piece.length_us
    heat = exposure_record(shift, jobs, end_us, pieces=pieces)
    bands: dict[str, int] = {}
    for one in heat.band_times:
        bands[one.band] = bands.get(one.band, 0) + one.length_us
    day = local(shift.on_us, shift.on.zone).date()
    year, week, _weekday = day.isocalendar()
    line = ShiftLine(
        worker=shift.worker,
        zone=shift.on.zone,
        place=shift.on.place,
        day=day.isoformat(),
        week=f"{year:04}-W{week:02}",
        on_us=shift.on_us,
        off_us=shift.off_us,
        lengths=lengths,
        heat_rest_us=Length(breaks.get("heat", 0)),
        meal_us=Length(breaks.get("meal", 0)),
        caution_us=Length(bands.get("caution", 0)),
        over_us=Length(bands.get("over", 0)),
        peak_c=None if heat.peak is None else heat.peak.wbgt_c,
        drinks_ml=heat.drinks.ml,
    )
    served: dict[tuple[str, str, PieceKind], int] = {}
    for piece in pieces:
        if piece.job and piece.kind in ("standing by", "other"):
            key = (piece.job, piece.stage, piece.kind)
            served[key] = served.get(key, 0) + piece.length_us
    return ShiftLines(
        line,
        tuple(ServedLine(*key, Length(length_us)) for key, length_us in sorted(served.items())),
    )
