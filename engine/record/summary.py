"""What a job came to, for whoever has half a minute.

Its windows are told by `engine.record.cuts`, its dates by the record. Everything here is counted
from the record itself, so the first page cannot say anything else than the pages behind it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from cartclock.engine.body.strain import Strain
from cartclock.engine.figures.limits import LimitVerdict
from cartclock.engine.hours.account import Share
from cartclock.engine.record.applied import SectionRecord
from cartclock.engine.record.exposure import ExposureRecord
from cartclock.engine.record.record import Record
from cartclock.engine.times import Instant, Length


class CoatSpan(Struct, frozen=True):
    """What was laid that must stay: on how many sections, in how many layers, from when to when.

    `last_us` is the last touch; None while nothing of it is finished.
    """

    sections: int
    layers: int
    begun_us: Instant
    last_us: Instant | None


class GateSpan(Struct, frozen=True):
    """The climate in which coats were begun.

    Fields:
        begun: layers begun, one a section.
        lowest_c: least that a panel was over the dew point and 3 C, in C; None if no margin is
            known.
        without: how many of them had no verdict.
        overruled: how many were laid all the same.
    """

    begun: int
    lowest_c: float | None
    without: int
    overruled: int


class Summary(Struct, frozen=True):
    """A job in few figures.

    Fields:
        clock_us, own_us, hands_us, standing_us, other_us, breaks_us: of all its shifts, exact;
            own is hands on, standing by and other work of this job.
        off_us: what of its shifts was told to be off, which is not on the clock.
        coat: None if nothing was laid that must stay.
        high_spots, wet: how many were found, on how many layers water came.
        gate: None if no coat was begun.
        called, taken: rests. A call that waits for its answer is none of them.
        too_short: of the taken ones, those a minute or more shorter than called.
        refused: rests refused, called or not.
        peak: the exposure whose peak hour had the least margin; None if no whole hour was read.
        strains: of the shifts in which a tool ran, in order.
        overruled: rule and how often, in order of first time.
        corrected, late, gaps: presses corrected, entered late; times the program did not run.
        not_done: sections on which a stage is still to do or going on, by stage.
        not_looked: layers closed or covered without a look.
        questions: not answered. never_off: shifts that nobody clocked off.
    """

    clock_us: Length
    own_us: Length
    hands_us: Length
    standing_us: Length
    other_us: Length
    breaks_us: Length
    off_us: Length
    coat: CoatSpan | None
    high_spots: int
    wet: int
    gate: GateSpan | None
    called: int
    taken: int
    too_short: int
    refused: int
    peak: ExposureRecord | None
    strains: tuple[Strain, ...]
    overruled: Mapping[str, int]
    corrected: int
    late: int
    gaps: int
    not_done: Mapping[str, int]
    not_looked: int
    questions: int
    never_off: int

    @property
    def peak_band(self) -> LimitVerdict | None:
        """What the margin of the peak hour is worth; None without one."""
        return None if self.peak is None else self.peak.peak_band


def summary(record: Record) -> Summary:
    """The figures of a record's first page."""
    rests = [call for one in record.exposures for call in one.rests if not call.waiting]
    rules = [one.rule for one in record.trail.overruled]
    return Summary(
        clock_us=record.clock_us,
        own_us=record.own_us,
        hands_us=_own(record, "hands"),
        standing_us=_own(record, "standing by"),
        other_us=_own(record, "other"),
        breaks_us=_length(share for share in record.shares if share.kind == "break"),
        off_us=_length(share for share in record.shares if share.kind == "off"),
        coat=_coat(record),
        high_spots=sum(len(one.high_spots) for one in record.coated),
        wet=sum(bool(one.water) for one in record.coated),
        gate=_gate(record),
        called=len(rests),
        taken=sum(call.taken is not None for call in rests),
        too_short=sum(call.too_short for call in rests),
        refused=sum(
            len(one.overruled) + sum(len(call.overruled) for call in one.rests)
            for one in record.exposures
        ),
        peak=_hottest(record.exposures),
        strains=tuple(one.strain for one in record.exposures if one.strain.tools),
        overruled={rule: rules.count(rule) for rule in rules},
        corrected=len(record.trail.corrections),
        late=len(record.trail.late),
        gaps=len(record.trail.gaps),
        not_done=_not_done(record),
        not_looked=sum(
            remark.what == "not looked at"
            for stage in record.stages
            for section in stage.sections
            for remark in section.remarks
        ),
        questions=sum(len(one.questions) for one in record.accounts),
        never_off=sum(one.never_off for one in record.accounts),
    )


def _length(shares: Iterable[Share]) -> Length:
    return Length(sum(share.length_us for share in shares))


def _own(record: Record, kind: str) -> Length:
    return _length(s for s in record.shares if s.job == record.job and s.kind == kind)


def _coat(record: Record) -> CoatSpan | None:
    laid = record.coated
    if not laid:
        return None
    ends = [one.levelled_us or one.last_us for one in laid]
    return CoatSpan(
        len({(one.stage, one.section) for one in laid}),
        max(one.layers for one in laid),
        min(one.first_us for one in laid),
        max((us for us in ends if us is not None), default=None),
    )


def _gate(record: Record) -> GateSpan | None:
    margins = [one.margin_c for one in record.gate]
    known = [margin_c for margin_c in margins if margin_c is not None]
    if not margins:
        return None
    overruled = sum(bool(one.overruled) for one in record.gate)
    return GateSpan(len(margins), min(known, default=None), len(margins) - len(known), overruled)


def _hottest(exposures: Iterable[ExposureRecord]) -> ExposureRecord | None:
    with_peak = [(one.peak.margin_c, one) for one in exposures if one.peak is not None]
    return min(with_peak, key=lambda found: found[0])[1] if with_peak else None


def _not_done(record: Record) -> dict[str, int]:
    counts = {stage.stage: sum(map(_is_open, stage.sections)) for stage in record.stages}
    return {stage: count for stage, count in counts.items() if count}


def _is_open(section: SectionRecord) -> bool:
    return section.state in ("todo", "in hand", "held", "waiting")
