"""The gate as it stood when each layer of a coat was begun: what a record says of it.

A coat that fails months later is judged by the climate it was laid in; so every section keeps
the reading that was in force at its first touch, the margin, and the reason if it was laid
all the same. A wave that began with a valid reading ends with it, on paper as at the gate.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from cartclock.engine.facts.in_force import is_in_force
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Shift
from cartclock.engine.films.gate import CONDITION, margin_at, overruled
from cartclock.engine.times import Instant, Length


class LayerBegun(Struct, frozen=True):
    """One layer begun on one section.

    Fields:
        stage, section, layer, pass_: which.
        at_us: its first touch.
        read_us: when the reading in force was taken; None if there was none. Over an hour before
            `at_us` it held only with a margin, because the wave had begun with it.
        panel_c, air_c, rh: of that reading, in C and percent; None if not measured.
        margin_c: how far the panel was over the dew point and 3 C on top, in C, below zero
            where it was short; None without a verdict.
        why_none: why there was no verdict; "" if there was one.
        broken: what else asked, in words; of the dew point only where no margin says it.
        warned: what only warned, in words.
        overruled: the worker's reason for coating all the same; "" if nothing was asked.
        unmet: the worker's reason for not waiting for the stage's condition; "" likewise.
    """

    stage: str
    section: str
    layer: int
    pass_: int
    at_us: Instant
    read_us: Instant | None
    panel_c: float | None
    air_c: float | None
    rh: float | None
    margin_c: float | None
    why_none: str
    broken: tuple[str, ...]
    warned: tuple[str, ...]
    overruled: str
    unmet: str

    @property
    def outlived_us(self) -> Length:
        """Age of a reading that held over its hour, to the end of its wave; else 0."""
        if self.read_us is None or self.why_none or is_in_force(self.read_us, self.at_us):
            return Length(0)
        return Length(self.at_us - self.read_us)


def layers_begun(job: Job, shifts: Iterable[Shift]) -> tuple[LayerBegun, ...]:
    """Every layer begun in the job's coat stages, in order of first touch.

    shifts: at least those the job was worked in.
    """
    known = list(shifts)
    coats = {stage.name for stage in job.stages if stage.kind == "coat"}
    found = [
        _laid(job, known, s.stage, s.section, s.turn.layer, s.turn.pass_, s.first_us, s.worker)
        for s in job.stints
        if s.stage in coats and s.turn.step == 0
    ]
    found += [
        _laid(job, known, s.stage, s.name, s.turn.layer, s.turn.pass_, s.first_us, s.worker)
        for s in job.sections.values()
        if s.stage in coats and s.turn.step == 0 and s.first_us is not None
    ]
    return tuple(sorted(found, key=lambda one: one.at_us))


def _laid(
    job: Job,
    shifts: Iterable[Shift],
    stage: str,
    section: str,
    layer: int,
    pass_: int,
    at_us: Instant,
    worker: str,
) -> LayerBegun:
    shift = shift_at(shifts, at_us, worker)
    verdict, why = margin_at(job, stage, layer, shift, at_us)
    reading = verdict.reading
    unmet = overruled(job, stage, CONDITION, shift, verdict.at_us, at_us)
    return LayerBegun(
        stage=stage,
        section=section,
        layer=layer,
        pass_=pass_,
        at_us=at_us,
        read_us=verdict.at_us,
        panel_c=None if reading is None else reading.panel_c,
        air_c=None if reading is None else reading.air_c,
        rh=None if reading is None else reading.rh,
        margin_c=verdict.dew_margin_c,
        why_none=verdict.why_none,
        broken=tuple(
            f.says
            for f in verdict.findings
            if f.weight == "ask" and f.rule not in ("dew margin", "panel humidity")
        ),
        warned=tuple(f.says for f in verdict.findings if f.weight == "warn"),
        overruled=why,
        unmet=unmet,
    )


def shift_at(shifts: Iterable[Shift], at_us: Instant, worker: str) -> Shift | None:
    """The worker's shift that was on; of a section put down (worker "") anybody's; else None."""
    for shift in shifts:
        over = shift.off_us is not None and shift.off_us < at_us
        if shift.on_us <= at_us and not over and worker in ("", shift.worker):
            return shift
    return None
